/* SPDX-License-Identifier: GPL-3.0-or-later
 * Readings in a file that only grows: JSON, one object a line (RFC 8259). What is on the disk is
 * what the list says after a new opening; what is no reading is told and left as it is. Values are
 * our own (A); times by date(1). */
#include "desk.h"
#include "suite.h"
#include "test_folder.h"

#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define NOON 1807963200.0 /* 2027-04-17T12:00Z */

static char plan_path[100], notes_path[120];

static void setup(void)
{
    pappus_quiet_dependencies();
    make_folder();
    snprintf(plan_path, sizeof plan_path, "%s/plan.json", test_folder);
    snprintf(notes_path, sizeof notes_path, "%s.notes", plan_path);
}

static void write_notes(const char *text, size_t size)
{
    FILE *file = fopen(notes_path, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(text, 1, size, file), size);
    ck_assert_int_eq(fclose(file), 0);
}

/* What is in the file; the caller frees. */
static char *written(void)
{
    FILE *file = fopen(notes_path, "r");
    char *text = calloc(1, 4000);
    if (file) {
        ck_assert_uint_lt(fread(text, 1, 3999, file), 3999);
        fclose(file);
    }
    return text;
}

static void speeds(char out[200], const desk_notes *notes)
{
    out[0] = '\0';
    for (size_t i = 0; i < notes->count; i++) {
        strcat(out, notes->items[i].speed);
        strcat(out, ";");
    }
}

static desk_notes opened(size_t warnings)
{
    desk_notes notes;
    pappus_log log = {0};
    ck_assert_int_eq(desk_notes_open(&notes, plan_path, &log), PAPPUS_OK);
    ck_assert_uint_eq(log.count, warnings);
    pappus_log_clear(&log);
    return notes;
}

static desk_note note_of(double minutes, const char *speed, const char *gust)
{
    return (desk_note){.time_utc_s = NOON + 60.0 * minutes,
                       .speed = (char *)(uintptr_t)speed,
                       .direction = (char *)(uintptr_t) "240 deg",
                       .height = (char *)(uintptr_t) "2 m",
                       .gust = (char *)(uintptr_t)gust,
                       .height_m = 2.0};
}

static void add(desk_notes *notes, double minutes, const char *speed, const char *gust)
{
    pappus_error error = {0};
    desk_note note = note_of(minutes, speed, gust);
    ck_assert_int_eq(desk_notes_add(notes, &note, &error), PAPPUS_OK);
}

START_TEST(readings_are_kept_in_order_of_time)
{
    char in_order[200], again[200];
    desk_notes notes = opened(0);
    ck_assert_int_eq(access(notes_path, F_OK), -1); /* nothing noted, nothing made */
    add(&notes, 20, "9 mph", NULL);
    add(&notes, 5, "7 \"mph\"", "12 mph");
    add(&notes, 20, "8 mph", NULL); /* of one time the later line is later */
    add(&notes, 10, "6 mph", NULL);
    speeds(in_order, &notes);
    ck_assert_str_eq(in_order, "7 \"mph\";6 mph;9 mph;8 mph;");
    char *text = written();
    ck_assert_ptr_nonnull(
        strstr(text, "{\"time\":\"2027-04-17T12:05:00Z\",\"speed\":\"7 \\\"mph\\\"\","
                     "\"direction\":\"240 deg\",\"height\":\"2 m\",\"gust\":\"12 mph\"}\n"));
    desk_notes_close(&notes);
    notes = opened(0);
    speeds(again, &notes);
    ck_assert_str_eq(again, in_order);
    ck_assert_double_eq(notes.items[0].time_utc_s, NOON + 300);
    ck_assert_double_eq(notes.items[0].height_m, 2.0);
    ck_assert_str_eq(notes.items[0].gust, "12 mph");
    ck_assert_ptr_null(notes.items[1].gust);
    desk_notes_close(&notes);
    free(text);
}
END_TEST

START_TEST(a_reading_is_struck_by_a_line)
{
    char left[200];
    pappus_error error = {0};
    desk_notes notes = opened(0);
    for (int i = 0; i < 3; i++)
        add(&notes, 3 - i, i == 0 ? "1 mph" : i == 1 ? "2 mph" : "3 mph", NULL);
    ck_assert_int_eq(desk_notes_strike(&notes, 1, &error), PAPPUS_OK); /* the second by time */
    speeds(left, &notes);
    ck_assert_str_eq(left, "3 mph;1 mph;");
    add(&notes, 9, "4 mph", NULL);
    ck_assert_int_eq(desk_notes_strike(&notes, 2, &error), PAPPUS_OK);
    desk_notes_close(&notes);
    char *text = written();
    ck_assert_ptr_nonnull(strstr(text, "{\"strike\":2}\n"));
    ck_assert_ptr_nonnull(strstr(text, "{\"strike\":5}\n"));
    ck_assert_ptr_nonnull(strstr(text, "2 mph")); /* what was written stays */
    notes = opened(0);
    speeds(left, &notes);
    ck_assert_str_eq(left, "3 mph;1 mph;");
    desk_notes_close(&notes);
    free(text);
}
END_TEST

#define GOOD                                                                                       \
    "{\"time\":\"2027-04-17T12:00:00Z\",\"speed\":\"5 mph\",\"direction\":\"W\",\"height\":\"2 "   \
    "m\"}\n"

START_TEST(what_is_no_reading_is_told_and_left)
{
    static const char *const bad[] = {
        "{",
        "[]",
        "3",
        "null",
        "{}",
        "{\"speed\":\"5 mph\"}",
        "{\"strike\":\"1\"}",
        "{\"time\":3,\"speed\":\"5 mph\",\"direction\":\"W\",\"height\":\"2 m\"}",
        "{\"time\":\"noon\",\"speed\":\"5 mph\",\"direction\":\"W\",\"height\":\"2 m\"}",
        "{\"time\":\"2027-04-17T12Z\",\"speed\":\"5 mph\",\"direction\":\"W\",\"height\":\"2 "
        "mph\"}",
        "{\"time\":\"2027-04-17T12Z\",\"speed\":\"5 mph\",\"direction\":\"W\",\"height\":\"9999 "
        "m\"}",
        GOOD GOOD "}"};
    for (size_t i = 0; i < COUNT(bad); i++) {
        char text[1000], found[200];
        pappus_error error = {0};
        size_t good = i + 1 == COUNT(bad) ? 4 : 2; /* the last has two good lines before it */
        int size = snprintf(text, sizeof text, GOOD "%s\n\n" GOOD, bad[i]);
        write_notes(text, (size_t)size);
        desk_notes notes = opened(1);
        ck_assert_uint_eq(notes.count, good);
        add(&notes, 5, "6 mph", NULL);
        char *after = written();
        ck_assert_int_eq(strncmp(after, text, (size_t)size), 0); /* only ever appended to */
        ck_assert_int_eq(desk_notes_strike(&notes, notes.count - 1, &error), PAPPUS_OK);
        desk_notes_close(&notes);
        notes = opened(1); /* the line that it was is the line that is struck */
        ck_assert_uint_eq(notes.count, good);
        speeds(found, &notes);
        ck_assert_ptr_null(strstr(found, "6 mph"));
        desk_notes_close(&notes);
        free(after);
    }
}
END_TEST

START_TEST(a_line_cut_short_is_ended)
{
    static const char cut[] = GOOD "{\"time\":\"2027-04-17T1";
    char found[200];
    write_notes(cut, sizeof cut - 1);
    desk_notes notes = opened(1);
    ck_assert_uint_eq(notes.count, 1);
    add(&notes, 5, "6 mph", NULL);
    desk_notes_close(&notes);
    notes = opened(1);
    speeds(found, &notes);
    ck_assert_str_eq(found, "5 mph;6 mph;");
    desk_notes_close(&notes);
    write_notes(GOOD, sizeof GOOD - 2); /* whole but for its end: it counts */
    notes = opened(0);
    ck_assert_uint_eq(notes.count, 1);
    add(&notes, 5, "6 mph", NULL);
    desk_notes_close(&notes);
    notes = opened(0);
    ck_assert_uint_eq(notes.count, 2);
    desk_notes_close(&notes);
}
END_TEST

START_TEST(a_strike_of_nothing_strikes_nothing)
{
    static const char text[] = GOOD "{\"strike\":0}\n{\"strike\":2}\n{\"strike\":-1}\n"
                                    "{\"strike\":1e99}\n{\"strike\":1.5}\n";
    write_notes(text, sizeof text - 1);
    desk_notes notes = opened(0);
    ck_assert_uint_eq(notes.count, 1);
    desk_notes_close(&notes);
}
END_TEST

/* A line of 2000 bytes with its end is noted, one of 2001 is told to be too long. */
START_TEST(the_longest_line_is_2000_bytes)
{
    static const char rest[] = "{\"time\":\"2027-04-17T12:01:00Z\",\"speed\":\"\",\"direction\":"
                               "\"240 deg\",\"height\":\"2 m\"}\n";
    pappus_error error = {0};
    desk_notes notes = opened(0);
    char speed[2000] = "";
    memset(speed, 'x', 2001 - (sizeof rest - 1));
    desk_note note = note_of(1, speed, NULL);
    ck_assert_int_eq(desk_notes_add(&notes, &note, &error), PAPPUS_E_REFUSED);
    ck_assert_ptr_nonnull(strstr(error.message, "too long"));
    ck_assert_uint_eq(notes.count, 0);
    ck_assert_int_eq(access(notes_path, F_OK), -1);
    speed[2000 - (sizeof rest - 1)] = '\0';
    ck_assert_int_eq(desk_notes_add(&notes, &note, &error), PAPPUS_OK);
    char *text = written();
    ck_assert_uint_eq(strlen(text), 2000);
    free(text);
    desk_notes_close(&notes);
}
END_TEST

START_TEST(nothing_is_half_written)
{
    char found[200];
    pappus_error error = {0};
    desk_notes notes = opened(0);
    desk_note note;
    for (int i = 0; i < DESK_MOST_NOTES; i++)
        add(&notes, i, "5 mph", NULL);
    note = note_of(1, "6 mph", NULL);
    ck_assert_int_eq(desk_notes_add(&notes, &note, &error), PAPPUS_E_REFUSED);
    ck_assert_ptr_nonnull(strstr(error.message, "500"));
    ck_assert_uint_eq(notes.count, DESK_MOST_NOTES);
    ck_assert_int_eq(desk_notes_strike(&notes, 0, &error), PAPPUS_OK);
    ck_assert_int_eq(desk_notes_add(&notes, &note, &error), PAPPUS_OK);
    desk_notes_close(&notes);
    notes = opened(0);
    ck_assert_uint_eq(notes.count, DESK_MOST_NOTES);
    desk_notes_close(&notes);
    /* a place that cannot be written: said, and the list is as it was */
    ck_assert_int_eq(unlink(notes_path), 0);
    notes = opened(0);
    ck_assert_int_eq(mkdir(notes_path, 0777), 0);
    ck_assert_int_eq(desk_notes_add(&notes, &note, &error), PAPPUS_E_OUTPUT);
    ck_assert_str_eq(error.file, notes_path);
    speeds(found, &notes);
    ck_assert_str_eq(found, "");
    desk_notes_close(&notes);
}
END_TEST

/* A folder, a link, a file that is too large: refused at the opening, and not touched. */
START_TEST(what_is_no_file_of_notes_is_refused)
{
    desk_notes notes;
    pappus_log log = {0};
    char other[120];
    for (int i = 0; i < 3; i++) {
        snprintf(other, sizeof other, "%s/other", test_folder);
        if (i == 0) ck_assert_int_eq(mkdir(notes_path, 0777), 0);
        if (i == 1) ck_assert_int_eq(symlink(other, notes_path), 0);
        if (i == 2) write_notes("", 0);
        if (i == 2) ck_assert_int_eq(truncate(notes_path, (1 << 20) + 1), 0);
        ck_assert_int_eq(desk_notes_open(&notes, plan_path, &log), PAPPUS_E_PLAN);
        ck_assert_uint_eq(pappus_log_faults(&log), (size_t)i + 1);
        desk_notes_close(&notes);
        if (i < 2) ck_assert_int_eq(remove(notes_path), 0);
    }
    ck_assert_int_eq(access(other, F_OK), -1);
    pappus_log_clear(&log);
}
END_TEST

SUITE("desk: notes")
{
    tcase_add_checked_fixture(tests, setup, remove_folder);
    tcase_add_test(tests, readings_are_kept_in_order_of_time);
    tcase_add_test(tests, a_reading_is_struck_by_a_line);
    tcase_add_test(tests, what_is_no_reading_is_told_and_left);
    tcase_add_test(tests, a_line_cut_short_is_ended);
    tcase_add_test(tests, a_strike_of_nothing_strikes_nothing);
    tcase_add_test(tests, the_longest_line_is_2000_bytes);
    tcase_add_test(tests, nothing_is_half_written);
    tcase_add_test(tests, what_is_no_file_of_notes_is_refused);
}
