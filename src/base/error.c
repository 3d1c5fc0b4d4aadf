/* SPDX-License-Identifier: GPL-3.0-or-later
 * Error values and the log of faults, warnings and notes. */
#include "error.h"
#include "grow.h"
#include "utf8.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *pappus_status_text(int status)
{
    switch (status) {
#define CASE(name, value, exit_status, text)                                                       \
    case value:                                                                                    \
        return text;
        PAPPUS_STATUS_LIST(CASE)
#undef CASE
    default:
        return "unknown status";
    }
}

int pappus_status_exit(int status)
{
    switch (status) {
#define CASE(name, value, exit_status, text)                                                       \
    case value:                                                                                    \
        return exit_status;
        PAPPUS_STATUS_LIST(CASE)
#undef CASE
    default:
        return 5;
    }
}

const char *pappus_version(void)
{
    return PAPPUS_VERSION;
}

static void fill(pappus_error *error, int code, const char *file, const char *key,
                 const char *value, const char *message, va_list arguments)
{
    char text[sizeof error->message];
    vsnprintf(text, sizeof text, message, arguments);
    error->code = code;
    pappus_text_cut(error->file, sizeof error->file, file);
    pappus_text_cut(error->key, sizeof error->key, key);
    pappus_text_cut(error->value, sizeof error->value, value);
    pappus_text_cut(error->message, sizeof error->message, text);
}

int pappus_fail(pappus_error *err, int code, const char *file, const char *key, const char *value,
                const char *message, ...)
{
    if (err && err->code == PAPPUS_OK) {
        va_list arguments;
        va_start(arguments, message);
        fill(err, code, file, key, value, message, arguments);
        va_end(arguments);
    }
    return code;
}

int pappus_fail_memory(pappus_error *err)
{
    return pappus_fail(err, PAPPUS_E_MEMORY, NULL, NULL, NULL, "out of memory");
}

/* Out of memory is told once, by whoever comes first. */
static bool is_told(const pappus_log *log, int code)
{
    for (size_t i = 0; code == PAPPUS_E_MEMORY && i < log->count; i++)
        if (log->entries[i].error.code == code) return true;
    return false;
}

static pappus_log_entry *log_next(pappus_log *log, int code)
{
    if (!log || is_told(log, code)) return NULL;
    if (!PAPPUS_GROW(log->entries, &log->capacity, log->count + 1)) {
        log->lost = true;
        return NULL;
    }
    return &log->entries[log->count++];
}

int pappus_log_add(pappus_log *log, pappus_severity severity, int code, const char *file,
                   const char *key, const char *value, const char *message, ...)
{
    pappus_log_entry *entry = log_next(log, code);
    if (entry) {
        va_list arguments;
        entry->severity = severity;
        va_start(arguments, message);
        fill(&entry->error, code, file, key, value, message, arguments);
        va_end(arguments);
    }
    return code;
}

int pappus_log_error(pappus_log *log, const pappus_error *error)
{
    pappus_log_entry *entry = log_next(log, error->code);
    if (entry) {
        entry->severity = PAPPUS_FAULT;
        entry->error = *error;
    }
    return error->code;
}

void pappus_log_append(pappus_log *log, const pappus_log *more)
{
    for (size_t i = 0; i < more->count; i++) {
        pappus_log_entry *entry = log_next(log, more->entries[i].error.code);
        if (entry) *entry = more->entries[i];
    }
    if (log) log->lost = log->lost || more->lost;
}

int pappus_fail_logged(pappus_error *err, int code, const pappus_log *log)
{
    for (size_t i = 0; i < log->count; i++) {
        const pappus_log_entry *entry = &log->entries[i];
        if (entry->severity != PAPPUS_FAULT) continue;
        if (err && err->code == PAPPUS_OK) *err = entry->error;
        return code;
    }
    return pappus_fail(err, code, NULL, NULL, NULL, "%s", pappus_status_text(code));
}

size_t pappus_log_faults(const pappus_log *log)
{
    size_t faults = 0;
    for (size_t i = 0; i < log->count; i++)
        faults += log->entries[i].severity == PAPPUS_FAULT;
    return faults;
}

void pappus_log_clear(pappus_log *log)
{
    free(log->entries);
    *log = (pappus_log){0};
}

int pappus_error_line(char *out, size_t size, const pappus_error *error)
{
    const char *file = error->file, *key = error->key, *value = error->value;
    int length =
        snprintf(out, size, "%s%s%s%s%s%s%s%s", file, file[0] ? ": " : "", key, key[0] ? ": " : "",
                 value[0] ? "found " : "", value, value[0] ? ": " : "", error->message);
    if (size > 0) pappus_text_tame(out, '\0');
    return length;
}
