/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a flight: those that begin like JSON as a record, others as a log, of which it
 * is then asked what it shows. */
#include <pappus/pappus.h>

#include "fuzz_file.h"

#include <math.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void read_record(const uint8_t *data, size_t size)
{
    const char *path = fuzz_file("flight.json", data, size);
    pappus_flights *flights = NULL;
    pappus_log log = {0};
    int status = pappus_flights_read(&flights, &path, 1, &log);
    if ((status == PAPPUS_OK) != (flights != NULL)) abort();
    if (status != PAPPUS_OK && pappus_log_faults(&log) == 0) abort();
    pappus_flights_free(flights);
    pappus_log_clear(&log);
}

static void read_log(const uint8_t *data, size_t size)
{
    const char *path = fuzz_file("log.csv", data, size);
    pappus_flight_log *flown = NULL;
    pappus_log log = {0};
    int status = pappus_flight_log_read(&flown, path, &log);
    if ((status == PAPPUS_OK) != (flown != NULL)) abort();
    if (status != PAPPUS_OK && pappus_log_faults(&log) == 0) abort();
    for (size_t i = 0; flown && i < flown->count; i++) {
        if (!isfinite(flown->time_s[i]) || !isfinite(flown->height_m[i])) abort();
        if (i > 0 && !(flown->time_s[i] > flown->time_s[i - 1])) abort();
    }
    pappus_flight_log_free(flown);
    pappus_log_clear(&log);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    (size > 0 && data[0] == '{' ? read_record : read_log)(data, size);
    return 0;
}
