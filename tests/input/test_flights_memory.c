/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of reading a folder of flights, those of cJSON too:
 * PAPPUS_E_MEMORY or all of it, nothing left allocated. */
#include <pappus/debrief.h>

#include "failing_allocator.h"
#include "suite.h"
#include "test_folder.h"

#include <math.h>
#include <string.h>

static void put(const char *name, const char *text)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", test_folder, name);
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

/* The time of the first row tells whether the decimal commas were seen. */
static bool whole(const pappus_flights *flights)
{
    const pappus_flight *one = flights->flights;
    return flights->count == 2 && one->log && one->log->count == 5 && one->log->time_s[1] == 0.5 &&
           one->setting_count == 1 && one->surface && strstr(one->profiles, "/day.csv") &&
           one->mass && one->notes && fabs(one->landing_latitude_deg - 41.7655) < 1e-9;
}

static int read_folder(void *unused)
{
    const char *path = test_folder;
    pappus_flights *flights = NULL;
    pappus_log log = {0};
    (void)unused;
    int status = pappus_flights_read(&flights, &path, 1, &log);
    if ((flights != NULL) != (status == PAPPUS_OK)) status = ATTEMPT_BROKEN;
    if (status == PAPPUS_OK && !whole(flights)) status = ATTEMPT_BROKEN;
    if (status != PAPPUS_OK && status != PAPPUS_E_MEMORY && status != PAPPUS_E_SYSTEM)
        status = ATTEMPT_BROKEN;
    pappus_flights_free(flights);
    pappus_log_clear(&log);
    return status;
}

START_TEST(every_allocation)
{
    if (!allocation_can_fail()) return;
    put("a.csv", "time_s;height_m\n0,0;0,0\n0,5;1,5\n1,0;3,5\n1,5;5,5\n2,0;7,5\n");
    put("a.json", "{\"time\": \"2027-04-17T15Z\", \"log\": \"a.csv\", \"mass\": \"8 kg\","
                  "\"landing\": {\"latitude\": \"41.7655 deg\", \"longitude\": \"-98.4 deg\"},"
                  "\"surface\": {\"speed\": \"4 m/s\"}, \"profiles\": [{\"file\": \"day.csv\"}],"
                  "\"notes\": \"calm\", \"set\": {\"wind.age\": \"3 h\"}}");
    put("b.json", "{\"landing\": {\"latitude\": \"41 45.93 N\", \"longitude\": \"98 26.1 W\"}}");
    ck_assert_int_eq(read_folder(NULL), PAPPUS_OK);
    everywhere = true;
    allocation_trial trial = fail_each_allocation(read_folder, NULL);
    everywhere = false;
    ck_assert_int_ge(trial.refused, 40);
}
END_TEST

SUITE("flights memory")
{
    tcase_add_checked_fixture(tests, make_folder, remove_folder);
    tcase_add_test(tests, every_allocation);
}
