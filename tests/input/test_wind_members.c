/* SPDX-License-Identifier: GPL-3.0-or-later
 * Members of an ensemble: listed, and one of them chosen by the plan. Winds are invented; what is
 * expected is reckoned by hand (X). */
#include "wind_members.h"
#include "wind_texts.h"
#include "suite.h"

#define T0 1807974000.0 /* 2027-04-17T15:00Z by date(1) */
#define HOUR 3600.0
#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* u of member m is m at 15 h and m + 1 an hour later; five of them have both hours. */
static const char six[] = "time,member,height_agl_m,u_mps,v_mps\n"
                          "2027-04-17T15:00Z,7,100,7,0\n2027-04-17T15:00Z,0,100,0,0\n"
                          "2027-04-17T15:00Z,2,100,2,0\n2027-04-17T15:00Z,3,100,3,0\n"
                          "2027-04-17T15:00Z,4,100,4,0\n2027-04-17T15:00Z,9,100,9,0\n"
                          "2027-04-17T16:00Z,7,100,8,0\n2027-04-17T16:00Z,0,100,1,0\n"
                          "2027-04-17T16:00Z,2,100,3,0\n2027-04-17T16:00Z,3,100,4,0\n"
                          "2027-04-17T16:00Z,4,100,5,0\n";

static pappus_plan plan_with(pappus_profile_source *sources, size_t count)
{
    static char path[] = "plan.json";
    pappus_plan plan = {.path = path, .has_wind = true, .site = {.elevation_msl_m = 300.0}};
    plan.wind = (pappus_wind_plan){.profile_count = count,
                                   .profiles = sources,
                                   .time_utc_s = T0 + 0.5 * HOUR,
                                   .age_s = NAN,
                                   .gust_mps = NAN,
                                   .shear_exponent = 0.143};
    return plan;
}

static pappus_profile_source source_of(char *path, double weight)
{
    return (pappus_profile_source){path, NULL, NAN, NAN, weight, PAPPUS_WIND_SOUNDING, false};
}

START_TEST(members_are_listed_in_order)
{
    static const int expected[] = {0, 2, 3, 4, 7, 9};
    int members[8] = {0};
    wind_result r = read_wind_text(six, NULL);
    ck_assert_uint_eq(pappus_winds_members(members, 8, r.winds), 6);
    for (size_t i = 0; i < COUNT(expected); i++)
        ck_assert_int_eq(members[i], expected[i]);
    members[2] = -5;
    ck_assert_uint_eq(pappus_winds_members(members, 2, r.winds),
                      6); /* no more than there is room */
    ck_assert_int_eq(members[2], -5);
    clear_wind_result(&r);
    r = read_wind_text("height_agl_m,u_mps,v_mps\n100,4,0\n", NULL);
    ck_assert_uint_eq(pappus_winds_members(members, 8, r.winds), 0);
    clear_wind_result(&r);
}
END_TEST

START_TEST(one_member_counts)
{
    /* X: half an hour after T0 member 3 has 3.5 m/s; alone it has no spread */
    char *path = file_of(six);
    pappus_profile_source source = source_of(path, 1.0);
    pappus_plan plan = plan_with(&source, 1);
    pappus_winds *loaded = NULL, *winds = NULL;
    pappus_log log = {0};
    ck_assert_int_eq(pappus_winds_load(&loaded, &plan, &log), PAPPUS_OK);
    ck_assert_int_eq(pappus_winds_settle(&winds, loaded, &plan, plan.wind.time_utc_s, &log),
                     PAPPUS_OK);
    ck_assert_uint_eq(winds->profile_count, 5); /* 9 has but one hour */
    ck_assert(winds->profiles[0].of_spread);
    pappus_winds_free(winds);
    plan.wind.member = 3;
    plan.wind.member_given = true;
    ck_assert_int_eq(pappus_winds_settle(&winds, loaded, &plan, plan.wind.time_utc_s, &log),
                     PAPPUS_OK);
    ck_assert_uint_eq(winds->profile_count, 1);
    ck_assert_int_eq(winds->profiles[0].member, 3);
    ck_assert_double_eq_tol(winds->profiles[0].levels[0].u_mps, 3.5, 1e-12);
    ck_assert_double_eq(winds->profiles[0].weight, 1.0);
    ck_assert(!winds->profiles[0].of_spread);
    pappus_winds_free(winds);
    ck_assert_uint_eq(loaded->profile_count, 11); /* as they were read */
    pappus_winds_free(loaded);
    pappus_log_clear(&log);
    drop_file(path);
}
END_TEST

START_TEST(winds_without_members_stay)
{
    char *path = file_of(six), *other = file_of("height_agl_m,u_mps,v_mps\n100,6,0\n");
    pappus_profile_source sources[] = {source_of(path, 1.0), source_of(other, 3.0)};
    pappus_plan plan = plan_with(sources, 2);
    pappus_winds *loaded = NULL, *winds = NULL;
    pappus_log log = {0};
    plan.wind.member = 7;
    plan.wind.member_given = true;
    ck_assert_int_eq(pappus_winds_load(&loaded, &plan, &log), PAPPUS_OK);
    ck_assert_int_eq(pappus_winds_settle(&winds, loaded, &plan, plan.wind.time_utc_s, &log),
                     PAPPUS_OK);
    ck_assert_uint_eq(winds->profile_count, 2);
    ck_assert_int_eq(winds->profiles[0].member, 7);
    ck_assert_int_eq(winds->profiles[1].member, -1);
    ck_assert_double_eq(winds->profiles[0].weight, 1.0);
    ck_assert_double_eq(winds->profiles[1].weight, 3.0);
    pappus_winds_free(winds);
    pappus_winds_free(loaded);
    pappus_log_clear(&log);
    drop_file(path);
    drop_file(other);
}
END_TEST

START_TEST(members_need_no_time)
{
    char *path = file_of("height_agl_m,member,u_mps,v_mps\n100,0,4,0\n100,1,6,0\n");
    pappus_profile_source source = source_of(path, 1.0);
    pappus_plan plan = plan_with(&source, 1);
    pappus_winds *loaded = NULL, *winds = NULL;
    pappus_log log = {0};
    ck_assert_int_eq(pappus_winds_load(&loaded, &plan, &log), PAPPUS_OK);
    ck_assert_int_eq(pappus_winds_settle(&winds, loaded, &plan, NAN, &log), PAPPUS_OK);
    ck_assert_uint_eq(winds->profile_count, 2);
    ck_assert_double_eq(winds->profiles[0].weight, 0.5);
    pappus_winds_free(winds);
    pappus_winds_free(loaded);
    pappus_log_clear(&log);
    drop_file(path);
}
END_TEST

START_TEST(a_member_that_is_not_there)
{
    static const struct {
        const char *text, *says;
    } cases[] = {
        {six, "not there; accepted is one of 0, 2 to 4, 7, 9"},
        {"height_agl_m,member,u_mps,v_mps\n100,0,4,0\n100,1,6,0\n",
         "not there; accepted is one of 0, 1"},
        {"height_agl_m,u_mps,v_mps\n100,4,0\n", "the winds have no members; leave it out"}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        char *path = file_of(cases[i].text);
        pappus_profile_source source = source_of(path, 1.0);
        pappus_plan plan = plan_with(&source, 1);
        pappus_winds *loaded = NULL, *winds = NULL;
        pappus_log log = {0};
        plan.wind.member = 5;
        plan.wind.member_given = true;
        ck_assert_int_eq(pappus_winds_load(&loaded, &plan, &log), PAPPUS_OK);
        ck_assert_int_eq(pappus_winds_settle(&winds, loaded, &plan, plan.wind.time_utc_s, &log),
                         PAPPUS_E_WIND);
        ck_assert_ptr_null(winds);
        ck_assert_uint_eq(pappus_log_faults(&log), 1);
        const pappus_log_entry *told = find_entry(&log, cases[i].says);
        ck_assert_msg(told != NULL, "%s", log.entries[log.count - 1].error.message);
        ck_assert_str_eq(told->error.key, "wind.member");
        ck_assert_str_eq(told->error.value, "5");
        ck_assert_int_eq(pappus_winds_keep_member(loaded, 5, &log), PAPPUS_E_WIND);
        ck_assert_uint_eq(pappus_log_faults(&log), 2);
        pappus_winds_free(loaded);
        pappus_log_clear(&log);
        drop_file(path);
    }
}
END_TEST

SUITE("wind members")
{
    tcase_add_test(tests, members_are_listed_in_order);
    tcase_add_test(tests, one_member_counts);
    tcase_add_test(tests, winds_without_members_stay);
    tcase_add_test(tests, members_need_no_time);
    tcase_add_test(tests, a_member_that_is_not_there);
}
