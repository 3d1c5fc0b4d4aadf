/* SPDX-License-Identifier: GPL-3.0-or-later
 * One outcome's led landings. First few falls from the wide density tell where a fall
 * lands that is led to x; they are used for nothing else, so that what follows is
 * unbiased. Then the areas that counted landings hit fewer than COUNTED times each get a
 * density of their own (aim.h) and landings by their share of the chance that is foreseen.
 *
 * Of an area the sum of weights W over the landings on it estimates its chance; the
 * landings of a part are alike and independent, so its variance is
 *   sum_j n_j / (n_j - 1) (sum W^2 - (sum W)^2 / n_j)   over parts j (Owen, chapter 9).
 * Where more than LED_AIMS_MOST areas of an outcome want landings, those are aimed at whose
 * chance, foreseen from their bounds, is most over their limit. One whose chance cannot reach
 * NEGLIGIBLE of its limit (rare_aim_foresee) keeps that as its upper end; the rest live on
 * what is led all round, if enough of it hits, else on what was counted. So cost is linear in areas
 * and landings. Where fewer than FEW_HITS landings hit, or a few weigh nearly all, that says too
 * little: the counted landings speak. An area that nothing within the law's reach leads to has
 * chance 0, known to LAW_BEYOND.
 * Where it stops being right: ways to an area that neither the wide density nor the aim
 * foresees, of a chance under that of a plain landing, are missed with their weight. */
#include "led.h"

#include "error.h"
#include "geometry.h"
#include "rocket.h"

#include <pappus/hazard.h>

#include <math.h>
#include <stdlib.h>

#define SCOUTS 256       /* falls that tell where led ones land */
#define SCOUTS_OF_AIM 96 /* of one aim, in each of ROUNDS */
#define ROUNDS 2
#define COUNTED 50      /* hits that tell enough by themselves */
#define PLAIN 400       /* landings of the flight's own law */
#define LEAST_PART 0.5  /* of the landings for an area that any outcome gets */
#define NEGLIGIBLE 0.01 /* of its limit: where there are many areas, none are led to this one */
#define UNLIKELY 1e-8   /* foreseen of an area that landings are aimed at */
#define FEW_HITS 20
#define FEW_EFFECTIVE 8.0
#define SCOUT_INDEX (UINT64_C(0x8100) << 32)
#define AIM_INDEX (UINT64_C(1) << 20) /* more than the landings of one aim's scouts */
#define LED_INDEX (UINT64_C(0x8000) << 32)
/* Upper 97.5 % limit of no events, times which one more weighs: -ln 0.025 */
#define NO_EVENTS 3.6888794541139363

double led_hurting_mass_kg(const pappus_plan *plan)
{
    return pappus_rocket_heaviest(&plan->rocket).mass_kg;
}

bool led_hurts(double mass_kg, double speed_mps)
{
    return 0.5 * mass_kg * speed_mps * speed_mps > PAPPUS_HURTS_J;
}

/* -------------------------------------------------------------------- aims */

/* Aims of an outcome. */
typedef struct {
    size_t count;
    rare_aim *aims;
    int *aim_of;      /* [area]; or one of the following */
    double *most;     /* [area] that its chance is foreseen not to exceed; 0: out of reach */
    size_t *landings; /* [2 + count] */
} aims;

#define NO_AIM (-1) /* it needs none */
#define OUT_OF_REACH (-2)
#define UNAIMED (-3) /* others come first */

static void aims_clear(aims *a)
{
    free(a->aims);
    free(a->aim_of);
    free(a->most);
    free(a->landings);
}

static rare_range range_of(const led_task *task, const pappus_draws *draws, const rare_law *law,
                           pappus_outcome outcome, uint64_t first_index)
{
    return (rare_range){.law = law,
                        .draws = draws,
                        .outcome = outcome,
                        .random = task->random,
                        .first_index = first_index + ((uint64_t)outcome << 32),
                        .descend = task->descend,
                        .descend_context = task->descend_context,
                        .threads = task->threads,
                        .wide_speed = outcome == PAPPUS_NO_CANOPY};
}

/* Where the scouts were led and where they landed. */
typedef struct {
    rare_shots shots;
    double (*at_m)[2];
    rare_flown flown;
    rare_map map;
} scouted;

static void scouted_clear(scouted *s)
{
    rare_shots_clear(&s->shots);
    free(s->at_m);
}

static int scout(scouted *out, const rare_range *range, const size_t *part, pappus_error *err)
{
    rare_range keeping = *range;
    rare_shots *shots = &out->shots;
    *out = (scouted){.at_m = NULL};
    keeping.keep_normal = true;
    int status = rare_shots_fly(shots, &keeping, part, err);
    if (status != PAPPUS_OK) return status;
    out->at_m = malloc((shots->count + 1) * sizeof *out->at_m);
    if (!out->at_m) return pappus_fail_memory(err);
    for (size_t i = 0; i < shots->count; i++) {
        out->at_m[i][0] = shots->east_m[i];
        out->at_m[i][1] = shots->north_m[i];
    }
    out->flown = (rare_flown){shots->count, shots->normal_count, (const double(*)[2])shots->x_m,
                              (const double(*)[2])out->at_m, shots->normal};
    rare_map_fit(&out->map, &out->flown);
    return PAPPUS_OK;
}

/* The place of an area that its bounds have nearest to another. */
static void nearest_in_bounds(double out_m[2], const pappus_area *area, const double to_m[2])
{
    double bounds[4];
    if (!pappus_area_bounds(bounds, area)) return;
    for (int a = 0; a < 2; a++)
        out_m[a] = fmin(fmax(to_m[a], bounds[a]), bounds[2 + a]);
}

/* Aims by what the scouts tell, sends scouts by that aim and aims again by what these tell:
 * falls that are led far land where none did before (an apogee upwind of a wind that has
 * turned round lies on the other side). */
static int aim_at(rare_aim *out, const led_task *task, const rare_range *scouts,
                  const scouted *from, size_t area, pappus_error *err)
{
    const pappus_area *shape = &task->field->keep_outs[area];
    const size_t part[3] = {0, 0, SCOUTS_OF_AIM};
    rare_map map = from->map;
    rare_range range = *scouts;
    double near_m[2] = {0.0, 0.0};
    nearest_in_bounds(near_m, shape, range.law->origin_m[0]);
    rare_map_localise(&map, &from->flown, near_m);
    int status = rare_aim_build(out, range.law, &map, task->shapes->keep_outs[area], shape, err);
    range.aim_count = 1;
    range.aims = out;
    for (uint64_t round = 0; round < ROUNDS && out->in_reach && status == PAPPUS_OK; round++) {
        scouted more = {0};
        range.first_index = scouts->first_index + AIM_INDEX * (1 + ROUNDS * area + round);
        status = scout(&more, &range, part, err);
        if (status == PAPPUS_OK) rare_map_localise(&map, &more.flown, near_m);
        if (status == PAPPUS_OK)
            status =
                rare_aim_build(out, range.law, &map, task->shapes->keep_outs[area], shape, err);
        scouted_clear(&more);
    }
    return status;
}

/* What is foreseen of an area over what it is in all outcomes is not known here: every
 * outcome gets the same, less where its chance can hardly matter. Bodies without canopy go
 * least by what they are led by and hit hardest: they get all. */
static size_t share_of(const led_task *task, pappus_outcome outcome)
{
    double whole = (double)task->aimed * task->effort, least = whole * LEAST_PART;
    double chance = task->hits->probability[outcome];
    if (outcome == PAPPUS_NO_CANOPY) return (size_t)whole;
    return (size_t)fmin(fmax(whole * fmin(chance * 2.0, 1.0), least), whole);
}

/* ------------------------------------------------------------------- choice */

/* An area that wants landings, and by how much. */
typedef struct {
    double pull; /* ln of what its chance is about over its limit */
    size_t area;
} wanting;

static int by_pull(const void *a, const void *b)
{
    const wanting *x = a, *y = b;
    if (x->pull != y->pull) return x->pull > y->pull ? -1 : 1;
    return x->area < y->area ? -1 : 1;
}

/* True: its chance cannot come near its limit; else how much it asks for landings. */
static bool negligible(wanting *out, double *most, const led_task *task, const rare_law *law,
                       const scouted *from, size_t area)
{
    const pappus_area *shape = &task->field->keep_outs[area];
    double limit = pappus_keep_out_limit(task->field, task->plan, area);
    double near_m[2] = {0.0, 0.0};
    rare_map map = from->map;
    nearest_in_bounds(near_m, shape, law->origin_m[0]);
    rare_map_localise(&map, &from->flown, near_m);
    rare_foresight seen = rare_aim_foresee(law, &map, shape);
    *most = seen.most;
    *out = (wanting){log(seen.about) - log(isnan(limit) ? 1.0 : limit), area};
    return seen.most <= fmax(isnan(limit) ? 0.0 : limit * NEGLIGIBLE, LAW_BEYOND);
}

/* Marks of those that want landings the first LED_AIMS_MOST as NO_AIM, still to be aimed at. */
static void choose(aims *out, wanting *list, size_t count, const led_task *task,
                   const rare_law *law, const scouted *from)
{
    size_t left = 0;
    for (size_t i = 0; i < count; i++) {
        size_t k = list[i].area;
        if (negligible(&list[left], &out->most[k], task, law, from, k))
            out->aim_of[k] = OUT_OF_REACH;
        else
            left++;
    }
    qsort(list, left, sizeof *list, by_pull);
    for (size_t i = LED_AIMS_MOST; i < left; i++)
        out->aim_of[list[i].area] = UNAIMED;
}

/* Where there are few, all are aimed at. */
static int choose_areas(aims *out, const led_task *task, const rare_law *law, const scouted *from,
                        pappus_outcome outcome, size_t areas, pappus_error *err)
{
    size_t count = 0;
    wanting *list = malloc((areas + 1) * sizeof *list);
    if (!list) return pappus_fail_memory(err);
    for (size_t k = 0; k < areas; k++) {
        out->aim_of[k] = NO_AIM;
        if (task->hits->keep_out[k][outcome] < COUNTED) list[count++].area = k;
    }
    if (count > LED_AIMS_MOST) choose(out, list, count, task, law, from);
    free(list);
    return PAPPUS_OK;
}

static int make_aims(aims *out, const led_task *task, const rare_range *scouts, const scouted *from,
                     pappus_outcome outcome, pappus_error *err)
{
    size_t areas = task->shapes ? task->shapes->keep_out_count : 0;
    out->aims = malloc((LED_AIMS_MOST + 1) * sizeof *out->aims);
    out->aim_of = malloc((areas + 1) * sizeof *out->aim_of);
    out->most = calloc(areas + 1, sizeof *out->most);
    out->landings = calloc(LED_AIMS_MOST + 2, sizeof *out->landings);
    if (!out->aims || !out->aim_of || !out->most || !out->landings) return pappus_fail_memory(err);
    out->landings[SHOTS_PLAIN] = PLAIN * task->effort;
    out->landings[SHOTS_WIDE] = task->wide * task->effort;
    int status = choose_areas(out, task, scouts->law, from, outcome, areas, err);
    for (size_t k = 0; k < areas && status == PAPPUS_OK; k++) {
        if (out->aim_of[k] != NO_AIM || task->hits->keep_out[k][outcome] >= COUNTED) continue;
        rare_aim *aim = &out->aims[out->count];
        status = aim_at(aim, task, scouts, from, k, err);
        out->aim_of[k] = aim->in_reach ? (int)out->count : OUT_OF_REACH;
        out->most[k] = aim->in_reach ? exp(aim->log_chance) : 0.0;
        if (!aim->in_reach) continue;
        out->landings[SHOTS_AIMED + out->count++] = share_of(task, outcome);
    }
    return status;
}

/* ------------------------------------------------------------------- tally */

static bool poor(const pappus_rare_share *share)
{
    return share->hits < FEW_HITS || share->effective < FEW_EFFECTIVE;
}

/* Variance of a part's sum. */
static double part_variance(double sum, double sum2, size_t count)
{
    if (count < 2) return 0.0;
    double n = (double)count;
    return fmax(n / (n - 1.0) * (sum2 - sum * sum / n), 0.0);
}

/* An area's sums over the part that is being looked at, and of squares over all. */
typedef struct {
    size_t part;
    double sum, sum2, all2;
    size_t broad; /* hits that were led to no area */
} running;

static void end_part(led_area *area, running *run, const rare_shots *shots)
{
    size_t count = shots->start[run->part + 1] - shots->start[run->part];
    area->share.value += run->sum;
    area->share.variance += part_variance(run->sum, run->sum2, count);
    run->all2 += run->sum2;
    run->sum = run->sum2 = 0.0;
}

/* Landing i lies on the area. */
static void tally_hit(led_area *area, running *run, const rare_shots *shots, size_t i, bool hurts)
{
    double w = shots->weight[i];
    while (i >= shots->start[run->part + 1]) {
        end_part(area, run, shots);
        run->part++;
    }
    run->broad += run->part < SHOTS_AIMED;
    run->sum += w;
    run->sum2 += w * w;
    area->share.hits++;
    area->share.heaviest = fmax(area->share.heaviest, w);
    if (hurts) area->hurting += w;
    for (int a = 0; a < 2; a++)
        area->x_m[a] += w * shots->x_m[i][a];
}

static void tally_end(led_area *area, running *run, const rare_shots *shots)
{
    pappus_rare_share *share = &area->share;
    end_part(area, run, shots);
    area->value = share->value;
    share->effective = run->all2 > 0.0 ? share->value * share->value / run->all2 : 0.0;
    for (int a = 0; a < 2; a++)
        area->x_m[a] = share->value > 0.0 ? area->x_m[a] / share->value : NAN;
}

/* Only the areas that may hold landing i are asked. */
static int tally_landing(led_outcome *out, running *runs, const led_task *task, size_t i,
                         double mass_kg, pappus_error *err)
{
    const rare_shots *shots = &out->shots;
    const uint32_t *about;
    size_t count =
        pappus_field_shapes_about(&about, task->shapes, shots->east_m[i], shots->north_m[i]);
    bool hurts = led_hurts(mass_kg, (double)shots->speed_mps[i]);
    for (size_t j = 0; j < count; j++) {
        uint32_t k = about[j];
        uint8_t in;
        int status = pappus_containment_test(&in, task->shapes->keep_outs[k], 1, &shots->east_m[i],
                                             &shots->north_m[i], 1, err);
        if (status != PAPPUS_OK) return status;
        if (in) tally_hit(&out->areas[k], &runs[k], shots, i, hurts);
    }
    return PAPPUS_OK;
}

/* The chance that is known of what lies beyond the law's reach is part of every limit.
 * most: what an area that was passed over may have all the same, or one that is foreseen to be
 * all but out of reach and that nothing hits, wherever it is led. What is led to a neighbour
 * spills onto a corner of it, many light hits that tell nothing of the rest: it takes FEW_HITS
 * that were led all round. */
static void judge_share(pappus_rare_share *share, int aim, double most, size_t broad,
                        size_t landings)
{
    bool seen = aim >= 0 || most == 0.0 || broad >= FEW_HITS;
    double beyond = LAW_BEYOND / NO_EVENTS;
    bool unlikely = aim >= 0 && most < UNLIKELY;
    if ((aim == OUT_OF_REACH || unlikely) && share->hits == 0) {
        *share = (pappus_rare_share){.landings = landings, .heaviest = beyond + most / NO_EVENTS};
        return;
    }
    /* hits that were all but certain add nothing that was not expected: of a count by Poisson's
     * law the variance is the sum of the squares, and what one more hit adds counts in full */
    double squares = share->effective > 0.0 ? share->value * share->value / share->effective : 0.0;
    if (squares > 0.0) share->heaviest *= fmin(share->variance / squares, 1.0);
    share->heaviest = fmax(share->heaviest, beyond);
    bool speaks = aim != NO_AIM && seen && !poor(share);
    share->landings = speaks ? landings : 0;
}

static int tally_areas(led_outcome *out, const led_task *task, const aims *aimed, pappus_error *err)
{
    double mass_kg = led_hurting_mass_kg(task->plan);
    const rare_shots *shots = &out->shots;
    running *runs = calloc(out->area_count + 1, sizeof *runs);
    int status = runs ? PAPPUS_OK : pappus_fail_memory(err);
    for (size_t i = 0; i < shots->count && out->area_count > 0 && status == PAPPUS_OK; i++)
        status = tally_landing(out, runs, task, i, mass_kg, err);
    for (size_t k = 0; k < out->area_count && status == PAPPUS_OK; k++) {
        pappus_rare_share *share = &out->areas[k].share;
        tally_end(&out->areas[k], &runs[k], shots);
        judge_share(share, aimed->aim_of[k], aimed->most[k], runs[k].broad, shots->count);
        out->unled += aimed->aim_of[k] == UNAIMED && share->landings == 0;
    }
    free(runs);
    return status;
}

static void tally_all(led_outcome *out, const led_task *task)
{
    double mass_kg = led_hurting_mass_kg(task->plan), sum = 0.0;
    const rare_shots *shots = &out->shots;
    for (size_t i = 0; i < shots->count; i++) {
        sum += shots->weight[i];
        if (led_hurts(mass_kg, (double)shots->speed_mps[i])) out->hurting += shots->weight[i];
        for (int a = 0; a < 2; a++)
            out->mean_x_m[a] += shots->weight[i] * shots->x_m[i][a];
    }
    for (int a = 0; a < 2; a++)
        out->mean_x_m[a] /= sum;
    out->hurting /= sum;
}

/* --------------------------------------------------------------------- fly */

int led_outcome_by_law(led_outcome *out, const led_task *task, const pappus_draws *draws,
                       pappus_outcome outcome, rare_law *law, pappus_error *err)
{
    scouted from = {0};
    aims aimed = {0};
    *out = (led_outcome){.has_law = true,
                         .law = *law,
                         .area_count = task->shapes ? task->shapes->keep_out_count : 0};
    *law = (rare_law){0};
    const size_t part[2] = {0, SCOUTS};
    rare_range range = range_of(task, draws, &out->law, outcome, SCOUT_INDEX);
    out->areas = calloc(out->area_count + 1, sizeof *out->areas);
    int status = out->areas ? scout(&from, &range, part, err) : pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = make_aims(&aimed, task, &range, &from, outcome, err);
    if (status == PAPPUS_OK) {
        range.first_index = LED_INDEX + ((uint64_t)outcome << 32);
        range.aim_count = aimed.count;
        range.aims = aimed.aims;
        status = rare_shots_fly(&out->shots, &range, aimed.landings, err);
    }
    if (status == PAPPUS_OK) status = tally_areas(out, task, &aimed, err);
    if (status == PAPPUS_OK) tally_all(out, task);
    scouted_clear(&from);
    aims_clear(&aimed);
    if (status != PAPPUS_OK) led_outcome_clear(out);
    return status;
}

int led_outcome_fly(led_outcome *out, const led_task *task, const pappus_draws *draws,
                    pappus_outcome outcome, pappus_error *err)
{
    rare_law law;
    *out = (led_outcome){0};
    int status = rare_law_build(&law, task->plan, task->air, outcome, err);
    if (status != PAPPUS_OK || law.profile_count == 0) return status;
    return led_outcome_by_law(out, task, draws, outcome, &law, err);
}

void led_outcome_clear(led_outcome *outcome)
{
    rare_law_clear(&outcome->law);
    rare_shots_clear(&outcome->shots);
    free(outcome->areas);
    *outcome = (led_outcome){0};
}
