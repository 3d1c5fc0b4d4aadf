/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of the bench card: PAPPUS_E_MEMORY (but for a
 * finding, which is lost then), nothing left allocated, no crash. */
#include <pappus/pappus.h>

#include "descent/real_air.h"
#include "failing_allocator.h"
#include "suite.h"

static int build(void *plan)
{
    pappus_card *card;
    int status = pappus_card_build(&card, plan, NULL); /* a log may lose entries */
    if ((card != NULL) != (status == PAPPUS_OK)) status = ATTEMPT_BROKEN;
    pappus_card_free(card);
    return status;
}

START_TEST(every_allocation_may_fail)
{
    static flight_setup setup;
    static pappus_section sections[] = {{(char *)"nose", 3.0}, {(char *)"booster", 5.0}};
    if (!allocation_can_fail()) return;
    pappus_quiet_dependencies();
    flight_setup_set(&setup);
    setup.plan.path = (char *)"plan.json";
    setup.plan.rocket.section_count = 2;
    setup.plan.rocket.sections = sections;
    allocation_trial trial = fail_each_allocation(build, &setup.plan);
    /* A log, as the card's findings are, loses an entry for which there is no memory. */
    ck_assert_int_ge(trial.refused, trial.failed - 2);
    ck_assert_int_gt(trial.failed, 9);
}
END_TEST

SUITE("card memory")
{
    tcase_add_test(tests, every_allocation_may_fail);
}
