#!/usr/bin/env bash
# The computing folders are pure: no file, no printing, no clock. Looks at the
# symbols that their objects take from outside.
set -euo pipefail
build=$(dirname "$1")
bad='^(fopen|fopen64|open|open64|read|write|printf|fprintf|vfprintf|__printf_chk|__fprintf_chk|puts|fputs|putchar|time|clock|clock_gettime|gettimeofday|getenv|system|setlocale|rand|srand|random|strtod|atof|atoi)$'
status=0 objects=0
for folder in air descent landing rare choice bench skill flight season; do
    for object in "$build"/CMakeFiles/"$folder"_*objects.dir/src/"$folder"/*.o; do
        objects=$((objects + 1))
        found=$(nm --undefined-only -P "$object" | awk '{print $1}' | sed 's/@.*//' | grep -E "$bad" || true)
        if [ -n "$found" ]; then
            echo "$object uses" $found
            status=1
        fi
    done
done
echo "$objects objects looked at"
[ "$objects" -ge 10 ] || status=1
exit $status
