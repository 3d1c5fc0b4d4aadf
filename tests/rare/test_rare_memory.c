/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of led landings, for a flight and for rows of main
 * heights: PAPPUS_E_MEMORY, nothing left allocated, no crash. */
#include "choice/situation.h"
#include "hits.h"
#include "rows.h"

#include "failing_allocator.h"
#include "suite.h"

typedef struct {
    choice_setup setup;
    pappus_cloud *cloud;
    pappus_hits *hits;
    pappus_field_shapes *shapes;
} whole;

static int hazard(void *given)
{
    whole *w = given;
    pappus_hazard *made;
    pappus_hazard_options options = PAPPUS_HAZARD_OPTIONS_INIT;
    options.run = w->setup.run;
    options.field = false;
    int status = pappus_hazard_find(&made, w->hits, &w->setup.given, w->cloud, &options, NULL);
    pappus_hazard_free(made);
    free(w->hits->rare);
    w->hits->rare = NULL;
    return status;
}

static int rows(void *given)
{
    whole *w = given;
    const double shift_m[2] = {-50.0, 100.0};
    pappus_hits hits[2];
    for (int r = 0; r < 2; r++)
        hits[r] = *w->hits; /* what was counted is borrowed */
    int status = rare_rows_lead(hits, 2, shift_m, &w->setup.given, w->shapes, &w->setup.run, NULL);
    for (int r = 0; r < 2; r++)
        free(hits[r].rare);
    return status;
}

static int (*const attempts[])(void *) = {hazard, rows};

START_TEST(every_allocation_may_fail)
{
    static whole w;
    double limit[1] = {1e-5};
    pappus_error err = {0};
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    if (!allocation_can_fail()) return;
    pappus_quiet_dependencies();
    choice_setup_set(&w.setup);
    add_keep_out(&w.setup, "crowd", 700, 400, 1300, 900);
    w.setup.field.keep_out_limit = limit;
    w.setup.run.threads = 1; /* the counter is no atomic one */
    w.setup.flight.plan.faults = (pappus_faults){0.0, 0.01, 0.0, 0.0};
    choice_setup_build(&w.setup);
    options.run = w.setup.run;
    ck_assert_int_eq(
        pappus_scatter(&w.cloud, w.setup.given.plan, w.setup.given.air, &options, &err), 0);
    ck_assert_int_eq(pappus_hits_count(&w.hits, w.cloud, &w.setup.field, 1, &err), 0);
    ck_assert_int_eq(pappus_field_shapes_new(&w.shapes, &w.setup.field, &err), 0);
    ck_assert_int_eq(attempts[_i](&w), PAPPUS_OK); /* libgomp keeps what a first region makes */
    allocation_trial trial = fail_each_allocation(attempts[_i], &w);
    ck_assert_int_eq(trial.refused, trial.failed);
    ck_assert_int_gt(trial.failed, 50);
    pappus_field_shapes_free(w.shapes);
    pappus_hits_free(w.hits);
    pappus_cloud_free(w.cloud);
    choice_setup_end(&w.setup);
}
END_TEST

SUITE("rare memory")
{
    tcase_add_loop_test(tests, every_allocation_may_fail, 0, sizeof attempts / sizeof *attempts);
}
