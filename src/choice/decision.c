/* SPDX-License-Identifier: GPL-3.0-or-later
 * The decision: each limit of the plan against what the landings say, and the
 * answer that follows. A limit is met or broken when its interval clears the bound
 * and undecided otherwise; one broken limit is a no-go, else one undecided limit
 * leaves it undecided.
 *
 * Shares (inside_field, each keep_out) are over all outcomes. The rest is of the
 * nominal outcome alone, by percentiles: the 95th of what must stay small, the 5th
 * of the height at which the main is full open (never full open counts as 0). The
 * intervals hold the error of sampling only, not that of the plan's own numbers.
 *
 * A limit that has nothing to be about makes no reason: a keep-out limit without
 * keep-out areas, a main height without a main, an opening load without canopy. */
#include "decision.h"

#include "error.h"
#include "interval.h"
#include "rocket.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define REPORT_CONFIDENCE 0.95
#define HIGH_PERCENTILE 0.95
#define LOW_PERCENTILE 0.05
/* at most one for each limit, two for the opening load */
#define REASONS_BESIDE_KEEP_OUTS (PAPPUS_LIMIT_KINDS + 1)

pappus_verdict pappus_verdict_of(const pappus_estimate *interval, double bound, bool at_least)
{
    double low = interval->low, high = interval->high;
    if (at_least ? low >= bound : high <= bound) return PAPPUS_MET;
    if (at_least ? high < bound : low > bound) return PAPPUS_BROKEN;
    return PAPPUS_UNDECIDED;
}

/* What judging works on. */
typedef struct {
    const pappus_plan *plan;
    const pappus_field *field;
    const pappus_air *air;
    const pappus_cloud *cloud;
    const pappus_hits *hits;
    double *values; /* room for one value per landing */
    double confidence;
    pappus_judgement *judgement;
    pappus_error *err;
} judge_work;

static int copy_text(char **out, const char *text, pappus_error *err)
{
    *out = text ? strdup(text) : NULL;
    return text && !*out ? pappus_fail_memory(err) : PAPPUS_OK;
}

/* Infinite limits of an interval (too few landings) are reported as not known. */
static double known(double value)
{
    return isfinite(value) ? value : NAN;
}

static int add_reason(judge_work *work, const pappus_reason *reason, const char *name)
{
    pappus_reason *added = &work->judgement->reasons[work->judgement->reason_count++];
    *added = *reason;
    added->at_least = pappus_limit_at_least(reason->limit);
    added->value.low = known(added->value.low);
    added->value.high = known(added->value.high);
    return copy_text(&added->name, name, work->err);
}

static int judge_inside(judge_work *work)
{
    pappus_reason reason = {.limit = PAPPUS_LIMIT_INSIDE_FIELD,
                            .bound = work->plan->limits.inside_field};
    if (isnan(reason.bound)) return PAPPUS_OK;
    pappus_estimate decides = pappus_hits_inside(work->hits, work->confidence);
    reason.value = pappus_hits_inside(work->hits, REPORT_CONFIDENCE);
    reason.verdict = pappus_verdict_of(&decides, reason.bound, true);
    if (!work->hits->has_boundary) reason.caveat.kind = PAPPUS_CAVEAT_NO_FIELD;
    return add_reason(work, &reason, NULL);
}

static int judge_keep_outs(judge_work *work)
{
    pappus_reason reason = {.limit = PAPPUS_LIMIT_KEEP_OUT};
    for (size_t k = 0; k < work->hits->keep_out_count; k++) {
        reason.bound = pappus_keep_out_limit(work->field, work->plan, k);
        if (isnan(reason.bound)) continue;
        bool led = work->hits->rare && reason.bound < PAPPUS_COUNTED_LIMIT;
        reason.value = pappus_hits_keep_out(work->hits, k, REPORT_CONFIDENCE);
        pappus_estimate decides =
            led ? reason.value : pappus_hits_keep_out(work->hits, k, work->confidence);
        reason.verdict = pappus_verdict_of(&decides, reason.bound, false);
        int status = add_reason(work, &reason, work->field->keep_outs[k].name);
        if (status != PAPPUS_OK) return status;
    }
    return PAPPUS_OK;
}

/* A reading or forecast is not sampled, so it has no interval. */
static int judge_surface_wind(judge_work *work)
{
    double speed = pappus_air_surface_wind_mps(work->air), gust = pappus_air_gust_mps(work->air);
    pappus_reason reason = {.limit = PAPPUS_LIMIT_SURFACE_WIND,
                            .value = {speed, NAN, NAN},
                            .bound = work->plan->limits.surface_wind_mps,
                            .verdict = PAPPUS_MET};
    if (isnan(reason.bound)) return PAPPUS_OK;
    if (speed > reason.bound) {
        reason.verdict = PAPPUS_BROKEN;
    } else if (gust > reason.bound) {
        reason.verdict = PAPPUS_UNDECIDED;
        reason.caveat.kind = PAPPUS_CAVEAT_GUST;
    } else if (isnan(speed)) {
        reason.verdict = PAPPUS_UNDECIDED;
        reason.caveat.kind = PAPPUS_CAVEAT_NO_WIND;
    }
    return add_reason(work, &reason, NULL);
}

/* Nominal values of a column into work->values, NaN left out. */
static size_t nominal_values(judge_work *work, const float *column)
{
    size_t count = 0;
    for (size_t i = 0; i < work->cloud->count; i++)
        if (work->cloud->outcome[i] == PAPPUS_NOMINAL && !isnan(column[i]))
            work->values[count++] = (double)column[i];
    return count;
}

static double energy_j(double mass_kg, double vz_mps)
{
    return 0.5 * mass_kg * vz_mps * vz_mps;
}

/* Judges percentile p of a nominal column. mass_kg: of the column as energy; NaN:
 * of the column itself. */
static int judge_percentile(judge_work *work, pappus_reason reason, const float *column, double p,
                            double mass_kg, const char *name)
{
    if (isnan(reason.bound)) return PAPPUS_OK;
    size_t count = nominal_values(work, column);
    if (!isnan(mass_kg))
        for (size_t i = 0; i < count; i++)
            work->values[i] = energy_j(mass_kg, work->values[i]);
    pappus_estimate decides = pappus_percentile_estimate(work->values, count, p, work->confidence);
    reason.value = pappus_percentile_estimate(work->values, count, p, REPORT_CONFIDENCE);
    reason.verdict = pappus_verdict_of(&decides, reason.bound, pappus_limit_at_least(reason.limit));
    if (count == 0) reason.caveat.kind = PAPPUS_CAVEAT_NO_NOMINAL;
    return add_reason(work, &reason, name);
}

static int judge_landing_speed(judge_work *work)
{
    pappus_reason reason = {.limit = PAPPUS_LIMIT_LANDING_SPEED,
                            .bound = work->plan->limits.landing_speed_mps};
    return judge_percentile(work, reason, work->cloud->vz_mps, HIGH_PERCENTILE, NAN, NULL);
}

static int judge_landing_energy(judge_work *work)
{
    pappus_section heaviest = pappus_rocket_heaviest(&work->plan->rocket);
    pappus_reason reason = {.limit = PAPPUS_LIMIT_LANDING_ENERGY,
                            .bound = work->plan->limits.landing_energy_j};
    return judge_percentile(work, reason, work->cloud->vz_mps, HIGH_PERCENTILE, heaviest.mass_kg,
                            heaviest.name);
}

static int judge_opening_loads(judge_work *work)
{
    pappus_reason reason = {.limit = PAPPUS_LIMIT_OPENING_LOAD,
                            .bound = work->plan->limits.opening_load};
    int status = PAPPUS_OK;
    if (work->plan->drogue.present)
        status = judge_percentile(work, reason, work->cloud->drogue_load, HIGH_PERCENTILE, NAN,
                                  "drogue");
    if (work->plan->main.present && status == PAPPUS_OK)
        status =
            judge_percentile(work, reason, work->cloud->main_load, HIGH_PERCENTILE, NAN, "main");
    return status;
}

static int judge_main_height(judge_work *work)
{
    pappus_reason reason = {.limit = PAPPUS_LIMIT_MAIN_HEIGHT,
                            .bound = work->plan->limits.main_height_m};
    size_t unopened = work->cloud->unopened_count[PAPPUS_NOMINAL];
    if (!work->plan->main.present) return PAPPUS_OK;
    if (unopened > 0)
        reason.caveat =
            (pappus_caveat){PAPPUS_CAVEAT_UNOPENED, unopened, work->hits->count[PAPPUS_NOMINAL]};
    return judge_percentile(work, reason, work->cloud->main_full_open_m, LOW_PERCENTILE, NAN, NULL);
}

static int judge_limits(judge_work *work)
{
    static int (*const limits[])(judge_work *) = {
        judge_inside,         judge_keep_outs,     judge_surface_wind, judge_landing_speed,
        judge_landing_energy, judge_opening_loads, judge_main_height,
    };
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        int status = limits[i](work);
        if (status != PAPPUS_OK) return status;
    }
    return PAPPUS_OK;
}

/* What stands in the way comes first; within a verdict the order of the limits. */
static int rank(pappus_verdict verdict)
{
    return verdict == PAPPUS_BROKEN ? 0 : verdict == PAPPUS_UNDECIDED ? 1 : 2;
}

static void order_reasons(pappus_judgement *judgement)
{
    for (size_t i = 1; i < judgement->reason_count; i++) {
        pappus_reason moved = judgement->reasons[i];
        size_t to = i;
        for (; to > 0 && rank(judgement->reasons[to - 1].verdict) > rank(moved.verdict); to--)
            judgement->reasons[to] = judgement->reasons[to - 1];
        judgement->reasons[to] = moved;
    }
}

static void decide(pappus_judgement *judgement)
{
    order_reasons(judgement);
    judgement->decision = PAPPUS_GO;
    if (judgement->reason_count == 0 || judgement->reasons[0].verdict == PAPPUS_MET) return;
    judgement->decision =
        judgement->reasons[0].verdict == PAPPUS_BROKEN ? PAPPUS_NO_GO : PAPPUS_NOT_DECIDED;
}

double pappus_reason_use(const pappus_reason *reason)
{
    double value = reason->value.value, bound = reason->bound;
    if (!isfinite(value) || !isfinite(bound)) return 0;
    if (reason->limit == PAPPUS_LIMIT_INSIDE_FIELD) {
        value = 1 - value;
        bound = 1 - bound;
    } else if (reason->at_least) {
        return value > 0 ? bound / value : INFINITY;
    }
    if (bound <= 0) return value > 0 ? INFINITY : 0;
    return value / bound;
}

/* Is `a` told before `b`, which comes later in the judgement? */
static bool leads(const pappus_reason *a, const pappus_reason *b)
{
    if (a->verdict != b->verdict) return rank(a->verdict) < rank(b->verdict);
    return a->verdict != PAPPUS_MET || pappus_reason_use(a) >= pappus_reason_use(b);
}

size_t pappus_judgement_lead(const pappus_reason **out, size_t most,
                             const pappus_judgement *judgement)
{
    size_t count = 0;
    for (size_t i = 0; i < judgement->reason_count; i++) {
        size_t at = count;
        while (at > 0 && !leads(out[at - 1], &judgement->reasons[i]))
            at--;
        if (at == most) continue;
        if (count < most) count++;
        for (size_t j = count - 1; j > at; j--)
            out[j] = out[j - 1];
        out[at] = &judgement->reasons[i];
    }
    while (count > 0 && out[0]->verdict != PAPPUS_MET && out[count - 1]->verdict == PAPPUS_MET)
        count--;
    return count;
}

int pappus_judge(pappus_judgement **out, const pappus_plan *plan, const pappus_field *field,
                 const pappus_air *air, const pappus_cloud *cloud, const pappus_hits *hits,
                 double decide_confidence, pappus_error *err)
{
    judge_work work = {.plan = plan,
                       .field = field,
                       .air = air,
                       .cloud = cloud,
                       .hits = hits,
                       .confidence = decide_confidence,
                       .err = err};
    size_t room = hits->keep_out_count + REASONS_BESIDE_KEEP_OUTS;
    *out = NULL;
    work.judgement = calloc(1, sizeof *work.judgement);
    if (work.judgement) work.judgement->reasons = calloc(room, sizeof *work.judgement->reasons);
    work.values = malloc((cloud->count + 1) * sizeof *work.values);
    int status = work.judgement && work.judgement->reasons && work.values ? judge_limits(&work)
                                                                          : pappus_fail_memory(err);
    free(work.values);
    if (status != PAPPUS_OK) {
        pappus_judgement_free(work.judgement);
        return status;
    }
    decide(work.judgement);
    *out = work.judgement;
    return PAPPUS_OK;
}

void pappus_judgement_free(pappus_judgement *judgement)
{
    if (!judgement) return;
    for (size_t i = 0; i < judgement->reason_count; i++)
        free(judgement->reasons[i].name);
    free(judgement->reasons);
    free(judgement);
}
