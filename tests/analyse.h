/* SPDX-License-Identifier: GPL-3.0-or-later
 * For clang's analyser alone, which looks at one file at a time: that a failure is never
 * PAPPUS_OK (tests/analyse.sh). */
#include "../src/base/error.h"

#define pappus_fail(err, code, ...) (pappus_fail(err, code, __VA_ARGS__), (code))
#define pappus_fail_memory(err) (pappus_fail_memory(err), PAPPUS_E_MEMORY)
#define pappus_fail_logged(err, code, log) (pappus_fail_logged(err, code, log), (code))
#define pappus_log_add(log, severity, code, ...)                                                   \
    (pappus_log_add(log, severity, code, __VA_ARGS__), (code))
