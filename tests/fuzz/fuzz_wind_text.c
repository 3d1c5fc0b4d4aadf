/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a wind file. The first byte says which station is asked for; what
 * reads must write as a layer table and read back. */
#include "wind_format.h"

#include <pappus/output.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static pappus_winds *read_text(const char *bytes, size_t size, char *station)
{
    static char path[] = "fuzz";
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    char *text = malloc(size + 1);
    if (!text) abort();
    if (size > 0) memcpy(text, bytes, size);
    text[size] = '\0';
    pappus_profile_source source = {path, station, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
    pappus_wind_reading reading = {.path = path,
                                   .bytes = text,
                                   .length = size,
                                   .source = &source,
                                   .wanted = {41.0, -96.0, 300.0, 1781740800.0},
                                   .log = &log};
    int status = pappus_wind_bytes_read(&winds, &reading);
    if ((status == PAPPUS_OK) != (winds != NULL)) abort();
    if (status != PAPPUS_OK && pappus_log_faults(&log) == 0) abort();
    pappus_log_clear(&log);
    free(text);
    return winds;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static char eck[] = "ECK";
    char *text = NULL;
    if (size == 0) return 0;
    pappus_winds *winds = read_text((const char *)data + 1, size - 1, data[0] & 1 ? eck : NULL);
    if (winds && pappus_wind_csv_text(&text, winds, NULL) == PAPPUS_OK) {
        pappus_winds *again = read_text(text, strlen(text), NULL);
        if (!again || again->profile_count != winds->profile_count) abort();
        pappus_winds_free(again);
    }
    free(text);
    pappus_winds_free(winds);
    return 0;
}
