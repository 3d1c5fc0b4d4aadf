/* SPDX-License-Identifier: GPL-3.0-or-later
 * Faults as values: filling a pappus_error. What users see is in pappus/status.h. */
#ifndef PAPPUS_BASE_ERROR_H
#define PAPPUS_BASE_ERROR_H

#include <pappus/status.h>

/** Fills *err (may be NULL) unless it already holds a fault: errors are
 * propagated, not overwritten. file, key, value may be NULL. Returns code. */
int pappus_fail(pappus_error *err, int code, const char *file, const char *key, const char *value,
                const char *message, ...) __attribute__((format(printf, 6, 7)));

/** Whether the machine failed, and not what it was given. */
static inline bool pappus_is_of_machine(int status)
{
    return status == PAPPUS_E_MEMORY || status == PAPPUS_E_SYSTEM;
}

/** pappus_fail for an allocation that failed. */
int pappus_fail_memory(pappus_error *err);

/** Fills *err with the first fault of a log, or, where there is none (memory ran out),
 * with the text of `code`; returns code. */
int pappus_fail_logged(pappus_error *err, int code, const pappus_log *log);

/** Puts one fault into the log as it stands; returns its code. */
int pappus_log_error(pappus_log *log, const pappus_error *error);
/** Adds every entry of another log, as far as there is memory. */
void pappus_log_append(pappus_log *log, const pappus_log *more);

#endif
