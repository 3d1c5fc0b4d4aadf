#!/usr/bin/env bash
# Installs what is needed, builds and runs every test: a release build, then the
# same under AddressSanitizer and UndefinedBehaviorSanitizer.
set -euo pipefail
cd "$(dirname "$0")/.."
bash tests/install.sh

jobs=$(nproc)
run() { # folder, cmake options
    local build=$1
    shift
    cmake -S . -B "$build" -DPAPPUS_WERROR=ON "$@" >/dev/null
    cmake --build "$build" -j "$jobs" -- --no-print-directory
    ctest --test-dir "$build" -j "$jobs" --output-on-failure --timeout 3600
}
run build/release
run build/sanitize -DPAPPUS_SANITIZE=ON
