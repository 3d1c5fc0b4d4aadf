#!/usr/bin/env bash
# Installs what is needed, builds pappus into build/demo and briefs the demo
# flight on its go day and on its no-go day.
set -euo pipefail
cd "$(dirname "$0")/.."
bash tests/install.sh

cmake -S . -B build/demo -DPAPPUS_TESTS=OFF >/dev/null
cmake --build build/demo -j "$(nproc)" -- --no-print-directory
for day in go_day no_go_day; do
    status=0
    build/demo/pappus brief "examples/$day.json" -o "build/demo/$day" || status=$?
    case $status in
    0 | 3 | 4) echo "$day: exit status $status; open build/demo/$day/report.html" ;;
    *) exit "$status" ;;
    esac
done
