/* SPDX-License-Identifier: GPL-3.0-or-later
 * The chance of an area is sum_h P_h p_h over outcomes h; a fault that is likelier changes
 * P_h alone, by the enumeration of descent/outcomes.c: what happens within an outcome is
 * taken to stay as it is. Persons are spread evenly over their area and stand still: of N on
 * an area of S a landing that hurts hits N A/S. Where it stops being right: a crowd that
 * looks up steps aside from what comes slowly, and stands close together. */
#include "risk.h"

#include "bearing.h"
#include "error.h"
#include "geometry.h"
#include "outcomes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *pappus_fault_text(pappus_fault fault)
{
    static const char *const texts[PAPPUS_FAULTS] = {
#define ROW(name, text) [PAPPUS_FAULT_##name] = text,
        PAPPUS_FAULT_LIST(ROW)
#undef ROW
    };
    return (unsigned)fault < PAPPUS_FAULTS ? texts[fault] : NULL;
}

static double times(double chance, double factor)
{
    return fmin(chance * factor, 1.0);
}

/* Chances of the outcomes where one fault is `factor` as likely. */
static int changed(double probability[PAPPUS_OUTCOMES], const pappus_plan *plan, pappus_fault fault,
                   double factor, pappus_error *err)
{
    pappus_altimeter altimeters[PAPPUS_ALTIMETERS_MOST];
    pappus_case_table table;
    pappus_plan other = *plan;
    if (plan->altimeter_count > PAPPUS_ALTIMETERS_MOST)
        return pappus_case_table_build(&table, plan, err);
    memcpy(altimeters, plan->altimeters, plan->altimeter_count * sizeof *altimeters);
    other.altimeters = altimeters;
    if (fault == PAPPUS_FAULT_ALTIMETERS)
        for (size_t a = 0; a < plan->altimeter_count; a++)
            altimeters[a].works = 1.0 - times(1.0 - altimeters[a].works, factor);
    if (fault == PAPPUS_FAULT_NO_POWER)
        other.faults.no_power = times(other.faults.no_power, factor);
    if (fault == PAPPUS_FAULT_DROGUE_FAILS)
        other.faults.drogue_fails = times(other.faults.drogue_fails, factor);
    if (fault == PAPPUS_FAULT_MAIN_FAILS)
        other.faults.main_fails = times(other.faults.main_fails, factor);
    if (fault == PAPPUS_FAULT_MAIN_EARLY)
        other.faults.main_early = times(other.faults.main_early, factor);
    int status = pappus_case_table_build(&table, &other, err);
    if (status != PAPPUS_OK) return status;
    memcpy(probability, table.probability, sizeof table.probability);
    pappus_case_table_clear(&table);
    return PAPPUS_OK;
}

typedef struct {
    double half[PAPPUS_FAULTS][PAPPUS_OUTCOMES], twice[PAPPUS_FAULTS][PAPPUS_OUTCOMES];
} fault_table;

static int fill_faults(fault_table *out, const pappus_plan *plan, pappus_error *err)
{
    int status = PAPPUS_OK;
    for (int f = 0; f < PAPPUS_FAULTS && status == PAPPUS_OK; f++) {
        status = changed(out->half[f], plan, (pappus_fault)f, 0.5, err);
        if (status == PAPPUS_OK) status = changed(out->twice[f], plan, (pappus_fault)f, 2.0, err);
    }
    return status;
}

static double chance_of(const double probability[PAPPUS_OUTCOMES],
                        const double given[PAPPUS_OUTCOMES])
{
    double sum = 0.0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        if (given[h] > 0.0) sum += probability[h] * given[h];
    return sum;
}

/* The fault that changes the chance most when it is twice as likely. */
static void set_fault(pappus_risk *risk, const fault_table *faults,
                      const double given[PAPPUS_OUTCOMES])
{
    double most = 0.0;
    risk->fault = PAPPUS_FAULTS;
    risk->halved = risk->doubled = risk->chance;
    for (int f = 0; f < PAPPUS_FAULTS; f++) {
        double twice = chance_of(faults->twice[f], given);
        if (!(fabs(twice - risk->chance) > most)) continue;
        most = fabs(twice - risk->chance);
        risk->fault = (pappus_fault)f;
        risk->doubled = twice;
        risk->halved = chance_of(faults->half[f], given);
    }
}

/* Mean wind over a fall that is led to x: the drift over its time. */
static void mean_wind(double *speed_mps, double *from_deg, const rare_law *law, const double x_m[2])
{
    double u = (x_m[0] - law->start_m[0]) / law->seconds;
    double v = (x_m[1] - law->start_m[1]) / law->seconds;
    *speed_mps = hypot(u, v);
    *from_deg = *speed_mps > 0.0 ? pappus_bearing_of(-u, -v) : NAN;
}

static void set_wind(pappus_risk *risk, const led_outcome *outcome, size_t area)
{
    risk->wind_mps = risk->wind_from_deg = risk->usual_mps = risk->usual_from_deg = NAN;
    if (!outcome->has_law) return;
    mean_wind(&risk->usual_mps, &risk->usual_from_deg, &outcome->law, outcome->mean_x_m);
    if (isfinite(outcome->areas[area].x_m[0]))
        mean_wind(&risk->wind_mps, &risk->wind_from_deg, &outcome->law, outcome->areas[area].x_m);
}

/* Of the landings of an outcome on an area, those that would hurt. */
static double hurting_share(const pappus_hazard *hazard, const led_outcome *outcome, int h,
                            size_t area)
{
    const led_area *led = outcome->has_law ? &outcome->areas[area] : NULL;
    return led && led->value > 0.0 ? led->hurting / led->value : hazard->hurting[h];
}

static double people_hit(const pappus_field *field, size_t area, double hurting)
{
    double people = field->keep_out_people ? field->keep_out_people[area] : NAN;
    double ground_m2 = pappus_area_m2(&field->keep_outs[area]);
    if (isnan(people)) return NAN;
    return people * hurting * fmin(PAPPUS_PERSON_AREA_M2 / fmax(ground_m2, 1e-6), 1.0);
}

static void fill_risk(pappus_hazard *hazard, size_t k, const pappus_givens *given,
                      const pappus_hits *hits, const led_outcome outcomes[PAPPUS_OUTCOMES],
                      const fault_table *faults)
{
    pappus_risk *risk = &hazard->risks[k];
    double each[PAPPUS_OUTCOMES], most = 0.0, effective = 0.0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        each[h] = pappus_hits_keep_out_given(hits, k, (pappus_outcome)h, 0.95).value;
        if (!(each[h] > 0.0)) continue;
        double part = hits->probability[h] * each[h];
        risk->chance += part;
        risk->hurting += part * hurting_share(hazard, &outcomes[h], h, k);
        if (part <= most) continue;
        most = part;
        risk->outcome = (pappus_outcome)h;
    }
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        const pappus_rare_share *share = &hits->rare[k][h];
        risk->landings += share->landings;
        risk->hits += share->landings > 0 ? share->hits : 0;
        if (h == (int)risk->outcome && share->landings > 0) effective = share->effective;
    }
    risk->effective = effective;
    risk->outcome_share = risk->chance > 0.0 ? most / risk->chance : 0.0;
    set_wind(risk, &outcomes[risk->outcome], k);
    set_fault(risk, faults, each);
    risk->casualties = people_hit(given->field, k, risk->hurting);
}

int risk_fill(pappus_hazard *hazard, const pappus_givens *given, const pappus_hits *hits,
              const led_outcome outcomes[PAPPUS_OUTCOMES], pappus_error *err)
{
    fault_table faults;
    int status = fill_faults(&faults, given->plan, err);
    hazard->casualties = NAN;
    for (size_t k = 0; k < hazard->area_count && status == PAPPUS_OK; k++) {
        fill_risk(hazard, k, given, hits, outcomes, &faults);
        double one = hazard->risks[k].casualties;
        if (isnan(one)) continue;
        hazard->casualties = isnan(hazard->casualties) ? one : hazard->casualties + one;
    }
    return status;
}
