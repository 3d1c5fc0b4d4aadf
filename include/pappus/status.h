/* SPDX-License-Identifier: GPL-3.0-or-later
 * Status codes, faults, the log of what is wrong. Conventions: pappus.h. */
#ifndef PAPPUS_STATUS_H
#define PAPPUS_STATUS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** X(NAME, value, exit status of the program, text). Grouped by stage. */
#define PAPPUS_STATUS_LIST(X)                                                                      \
    X(OK, 0, 0, "ok")                                                                              \
    X(E_USAGE, 10, 2, "the command line is wrong")                                                 \
    X(E_PLAN, 20, 1, "the plan is wrong")                                                          \
    X(E_FIELD, 30, 1, "a field file is wrong")                                                     \
    X(E_WIND, 40, 1, "a wind file is wrong")                                                       \
    X(E_FLIGHT, 45, 1, "the flight cannot be computed from this plan")                             \
    X(E_SEASON, 46, 1, "the parts of a season do not make a whole")                                \
    X(E_RECORD, 47, 1, "a flight's record or log is wrong")                                        \
    X(E_NUMERIC, 50, 5, "a computation failed")                                                    \
    X(E_MEMORY, 60, 5, "out of memory")                                                            \
    X(E_SYSTEM, 61, 5, "the machine failed")                                                       \
    X(E_OUTPUT, 70, 5, "an output could not be written")                                           \
    X(E_REFUSED, 71, 1, "the output folder was refused")                                           \
    X(E_STOPPED, 80, 5, "stopped by the caller")

typedef enum {
#define PAPPUS_STATUS_ENUM(name, value, exit_status, text) PAPPUS_##name = value,
    PAPPUS_STATUS_LIST(PAPPUS_STATUS_ENUM)
#undef PAPPUS_STATUS_ENUM
} pappus_status;

/** Text of a status, never NULL. */
const char *pappus_status_text(int status);
/** Exit status of the program for a status: 0, 1, 2 or 5. */
int pappus_status_exit(int status);
/** The version, "0.1.0". */
const char *pappus_version(void);
/** The instruction set that the kernels run with here, and the versions of the libraries, in
 * two lines without a newline at the end. Returns the length it needs as snprintf does. */
int pappus_made_of(char *out, size_t size);

/** One fault: where, what was found, what is accepted. Strings are cut, at a
 * UTF-8 boundary, to their arrays. */
typedef struct {
    int code;          /**< a pappus_status; PAPPUS_OK for a warning or note */
    char file[256];    /**< file the fault is in, "" when none */
    char key[160];     /**< dotted key, or "row 12, column speed_kt", or "" */
    char value[160];   /**< what was found, or "" */
    char message[512]; /**< what is wrong and what is accepted, one line */
} pappus_error;

typedef enum { PAPPUS_FAULT, PAPPUS_WARNING, PAPPUS_NOTE } pappus_severity;

typedef struct {
    pappus_severity severity;
    pappus_error error;
} pappus_log_entry;

/** A growing list of faults, warnings and notes: all that is wrong is told at
 * once. Initialise with {0}. */
typedef struct {
    size_t count;
    size_t capacity;
    pappus_log_entry *entries;
    bool lost; /**< an entry, for want of memory */
} pappus_log;

/** Adds one entry. message is a printf format. Never fails: when memory runs
 * out the entry is dropped and `lost` set (a fault is still returned as its code). Out of
 * memory itself is told once. Returns `code`, so that a reader can end with
 * `return pappus_log_add(...)`. */
int pappus_log_add(pappus_log *log, pappus_severity severity, int code, const char *file,
                   const char *key, const char *value, const char *message, ...)
    __attribute__((format(printf, 7, 8)));
size_t pappus_log_faults(const pappus_log *log);
void pappus_log_clear(pappus_log *log);
/** Writes "file: key: found X: message" in one line without newline; returns
 * the length it needs as snprintf does. */
int pappus_error_line(char *out, size_t size, const pappus_error *error);
/** Blanks, in place, what would move a terminal's cursor or turn the direction of
 * text; `keep` is a control character that may stay, 0 for none. */
void pappus_text_tame(char *text, char keep);

/** Silences the default handlers of GSL, UDUNITS, PROJ and libxml2, which are
 * process-wide and abort or print. Call once from main() before other threads
 * start. The library itself changes no handler. */
void pappus_quiet_dependencies(void);

/** 0: go on, else stop. Asked on the calling thread. */
typedef int (*pappus_progress)(void *context, double fraction);

/** Reads a time with its zone: "2027-04-17T15Z", "2027-04-17T15:00Z",
 * "2027-04-17T15:00:30.5Z", "2027-04-17T10:00-05:00". err->message says what is
 * accepted on failure (PAPPUS_E_PLAN). */
int pappus_time_parse(double *utc_s, const char *text, pappus_error *err);
/** Reads a place, latitude and longitude parted by a comma: degrees, north and east positive,
 * or as hand-held receivers show it: "41.7655,-98.4350", "41 45.930 N, 98 26.100 W".
 * err->message says what is accepted on failure (PAPPUS_E_PLAN). */
int pappus_place_parse(double *latitude_deg, double *longitude_deg, const char *text,
                       pappus_error *err);
/** Reads a length of time with its unit: "30 min", "1h". err->message says what is accepted. */
int pappus_duration_parse(double *s, const char *text, pappus_error *err);

#ifdef __cplusplus
}
#endif
#endif
