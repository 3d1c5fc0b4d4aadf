#!/usr/bin/env bash
# Which lines of src the tests run, by folder (gcc --coverage, gcov): a table, and in
# build/coverage/holes.txt the files with the most lines that no test runs. Not in the suite.
#
#     bash tests/coverage.sh [CTEST OPTION...]     # -LE script: the Check programs alone
#     KEEP=1 bash tests/coverage.sh -R desk        # adds to the counts that are there
#
# What a signal ends (runs killed on purpose) leaves no counts.
set -euo pipefail
cd "$(dirname "$0")/.."
build=build/coverage
cmake -S . -B $build -DCMAKE_C_FLAGS="--coverage -fprofile-update=atomic -include $PWD/tests/coverage.h" -DCMAKE_C_FLAGS_RELEASE=-O1 >/dev/null
cmake --build $build -j "$(nproc)" >/dev/null
[ -n "${KEEP:-}" ] || find $build -name '*.gcda' -delete
ctest --test-dir $build -j "$(nproc)" --timeout 3600 -E 'test_(install|format_c|symbols|pure)' "$@" >$build/ctest.txt || tail -15 $build/ctest.txt
find $build -name '*.gcno' -path '*/src/*' -print0 |
    xargs -0 -n 50 gcov --json-format --stdout 2>/dev/null >$build/gcov.json
python3 - $build/gcov.json $build/holes.txt <<'PYTHON'
import collections
import json
import sys

# A file is compiled for several instruction sets: a line counts when any of them has run it.
lines = collections.defaultdict(dict)
for unit in map(json.loads, open(sys.argv[1])):
    for file in unit["files"]:
        name = file["file"]
        if "src/" in name and not name.startswith("/usr") and name.endswith(".c"):
            name = name[name.rindex("src/") + 4:]
            for line in file["lines"]:
                at = line["line_number"]
                lines[name][at] = max(lines[name].get(at, 0), line["count"])
folders, holes = collections.defaultdict(lambda: [0, 0]), []
for name, counts in lines.items():
    run = sum(count > 0 for count in counts.values())
    parts = name.split("/")[:-1]
    folder = "/".join(parts[:2]) if parts else "top"
    for key in (folder, "all"):
        folders[key][0] += run
        folders[key][1] += len(counts)
    holes.append((len(counts) - run, name, sorted(at for at, count in counts.items() if count == 0)))
print("| folder | lines | run |\n| --- | ---: | ---: |")
for folder in sorted(folders, key=lambda f: (f == "all", f)):
    run, count = folders[folder]
    print(f"| {folder} | {count} | {100 * run / count:.1f} % |")
with open(sys.argv[2], "w") as out:
    for missed, name, at in sorted(holes, reverse=True):
        print(missed, name, *at, file=out)
PYTHON
