/* SPDX-License-Identifier: GPL-3.0-or-later
 * One small interface for all formats of wind files. wind_file.c reads the bytes, asks
 * each format whether they are its own, and lets the first that says yes fill the
 * profiles. A new format is one source file that defines its pappus_wind_format and one
 * line in the list below. */
#ifndef PAPPUS_INPUT_WIND_FORMAT_H
#define PAPPUS_INPUT_WIND_FORMAT_H

#include <pappus/winds.h>

/** The formats in the order in which they are asked: X(name) is pappus_wind_name. */
#define PAPPUS_WIND_FORMATS(X)                                                                     \
    X(grib)                                                                                        \
    X(igra)                                                                                        \
    X(bulletin)                                                                                    \
    X(layers)

/** Where and when the wind is wanted; NaN: not known. */
typedef struct {
    double latitude_deg, longitude_deg, elevation_msl_m; /**< the pad */
    double time_utc_s; /**< launch, near which a day without month lies */
    bool archive;      /**< everything: forecasts of one time may have several issues */
} pappus_wind_wanted;
#define PAPPUS_WIND_WANTED_INIT                                                                    \
    {                                                                                              \
        NAN, NAN, NAN, NAN, false                                                                  \
    }

/** One file in memory and what is wanted of it. */
typedef struct {
    const char *path;
    char *bytes; /**< a NUL behind them; a reader may cut them up in place */
    size_t length;
    size_t rows_before; /**< lines of the file before these bytes, of an archive read in parts */
    const pappus_profile_source *source; /**< the choice of the plan inside the file */
    pappus_wind_wanted wanted;
    pappus_log *log;
    size_t fault_count; /**< faults of rows so far, told or not */
} pappus_wind_reading;

typedef struct {
    const char *name; /**< of a profile's format: "IGRA v2" */
    const char *help; /**< among what is accepted: "an IGRA v2 sounding file" */
    bool says_kind;   /**< all its profiles are of the kind below */
    pappus_wind_kind kind;
    /** Only UTF-8 without NUL and control characters is given to the format, without byte
     * order mark. */
    bool text;
    bool by_path;        /**< the format opens the file itself, however large; it gets no bytes */
    const char *chooses; /**< the key of a source that chooses inside such a file: "station",
                            "sounding"; NULL: none */
    /** Whether a file that begins so is of this format; it gets no more than the first
     * PAPPUS_FILE_HEAD_BYTES. */
    bool (*probe)(const char *bytes, size_t length);
    /** Appends the profiles, one for each time and member, to *out, all faults to the log;
     * the caller frees *out whatever is returned. */
    int (*read)(pappus_winds *out, pappus_wind_reading *reading);
    /** Whether a line begins a part that can be read as a file of its own, so that an archive
     * of any size is read part by part (wind_stream.h). NULL: a file is one whole. */
    bool (*begins_part)(const char *line, size_t length);
} pappus_wind_format;

#define PAPPUS_WIND_DECLARE(name) extern const pappus_wind_format pappus_wind_##name;
PAPPUS_WIND_FORMATS(PAPPUS_WIND_DECLARE)
#undef PAPPUS_WIND_DECLARE

/** Tells a fault of a row; only the first 20 of a file are told. column and value
 * may be NULL. Returns PAPPUS_E_WIND. */
int pappus_wind_fault(pappus_wind_reading *reading, size_t row, const char *column,
                      const char *value, const char *message, ...)
    __attribute__((format(printf, 5, 6)));
/** Tells a fault of the file, or of what was chosen in it: key and value may be NULL.
 * Returns PAPPUS_E_WIND. */
int pappus_wind_file_fault(const pappus_wind_reading *reading, const char *key, const char *value,
                           const char *message, ...) __attribute__((format(printf, 4, 5)));
int pappus_wind_memory_fault(const pappus_wind_reading *reading);

/** The format whose file begins so; a text is one without control characters but tab, line
 * ends and the frame of a bulletin (SOH, ETX). NULL and a fault when it is none. */
const pappus_wind_format *pappus_wind_format_of(const char *path, const char *bytes, size_t length,
                                                pappus_error *err);
/** Reads bytes that are already in memory (and may be changed), of any format. */
int pappus_wind_bytes_read(pappus_winds **out, pappus_wind_reading *reading);
/** Reads the file of a source, all its profiles. */
int pappus_wind_source_read(pappus_winds **out, const pappus_profile_source *source,
                            pappus_wind_wanted wanted, pappus_log *log);

#endif
