#!/usr/bin/env bash
# clang-tidy and cppcheck over src and include. What each leaves out and why: .clang-tidy,
# tests/cppcheck.txt; what was read and is no fault: tests/analyse.txt. Fails on anything else, and
# where all is looked at on what is listed there and no longer found.
# Not in the suite: it takes a quarter of an hour.
#
#     bash tests/analyse.sh [FILE of src...]
set -euo pipefail
cd "$(dirname "$0")/.."
build=build/analyse
tidy=$(command -v clang-tidy-14 || command -v clang-tidy)
cmake -S . -B $build -DCMAKE_C_COMPILER=clang -DPAPPUS_TESTS=OFF >/dev/null
files=("$@")
[ $# -gt 0 ] || mapfile -t files < <(find src -name '*.c' | sort)

# error.c is what analyse.h is about.
printf '%s\n' "${files[@]}" | grep -vx src/base/error.c |
    xargs -P "$(nproc)" -n 4 "$tidy" -p $build --quiet "--extra-arg=-include$PWD/tests/analyse.h" \
        >$build/tidy.txt 2>$build/tidy_errors.txt || true
cppcheck --enable=warning,performance,portability --std=c11 --quiet -j "$(nproc)" \
    --suppressions-list=tests/cppcheck.txt --library=tests/cppcheck.cfg -Iinclude $(find src -type d | sed 's/^/-I/') \
    -DPAPPUS_VERSION='"0"' -DPAPPUS_GDAL_LIBRARY='"gdal"' -DPAPPUS_ISA=generic -D_GNU_SOURCE \
    --template='{file}:{line}:{column}: {severity}: {message} [{id}]' "${files[@]}" \
    >$build/cppcheck.txt 2>&1

# One line for each kind of finding in a file.
found=$(sed "s#^$PWD/##" $build/tidy.txt $build/cppcheck.txt | grep -E '^[^ ]+:[0-9]+:[0-9]+: (warning|error|portability|performance): ' |
        sed -E 's/^([^:]+):.*\[([^]]+)\]$/\1 \2/' | sort -u)
listed=$(grep -v '^#' tests/analyse.txt | sort -u)
new=$(comm -23 <(echo "$found") <(echo "$listed") | grep . || true)
gone=$([ $# -gt 0 ] || comm -13 <(echo "$found") <(echo "$listed"))
echo "$(wc -l <<<"$found") kinds of finding in a file, of which new: $(grep -c . <<<"$new" || true)"
while read -r file check; do
    [ -z "$file" ] || grep -hE "$file:.*\[$check\]" $build/tidy.txt $build/cppcheck.txt | sed "s#^$PWD/##"
done <<<"$new"
[ -z "$gone" ] || echo "no longer found, to be taken off tests/analyse.txt:" $gone
[ -z "$new$gone" ]
