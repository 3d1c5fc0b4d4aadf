#!/usr/bin/env bash
# Installs what is needed, builds and runs every test: a release build, then the
# same under AddressSanitizer and UndefinedBehaviorSanitizer.
set -euo pipefail
cd "$(dirname "$0")/.."
bash tests/install.sh

# Two test programs at a time, each with its own threads: waiting threads must not spin.
export OMP_WAIT_POLICY=passive
jobs=$(nproc)
run() { # folder, cmake options
    local build=$1
    shift
    cmake -S . -B "$build" -DPAPPUS_WERROR=ON "$@" >/dev/null
    cmake --build "$build" -j "$jobs" -- --no-print-directory
    ctest --test-dir "$build" -j "$jobs" --output-on-failure --timeout 600
}
run build/release
# The leak checker cannot see through the threads that OpenMP keeps.
ASAN_OPTIONS=detect_leaks=1:abort_on_error=0 LSAN_OPTIONS="suppressions=$PWD/tests/lsan.txt" \
    UBSAN_OPTIONS=print_stacktrace=1 run build/sanitize -DPAPPUS_SANITIZE=ON
