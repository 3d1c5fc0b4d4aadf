#!/usr/bin/env bash
# Every C file of the tree is as clang-format 14 lays it out by .clang-format.
set -euo pipefail
cd "$2"
mapfile -t files < <(find src include tests -name '*.[ch]')
clang-format-14 --dry-run --Werror "${files[@]}" 2>&1 | grep -m 20 -E 'error' && exit 1
[ "${PIPESTATUS[0]}" -eq 0 ]
echo "${#files[@]} files"
[ "${#files[@]}" -ge 250 ]
