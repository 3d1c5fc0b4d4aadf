/* SPDX-License-Identifier: GPL-3.0-or-later
 * Small texts in the formats of wind files, and reading them from memory. */
#ifndef PAPPUS_TEST_WIND_TEXTS_H
#define PAPPUS_TEST_WIND_TEXTS_H

#include "wind_format.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* The line of ECK is the worked example of the NWS Aviation Weather Center, About
 * Forecast Winds and Temperatures Aloft; the two others are made up. */
#define FB_HEAD                                                                                    \
    "DATA BASED ON 180000Z\n"                                                                      \
    "VALID 180600Z   FOR USE 0200-0900Z. TEMPS NEG ABV 24000\n\n"                                  \
    "FT  3000    6000    9000   12000   18000   24000  30000  34000  39000\n"
#define FB_ECK "ECK 3222 3136-08 3139-07 3251-09 3287-17 8202-29 801944 803151 792554\n"
#define FB_LIGHT "QQQ      1923    9900+05 2609+00 9900-12 2332-25 779937 990048 363655\n"
#define FB_TEXT FB_HEAD FB_ECK FB_LIGHT

/* Column layout: NOAA NCEI, IGRA v2.2 Format Description, 2023. The first level
 * row under the surface is the example of that description's fields. */
#define IGRA_HEAD(day, hour, count)                                                                \
    "#XXM00000001 2010 06 " day " " hour " 2303 " count " ncdc6301 ncdc6301  712889 -1567833\n"
#define IGRA_SURFACE "21     0 100980B   12     0B 1000     0    20    51 \n"
#define IGRA_ROW "10   242  92500   712B  -12B  954     7    41    26 \n"
#define IGRA_NO_WIND "20   100  97290   309B  -24B  949     7 -9999 -9999 \n"
#define IGRA_WIND "30   200  -9999   547 -9999 -9999 -9999    40    31 \n"

typedef struct {
    pappus_winds *winds;
    pappus_log log;
    int status;
} wind_result;

static inline wind_result read_wind_text_at(const char *text, const char *station, double sounding,
                                            double time_utc_s)
{
    static char path[] = "wind.txt";
    wind_result r = {NULL, {0}, 0};
    char *copy = strdup(text), *chosen = station ? strdup(station) : NULL;
    ck_assert_ptr_nonnull(copy);
    pappus_profile_source source = {path, chosen, sounding, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
    pappus_wind_reading reading = {.path = path,
                                   .bytes = copy,
                                   .length = strlen(copy),
                                   .source = &source,
                                   .wanted = {NAN, NAN, NAN, time_utc_s},
                                   .log = &r.log};
    r.status = pappus_wind_bytes_read(&r.winds, &reading);
    free(copy);
    free(chosen);
    return r;
}

static inline wind_result read_wind_text(const char *text, const char *station)
{
    return read_wind_text_at(text, station, NAN, NAN);
}

static inline void clear_wind_result(wind_result *r)
{
    pappus_winds_free(r->winds);
    pappus_log_clear(&r->log);
}

/* The first entry of the log whose message has a part; NULL when there is none. */
static inline const pappus_log_entry *find_entry(const pappus_log *log, const char *part)
{
    for (size_t i = 0; i < log->count; i++)
        if (strstr(log->entries[i].error.message, part)) return &log->entries[i];
    return NULL;
}

/* Writes a text to a new file; the path is the caller's to unlink and free. */
static inline char *file_of(const char *text)
{
    char *path = strdup("/tmp/pappus-wind-XXXXXX");
    int fd = mkstemp(path);
    ck_assert_int_ge(fd, 0);
    ck_assert_int_eq(write(fd, text, strlen(text)), (ssize_t)strlen(text));
    close(fd);
    return path;
}

static inline void drop_file(char *path)
{
    unlink(path);
    free(path);
}

#endif
