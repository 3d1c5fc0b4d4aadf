/* SPDX-License-Identifier: GPL-3.0-or-later
 * Archives read profile by profile: the same as the sounding chosen from the whole file,
 * bad ones skipped and counted, rows counted through. */
#include "suite.h"
#include "wind_levels.h"
#include "wind_stream.h"
#include "wind_texts.h"

#include <stdio.h>

#define SOUNDINGS 2000
#define LEVELS 30
#define HOUR 3600.0
#define T0 946684800.0 /* 2000-01-01T00Z by date(1) */

static const pappus_wind_wanted anywhere = PAPPUS_WIND_WANTED_INIT;

typedef struct {
    pappus_profile_source source;
    pappus_wind_stream *stream;
    pappus_log log;
    int status;
} opened;

static void open_stream(opened *o, char *path)
{
    *o = (opened){.source = {path, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false}};
    o->status = pappus_wind_stream_open(&o->stream, &o->source, anywhere, &o->log);
}

static void leave(opened *o)
{
    pappus_wind_stream_close(o->stream);
    pappus_log_clear(&o->log);
}

/* One sounding every six hours; the wind of level j of sounding i is (7 i + j) % 300 dm/s. */
static char *archive_of_many(void)
{
    size_t size = SOUNDINGS * (80 + LEVELS * 53) + 1, used = 0;
    char *text = malloc(size);
    ck_assert_ptr_nonnull(text);
    for (int i = 0; i < SOUNDINGS; i++) {
        int day = i / 4 % 28 + 1, month = i / 112 % 12 + 1, year = 2000 + i / 1344;
        used += (size_t)snprintf(text + used, size - used,
                                 "#XXM00000001 %04d %02d %02d %02d 9999 %4d ncdc6301 ncdc6301  "
                                 "712889 -1567833\n",
                                 year, month, day, i % 4 * 6, LEVELS);
        for (int j = 0; j < LEVELS; j++)
            used += (size_t)snprintf(text + used, size - used,
                                     "10   242  92500 %5d   -12   954     7   %3d   %3d \n",
                                     100 + 100 * j, j * 10, (7 * i + j) % 300);
    }
    char *path = file_of(text);
    free(text);
    return path;
}

START_TEST(every_sounding_in_order)
{
    char *path = archive_of_many();
    opened o;
    open_stream(&o, path);
    pappus_wind_profile p;
    bool more;
    ck_assert_int_eq(o.status, PAPPUS_OK);
    for (int i = 0; i < SOUNDINGS; i++) {
        ck_assert_int_eq(pappus_wind_stream_next(o.stream, &p, &more), PAPPUS_OK);
        ck_assert(more && p.level_count == LEVELS && p.member == -1);
        if (i < 112) ck_assert_double_eq(p.valid_utc_s, T0 + 6 * HOUR * i);
        for (int j = 0; j < LEVELS; j++)
            ck_assert_double_eq_tol(hypot(p.levels[j].u_mps, p.levels[j].v_mps),
                                    (7 * i + j) % 300 / 10.0, 1e-12);
        pappus_wind_profile_clear(&p);
    }
    for (int i = 0; i < 2; i++) { /* the end stays the end */
        ck_assert_int_eq(pappus_wind_stream_next(o.stream, &p, &more), PAPPUS_OK);
        ck_assert(!more && p.levels == NULL);
    }
    ck_assert_uint_eq(pappus_wind_stream_skipped(o.stream), 0);
    ck_assert_uint_eq(o.log.count, 0);
    leave(&o);
    drop_file(path);
}
END_TEST

START_TEST(same_as_chosen_from_the_whole)
{
    char *path = archive_of_many();
    opened o;
    open_stream(&o, path);
    pappus_wind_profile p;
    bool more;
    for (int i = 0; i < 100; i++) {
        ck_assert_int_eq(pappus_wind_stream_next(o.stream, &p, &more), PAPPUS_OK);
        if (i % 33 == 0) {
            pappus_winds *winds;
            pappus_profile_source source = {
                path, NULL, p.valid_utc_s, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
            ck_assert_int_eq(pappus_wind_file_read(&winds, &source, NULL), PAPPUS_OK);
            const pappus_wind_profile *q = &winds->profiles[0];
            ck_assert_uint_eq(p.level_count, q->level_count);
            for (size_t j = 0; j < p.level_count; j++) {
                ck_assert_double_eq(p.levels[j].height_m, q->levels[j].height_m);
                ck_assert_double_eq(p.levels[j].u_mps, q->levels[j].u_mps);
                ck_assert_double_eq(p.levels[j].v_mps, q->levels[j].v_mps);
                ck_assert_double_eq(p.levels[j].temperature_k, q->levels[j].temperature_k);
            }
            ck_assert_str_eq(p.station, q->station);
            ck_assert_double_eq(p.station_latitude_deg, q->station_latitude_deg);
            pappus_winds_free(winds);
        }
        pappus_wind_profile_clear(&p);
    }
    leave(&o);
    drop_file(path);
}
END_TEST

START_TEST(bad_soundings_are_skipped_and_counted)
{
    char *path =
        file_of(IGRA_HEAD("01", "00", "   1") IGRA_ROW                        /* good */
                    IGRA_HEAD("02", "00", "   1") IGRA_NO_WIND                /* row 3: no wind */
                        IGRA_HEAD("03", "00", "   9") IGRA_ROW                /* row 5: cut */
                            IGRA_HEAD("31", "00", "   1") IGRA_ROW            /* no such day */
                                IGRA_HEAD("05", "00", "   1") "10   242  9\n" /* short */
                IGRA_HEAD("07", "00", "   2") IGRA_ROW IGRA_WIND IGRA_HEAD("08", "00", " 147"));
    opened o;
    open_stream(&o, path);
    size_t good = 0;
    bool more = true;
    ck_assert_int_eq(o.status, PAPPUS_OK);
    while (more) {
        pappus_wind_profile p;
        ck_assert_int_eq(pappus_wind_stream_next(o.stream, &p, &more), PAPPUS_OK);
        good += more;
        pappus_wind_profile_clear(&p);
    }
    ck_assert_uint_eq(good, 2);
    ck_assert_uint_eq(pappus_wind_stream_skipped(o.stream), 5);
    ck_assert_uint_eq(o.log.count, 1);
    ck_assert_int_eq(o.log.entries[0].severity, PAPPUS_WARNING);
    ck_assert_ptr_nonnull(strstr(o.log.entries[0].error.message, "no level has a wind; "));
    ck_assert_ptr_nonnull(strstr(o.log.entries[0].error.message, "5 of 7 soundings are left out"));
    leave(&o);
    drop_file(path);
}
END_TEST

START_TEST(rows_are_those_of_the_file)
{
    char *path =
        file_of(IGRA_HEAD("01", "00", "   1") IGRA_ROW IGRA_HEAD("02", "00", "   9") IGRA_ROW);
    opened o;
    open_stream(&o, path);
    bool more = true;
    while (more) {
        pappus_wind_profile p;
        ck_assert_int_eq(pappus_wind_stream_next(o.stream, &p, &more), PAPPUS_OK);
        pappus_wind_profile_clear(&p);
    }
    ck_assert_str_eq(o.log.entries[0].error.key, "row 3, column NUMLEV");
    leave(&o);
    drop_file(path);
}
END_TEST

START_TEST(table_with_times_is_handed_out_time_by_time)
{
    char *path = file_of("time,height_agl_m,u_mps,v_mps\n2000-01-01T00Z,10,1,2\n"
                         "2000-01-01T06Z,10,3,4\n2000-01-01T12Z,10,5,6\n");
    opened o;
    open_stream(&o, path);
    pappus_wind_profile p;
    bool more;
    ck_assert_int_eq(o.status, PAPPUS_OK);
    for (int i = 0; i < 3; i++) {
        ck_assert_int_eq(pappus_wind_stream_next(o.stream, &p, &more), PAPPUS_OK);
        ck_assert(more && p.valid_utc_s == T0 + 6 * HOUR * i && p.levels[0].u_mps == 2 * i + 1);
        pappus_wind_profile_clear(&p);
    }
    ck_assert_int_eq(pappus_wind_stream_next(o.stream, &p, &more), PAPPUS_OK);
    ck_assert(!more);
    leave(&o);
    drop_file(path);
}
END_TEST

/* As they begin: GRIB (WMO-No. 306, section 0), a ZIP, text of no format, nothing. */
START_TEST(what_is_no_archive_is_refused)
{
    static const char *const texts[] = {"GRIB\x01\x02\x03\x02", "PK\x03\x04", "hello\n", ""};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        char *path = file_of(texts[i]);
        opened o;
        open_stream(&o, path);
        ck_assert_int_eq(o.status, PAPPUS_E_WIND);
        ck_assert_ptr_null(o.stream);
        ck_assert_uint_eq(pappus_log_faults(&o.log), 1);
        leave(&o);
        drop_file(path);
    }
    char none[] = "/nowhere/archive.txt", folder[] = "/tmp";
    opened a, b;
    open_stream(&a, none);
    open_stream(&b, folder);
    ck_assert_int_eq(a.status, PAPPUS_E_WIND);
    ck_assert_int_eq(b.status, PAPPUS_E_WIND);
    leave(&a);
    leave(&b);
}
END_TEST

START_TEST(sounding_without_end_is_refused)
{
    char path[] = "/tmp/pappus-wind-XXXXXX";
    int fd = mkstemp(path);
    pappus_wind_profile p;
    bool more = true;
    ck_assert_int_eq(ftruncate(fd, (off_t)1 << 30), 0);
    ck_assert_int_ge(pwrite(fd, IGRA_HEAD("01", "00", "   1") IGRA_ROW, 100, 0), 100);
    /* good text to the end of what is looked at, zeros behind */
    char blanks[70000];
    memset(blanks, ' ', sizeof blanks);
    ck_assert_int_eq(pwrite(fd, blanks, sizeof blanks, 100), (ssize_t)sizeof blanks);
    opened o;
    open_stream(&o, path);
    ck_assert_int_eq(o.status, PAPPUS_OK);
    ck_assert_int_eq(pappus_wind_stream_next(o.stream, &p, &more), PAPPUS_E_WIND);
    ck_assert(!more && find_entry(&o.log, "4 MiB"));
    leave(&o);
    close(fd);
    unlink(path);
}
END_TEST

SUITE("wind stream")
{
    tcase_add_test(tests, every_sounding_in_order);
    tcase_add_test(tests, same_as_chosen_from_the_whole);
    tcase_add_test(tests, bad_soundings_are_skipped_and_counted);
    tcase_add_test(tests, rows_are_those_of_the_file);
    tcase_add_test(tests, table_with_times_is_handed_out_time_by_time);
    tcase_add_test(tests, what_is_no_archive_is_refused);
    tcase_add_test(tests, sounding_without_end_is_refused);
}
