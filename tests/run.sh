#!/usr/bin/env bash
# Installs what is needed, builds and runs every test in a release build, then the Check
# programs again under AddressSanitizer and UndefinedBehaviorSanitizer. (The scripts, which
# run the program and a browser, would take three times as long there.)
set -euo pipefail
cd "$(dirname "$0")/.."
bash tests/install.sh

jobs=$(nproc)
run() { # folder, which tests, cmake options
    local build=$1 which=$2
    shift 2
    cmake -S . -B "$build" -DPAPPUS_WERROR=ON "$@" >/dev/null
    cmake --build "$build" -j "$jobs" -- --no-print-directory
    # shellcheck disable=SC2086
    ctest --test-dir "$build" -j "$jobs" --output-on-failure --timeout 3600 $which
}
run build/release ""
run build/sanitize "-LE script" -DPAPPUS_SANITIZE=ON
