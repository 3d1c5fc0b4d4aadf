#!/usr/bin/env bash
# The library as its users meet it: every public header compiles alone in C11 and in C++17,
# libpappus.a exports pappus_ names only, and it has every function that a header declares.
set -euo pipefail
library=$(dirname "$1")/libpappus.a
include=$2/include
status=0 headers=0
for header in "$include"/pappus/*.h; do
    headers=$((headers + 1))
    for language in "c -std=c11" "c++ -std=c++17"; do
        echo "#include <pappus/${header##*/}>" |
            ${CC:-cc} -x $language -pedantic -Wall -Wextra -Werror -fsyntax-only -I"$include" - || {
            echo "${header##*/} does not compile alone as ${language% *}"
            status=1
        }
    done
done

exported=$(nm --extern-only --defined-only -P "$library" | awk 'NF >= 3 {print $1}' | sort -u)
stray=$(grep -v '^pappus_' <<<"$exported" || true)
if [ -n "$stray" ]; then
    echo "exported without pappus_:" $stray
    status=1
fi

# A common symbol that is local gets no place of its own from a linker: OpenMP's critical
# sections would be one lock, and two threads wait for each other for ever.
common=$(nm -P "$library" | awk '$2 == "C" || $2 == "c" {print $1}')
if [ -n "$common" ]; then
    echo "common symbols:" $common
    status=1
fi

# A declaration is a name before a parenthesis that no macro or comment has; the compiler
# without comments and macros says which.
declared=$(echo '#include <pappus/pappus.h>' | ${CC:-cc} -E -P -I"$include" - |
           grep -oE '\bpappus_[a-z0-9_]+ *\(' | tr -d ' (' | sort -u)
missing=$(comm -13 <(echo "$exported") <(echo "$declared"))
if [ -n "$missing" ]; then
    echo "declared but not in the library:" $missing
    status=1
fi
echo "$headers headers, $(wc -l <<<"$declared") functions declared," \
     "$(wc -l <<<"$exported") exported"
[ "$headers" -ge 10 ] && [ "$(wc -l <<<"$declared")" -ge 50 ] || status=1
exit $status
