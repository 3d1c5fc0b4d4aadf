/* SPDX-License-Identifier: GPL-3.0-or-later
 * One small interface for all formats of wind files. wind.c reads the bytes,
 * asks each format whether the text is its own, and lets the first that says yes
 * fill the profiles. A new format is one source file and one line in wind.c. */
#ifndef PAPPUS_INPUT_WIND_FORMAT_H
#define PAPPUS_INPUT_WIND_FORMAT_H

#include <pappus/winds.h>

/** No wind file is larger: a national archive of one station's soundings is. */
#define PAPPUS_WIND_FILE_MAX_BYTES ((size_t)64 << 20)
/** A format is told by no more than this much of a file. */
#define PAPPUS_WIND_PROBE_BYTES ((size_t)64 << 10)

/** One file in memory. */
typedef struct {
    const char *path;
    char *text;        /**< UTF-8 without NUL, a NUL after it; a reader may cut it up in place */
    size_t length;
    const pappus_profile_source *source;
    double time_utc_s; /**< launch, near which a day without month lies; NaN: not known */
    pappus_log *log;
    size_t fault_count; /**< faults of rows so far, told or not */
} pappus_wind_reading;

typedef struct {
    const char *name;
    bool (*probe)(const char *text, size_t length);
    /** Appends the profiles to *out, all faults to the log; the caller frees *out
     * whatever is returned. */
    int (*read)(pappus_winds *out, pappus_wind_reading *reading);
} pappus_wind_format;

extern const pappus_wind_format pappus_wind_layers;
extern const pappus_wind_format pappus_wind_igra;
extern const pappus_wind_format pappus_wind_bulletin;

/** Tells a fault of a row; only the first 20 of a file are told. column and value
 * may be NULL. Returns PAPPUS_E_WIND. */
int pappus_wind_fault(pappus_wind_reading *reading, size_t row, const char *column,
                      const char *value, const char *message, ...)
    __attribute__((format(printf, 5, 6)));

/** Reads a text that is already in memory (reading->text may be changed). */
int pappus_wind_text_read(pappus_winds **out, pappus_wind_reading *reading);

#endif
