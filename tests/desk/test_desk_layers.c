/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which readings count at a time, and the settings that they and the changes make over a plan. The
 * error of an old reading, X (README, How sure): its own and, at right angles, 2.4 m/s for an hour
 * that grows as the cube root of the age, half of it at the ground, all of it from 400 m up. */
#include "desk.h"
#include "suite.h"

#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define NOON 1807963200.0 /* 2027-04-17T12:00Z by date(1) */
#define HOUR 3600.0

static pappus_situation *demo;

static const pappus_plan *plan_with(double time_utc_s, bool surface)
{
    static pappus_plan plan;
    plan = *pappus_situation_givens(demo).plan;
    plan.wind.time_utc_s = time_utc_s;
    plan.wind.has_surface = surface;
    plan.wind.observation_count = 2;
    return &plan;
}

static void setup(void)
{
    pappus_log log = {0};
    pappus_quiet_dependencies();
    ck_assert_int_eq(
        pappus_situation_open(&demo, SOURCE_DIR "/examples/go_day.json", NULL, NULL, &log),
        PAPPUS_OK);
    pappus_log_clear(&log);
}

static void teardown(void)
{
    pappus_situation_free(demo);
}

static desk_note note_at(double utc_s, double height_m, const char *gust)
{
    static char heights[8][20];
    static size_t next;
    char *height = heights[next++ % 8];
    snprintf(height, sizeof heights[0], "%g m", height_m);
    return (desk_note){.time_utc_s = utc_s,
                       .speed = (char *)(uintptr_t) "12 mph",
                       .direction = (char *)(uintptr_t) "240 deg",
                       .height = height,
                       .gust = (char *)(uintptr_t)gust,
                       .height_m = height_m};
}

START_TEST(newest_of_a_height_counts)
{
    desk_note items[] = {note_at(NOON - 2.5 * HOUR, 2, NULL), note_at(NOON - 1.5 * HOUR, 2, NULL),
                         note_at(NOON - HOUR, 100, NULL), note_at(NOON - 0.5 * HOUR, 2.4, NULL),
                         note_at(NOON + 0.5 * HOUR, 126, NULL)};
    const pappus_note_standing at_noon[] = {PAPPUS_NOTE_OLD, PAPPUS_NOTE_SUPERSEDED,
                                            PAPPUS_NOTE_COUNTS, PAPPUS_NOTE_COUNTS,
                                            PAPPUS_NOTE_COUNTS};
    desk_notes notes = {.count = COUNT(items), .items = items};
    desk_wish wish = {0};
    pappus_desk_note stand[COUNT(items)];
    /* two hours of wind.surface.holds; 2.4 m is 2 m (1.25 times at most), 126 m is not 100 m */
    desk_notes_stand(stand, &notes, &wish, plan_with(NOON, true), NAN);
    for (size_t i = 0; i < COUNT(items); i++)
        ck_assert_msg(stand[i].standing == at_noon[i], "%zu: %d", i, stand[i].standing);
    ck_assert_double_eq(stand[4].age_s, 0.5 * HOUR); /* before or after */
    /* without a time of the launch it is now, in whole minutes */
    desk_notes_stand(stand, &notes, &wish, plan_with(NAN, true), NOON + 2.5 * HOUR + 59);
    ck_assert_int_eq(stand[2].standing, PAPPUS_NOTE_OLD);
    ck_assert_int_eq(stand[4].standing, PAPPUS_NOTE_COUNTS);
    ck_assert_double_eq(stand[4].age_s, 2 * HOUR);
    /* a time that is asked for stands before that of the plan */
    ck_assert(desk_texts_set(&wish.changes, "wind.time", "2027-04-17T18:00Z"));
    desk_notes_stand(stand, &notes, &wish, plan_with(NOON, true), NAN);
    for (size_t i = 0; i < COUNT(items); i++)
        ck_assert_int_eq(stand[i].standing, PAPPUS_NOTE_OLD);
    /* and a reading that is shown before all: later ones are left out, it is not old */
    wish.past = true;
    wish.note = 1;
    desk_notes_stand(stand, &notes, &wish, plan_with(NOON, true), NAN);
    ck_assert_int_eq(stand[0].standing, PAPPUS_NOTE_SUPERSEDED);
    ck_assert_int_eq(stand[1].standing, PAPPUS_NOTE_COUNTS);
    ck_assert_double_eq(stand[1].age_s, 0);
    for (size_t i = 2; i < COUNT(items); i++)
        ck_assert_int_eq(stand[i].standing, PAPPUS_NOTE_LATER);
    desk_wish_clear(&wish);
}
END_TEST

/* The value of a key; NULL: not set. */
static const char *value_of(const desk_texts *settings, const char *key)
{
    size_t length = strlen(key);
    for (size_t i = 0; i < settings->count; i++)
        if (strncmp(settings->items[i], key, length) == 0 && settings->items[i][length] == '=')
            return settings->items[i] + length + 1;
    return NULL;
}

static void check_error(const desk_texts *settings, const char *key, double height_m, double age_h)
{
    double change = 2.4 * (0.5 + 0.5 * fmin(height_m, 400) / 400) * cbrt(age_h), error;
    const char *value = value_of(settings, key);
    ck_assert_ptr_nonnull(value);
    ck_assert_int_eq(sscanf(value, "%lf m/s", &error), 1);
    ck_assert_double_eq_tol(error, hypot(1.0, change), 5e-4);
}

START_TEST(newest_is_at_the_ground_others_beside_it)
{
    desk_note items[] = {note_at(NOON - HOUR, 200, NULL), note_at(NOON - 0.75 * HOUR, 60, "20 mph"),
                         note_at(NOON - 0.25 * HOUR, 2, "17 mph")};
    desk_notes notes = {.count = COUNT(items), .items = items};
    desk_wish wish = {0};
    desk_texts settings;
    ck_assert_int_eq(desk_layers_settings(&settings, &wish, &notes, plan_with(NOON, true), NAN),
                     PAPPUS_OK);
    ck_assert_uint_eq(settings.count, 5 + 4 + 4);
    ck_assert_str_eq(value_of(&settings, "wind.surface.height"), "2 m");
    ck_assert_str_eq(value_of(&settings, "wind.surface.speed"), "12 mph");
    ck_assert_str_eq(value_of(&settings, "wind.surface.direction"), "240 deg");
    ck_assert_str_eq(value_of(&settings, "wind.surface.gust"), "17 mph");
    check_error(&settings, "wind.surface.error", 2, 0.25);
    /* behind the two that the plan has, the newer first; a gust is of the ground */
    ck_assert_str_eq(value_of(&settings, "wind.observations[2].height"), "60 m");
    ck_assert_str_eq(value_of(&settings, "wind.observations[3].height"), "200 m");
    ck_assert_ptr_null(value_of(&settings, "wind.observations[2].gust"));
    check_error(&settings, "wind.observations[2].error", 60, 0.75);
    check_error(&settings, "wind.observations[3].error", 200, 1);
    desk_texts_clear(&settings);
    /* of a reading without gust the plan's own gust is taken away too */
    notes.count = 1;
    ck_assert_int_eq(desk_layers_settings(&settings, &wish, &notes, plan_with(NOON, false), NAN),
                     PAPPUS_OK);
    ck_assert_str_eq(value_of(&settings, "wind.surface.height"), "200 m");
    ck_assert_str_eq(value_of(&settings, "wind.surface.gust"), "null");
    check_error(&settings, "wind.surface.error", 200, 1);
    desk_texts_clear(&settings);
}
END_TEST

START_TEST(changes_lie_over_readings)
{
    desk_note items[] = {note_at(NOON, 2, NULL)};
    desk_notes notes = {.count = 1, .items = items};
    desk_wish wish = {0}, copy;
    desk_texts settings;
    ck_assert(desk_texts_set(&wish.changes, "title", "a=b"));
    ck_assert(desk_texts_set(&wish.changes, "wind.surface.speed", "3 mph"));
    wish.pad = strdup("far");
    ck_assert(desk_wish_copy(&copy, &wish));
    ck_assert_int_eq(desk_layers_settings(&settings, &copy, &notes, plan_with(NOON, true), NAN),
                     PAPPUS_OK);
    ck_assert_uint_eq(settings.count, 6);
    ck_assert_str_eq(value_of(&settings, "title"), "a=b");
    ck_assert_str_eq(value_of(&settings, "wind.surface.speed"), "3 mph");
    ck_assert_str_eq(value_of(&settings, "wind.surface.direction"), "240 deg");
    ck_assert_str_eq(value_of(&settings, "wind.surface.error"), "1 m/s"); /* fresh: its own */
    ck_assert_str_eq(copy.pad, "far");
    desk_texts_clear(&settings);
    desk_wish_clear(&copy);
    desk_wish_clear(&wish);
    ck_assert_ptr_null(wish.pad);
}
END_TEST

SUITE("desk: layers")
{
    tcase_add_checked_fixture(tests, setup, teardown);
    tcase_add_test(tests, newest_of_a_height_counts);
    tcase_add_test(tests, newest_is_at_the_ground_others_beside_it);
    tcase_add_test(tests, changes_lie_over_readings);
}
