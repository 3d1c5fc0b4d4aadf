/* SPDX-License-Identifier: GPL-3.0-or-later
 * The proof of the zones: for each pair of winds of one age, the plan's zone is made from
 * the earlier wind and flights are drawn through the later one, each with its own draws of
 * the rocket; nominal outcome, no gusts. The shares inside are those of all flights; ranks and
 * what lies in the field are the first one's. The pairs are cut in two halves by time. The law
 * of the error is fitted on one half's pairs of this age and tried on the other, both ways,
 * so that no zone has seen what it is tried on; no pair has one foot in each half. (Of
 * this age alone: winds half a day apart differ by the daily cycle as well, which the law
 * does not have.)
 *
 * A flight is inside the contour of p when fewer than p of the zone's landings lie where
 * their leave-one-out density is higher than the flight's: that is how the contours'
 * thresholds are taken (landing/contour.h), without drawing them. Over many pairs this
 * rank is uniform if the zones are true.
 *
 * The later wind is a sounding and not the truth; its own error makes the flights stray a
 * little more than they would. The reading is that wind's lowest level. A flight through
 * the sounding's own mast has no gusts and no eddies. */
#include "proof.h"

#include "density.h"
#include "error.h"
#include "run.h"
#include "uncertain.h"

#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_PAIRS 60   /* of an age that is tried unasked */
#define LOWEST_M 60.0    /* the lowest level must be under this, for the fall to be known */
#define APOGEE_PART 0.95 /* quantile of the apogee that both winds must reach */
#define LANDINGS 2000    /* of a zone: its 99 % contour is then some 20 landings' */
#define SEED_BITS 53

/* --------------------------------------------------------------------- winds */

static int winds_of(pappus_winds *winds, pappus_wind_profile *profile, const pappus_sounding *s,
                    double age_s)
{
    static char path[] = "the archive", format[] = "sounding";
    *profile = (pappus_wind_profile){
        .path = path,
        .format = format,
        .kind = s->issued_utc_s < s->valid_utc_s ? PAPPUS_WIND_FORECAST : PAPPUS_WIND_SOUNDING,
        .station_elevation_msl_m = NAN,
        .station_latitude_deg = NAN,
        .station_longitude_deg = NAN,
        .issued_utc_s = NAN,
        .valid_utc_s = NAN,
        .weight = 1.0,
        .level_count = s->level_count};
    *winds = (pappus_winds){.profile_count = 1, .profiles = profile, .age_s = age_s};
    profile->levels = malloc(s->level_count * sizeof *profile->levels);
    if (!profile->levels) return PAPPUS_E_MEMORY;
    for (size_t i = 0; i < s->level_count; i++)
        profile->levels[i] = (pappus_wind_level){.height_kind = PAPPUS_HEIGHT_AGL,
                                                 .height_m = s->height_m[i],
                                                 .u_mps = s->u_mps[i],
                                                 .v_mps = s->v_mps[i],
                                                 .speed_sd_mps = NAN,
                                                 .temperature_k = NAN,
                                                 .pressure_pa = NAN};
    return PAPPUS_OK;
}

/* The plan's wind without what was measured on its own day. */
static pappus_plan bare_plan(const pappus_plan *plan, double age_s)
{
    pappus_plan out = *plan;
    out.wind.has_surface = false;
    out.wind.observation_count = 0;
    out.wind.gust_mps = NAN;
    out.wind.time_utc_s = NAN;
    out.wind.age_s = age_s;
    return out;
}

static void lay_law(pappus_wind_plan *wind, const pappus_wind_error *law)
{
    wind->error_mps = law->error_mps;
    wind->error_given = true;
    wind->growth_mps = law->growth_mps;
    wind->error_dof = law->dof;
    wind->ground_factor = law->ground_factor;
    wind->top_factor = law->top_factor;
    wind->correlation_growth_m = law->correlation_growth_m;
    wind->correlation_height_m = law->correlation_height_m;
    wind->decoupling = law->decoupling;
    wind->speed_share = law->speed_share;
}

static void lay_reading(pappus_wind_plan *wind, const pappus_sounding *s)
{
    double from = atan2(-s->u_mps[0], -s->v_mps[0]) * 180.0 / M_PI;
    wind->has_surface = true;
    wind->surface.height_m = s->height_m[0];
    wind->surface.speed_mps = hypot(s->u_mps[0], s->v_mps[0]);
    wind->surface.direction_deg = from < 0.0 ? from + 360.0 : from;
}

/* ------------------------------------------------------------- flights, zones */

/* Of each pair, flight and zone one, near ones for no two seeds: the mixing of SplitMix64 (Steele,
 * Lea and Flood, OOPSLA 2014; constants from memory). */
static uint64_t seed_of(const proof_work *work, size_t i, uint64_t which)
{
    uint64_t seed = work->options->run.seed;
    if (seed == PAPPUS_PLAN_SEED) seed = work->plan->seed;
    seed += (2 * (uint64_t)i + which + 1) * UINT64_C(0x9E3779B97F4A7C15);
    seed = (seed ^ seed >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    seed = (seed ^ seed >> 27) * UINT64_C(0x94D049BB133111EB);
    return (seed ^ seed >> 31) >> (64 - SEED_BITS);
}

static size_t landings_of(const proof_work *work)
{
    return work->options->run.landings ? work->options->run.landings : LANDINGS;
}

static int fly(pappus_cloud **out, const pappus_plan *plan, const pappus_sounding *sounding,
               size_t landings, uint64_t seed, pappus_error *err)
{
    const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_winds winds;
    pappus_wind_profile profile;
    pappus_air *air = NULL;
    pappus_log log = {0};
    options.run.landings = landings;
    options.run.seed = seed;
    options.run.threads = 1;
    options.nominal_only = true;
    options.stratum_minimum = 1;
    int status = winds_of(&winds, &profile, sounding, plan->wind.age_s) == PAPPUS_OK
                     ? PAPPUS_OK
                     : pappus_fail_memory(err);
    if (status == PAPPUS_OK) {
        status = pappus_air_build(&air, plan, &winds, &as_read, &log);
        if (status != PAPPUS_OK) pappus_fail_logged(err, status, &log);
    }
    if (status == PAPPUS_OK) status = pappus_scatter(out, plan, air, &options, err);
    pappus_air_free(air);
    pappus_log_clear(&log);
    free(profile.levels);
    return status;
}

/* Flights through a wind without error. */
static int fly_known(pappus_cloud **out, const proof_work *work, const proof_trial *t, size_t i,
                     pappus_error *err)
{
    pappus_plan plan = bare_plan(work->plan, 0.0);
    plan.wind.error_mps = plan.wind.growth_mps = 0.0;
    plan.wind.error_given = true;
    return fly(out, &plan, &work->archive->soundings[t->later], PROOF_FLIGHTS, seed_of(work, i, 0),
               err);
}

/* Share of the zone's landings where their density is higher than at a place. */
static double rank_at(const pappus_density *density, size_t count, double east_m, double north_m)
{
    double here = pappus_grid_at(&density->grid, east_m, north_m);
    size_t higher = 0;
    for (size_t k = 0; k < count; k++)
        higher += density->others_per_m2[k] > here;
    return (double)higher / (double)count;
}

static int rank_flights(proof_outcome *out, int kind, const pappus_cloud *cloud,
                        const pappus_cloud *flights, pappus_error *err)
{
    pappus_strata strata = {0};
    pappus_density density = {0};
    double floor_m = 0.0;
    int status = pappus_strata_build(&strata, cloud, err);
    if (status == PAPPUS_OK)
        status = pappus_density_floor(&floor_m, cloud, &strata, PAPPUS_GRID_FINE, err);
    pappus_sample sample = pappus_strata_outcome(&strata, PAPPUS_NOMINAL);
    if (status == PAPPUS_OK)
        status =
            pappus_density_of_outcome(&density, cloud, &sample, floor_m, PAPPUS_GRID_FINE, err);
    for (size_t f = flights->count; f-- > 0 && status == PAPPUS_OK;) {
        double rank = rank_at(&density, sample.count, flights->east_m[f], flights->north_m[f]);
        for (int l = 0; l < PAPPUS_LEVELS; l++)
            out->held[kind][l] += (rank < pappus_levels[l]) / (double)flights->count;
        out->rank[kind] = rank;
    }
    pappus_density_clear(&density);
    pappus_strata_clear(&strata);
    return status;
}

/* Share of the landings in the field. */
static int said_of(double *out, const pappus_containment *boundary, const pappus_cloud *cloud,
                   pappus_error *err)
{
    size_t inside = 0;
    uint8_t *in = malloc(cloud->count);
    if (!in) return pappus_fail_memory(err);
    int status =
        pappus_containment_test(in, boundary, cloud->count, cloud->east_m, cloud->north_m, 1, err);
    for (size_t i = 0; i < cloud->count && status == PAPPUS_OK; i++)
        inside += in[i];
    *out = (double)inside / (double)cloud->count;
    free(in);
    return status;
}

static int try_zone(proof_outcome *out, const proof_work *work, const proof_trial *t, size_t i,
                    int kind, const pappus_cloud *flights, pappus_error *err)
{
    const pappus_sounding *earlier = &work->archive->soundings[t->earlier];
    pappus_plan plan = bare_plan(work->plan, 3600.0 * t->age_h);
    pappus_wind_error law = pappus_fit_law(&work->halves[1 - t->half]);
    pappus_cloud *cloud = NULL;
    if (!(kind & AS_PLANNED)) lay_law(&plan.wind, &law);
    if (kind & WITH_READING) lay_reading(&plan.wind, &work->archive->soundings[t->later]);
    int status = fly(&cloud, &plan, earlier, landings_of(work), seed_of(work, i, 1), err);
    if (status == PAPPUS_OK) status = rank_flights(out, kind, cloud, flights, err);
    if (status == PAPPUS_OK && kind == 0 && work->boundary)
        status = said_of(&out->said, work->boundary, cloud, err);
    pappus_cloud_free(cloud);
    return status;
}

static bool is_known(const pappus_sounding *s, double apogee_m)
{
    double u, v;
    if (s->height_m[0] > LOWEST_M) return false;
    for (int j = 1; j < PAPPUS_GRID_HEIGHTS && pappus_grid_heights_m[j] < apogee_m; j++)
        if (!pappus_sounding_at(&u, &v, s, pappus_grid_heights_m[j], PAPPUS_WIDE_GAPS))
            return false;
    return pappus_sounding_at(&u, &v, s, apogee_m, PAPPUS_WIDE_GAPS);
}

static int try_pair(proof_work *work, size_t i, pappus_error *err)
{
    const proof_trial *t = &work->trials[i];
    proof_outcome *out = &work->outcomes[i];
    pappus_cloud *flights = NULL;
    uint8_t in = 0;
    double apogee = pappus_uncertain_quantile(work->plan->apogee.height_m, APOGEE_PART);
    out->known = is_known(&work->archive->soundings[t->earlier], apogee) &&
                 is_known(&work->archive->soundings[t->later], apogee);
    if (!out->known) return PAPPUS_OK;
    int status = fly_known(&flights, work, t, i, err);
    for (int kind = 0; kind < ZONES && status == PAPPUS_OK; kind++)
        status = try_zone(out, work, t, i, kind, flights, err);
    if (status == PAPPUS_OK && work->boundary)
        status = pappus_containment_test(&in, work->boundary, 1, flights->east_m, flights->north_m,
                                         1, err);
    out->inside = in;
    pappus_cloud_free(flights);
    return status;
}

/* A pair's outcome depends on nothing but the pair: the same on any number of threads. */
static void try_pairs(proof_work *work)
{
    const pappus_run *run = &work->options->run;
#pragma omp parallel for schedule(dynamic) num_threads(pappus_threads(run->threads))
    for (size_t i = 0; i < work->count; i++) {
        pappus_error error = {0};
        int status;
        size_t done;
#pragma omp atomic read
        status = work->status;
        if (status != PAPPUS_OK) continue;
        status = try_pair(work, i, &error);
#pragma omp atomic capture
        done = ++work->done;
        if (status == PAPPUS_OK && run->progress && omp_get_thread_num() == 0 &&
            run->progress(run->progress_context, (double)done / (double)work->count))
            status = pappus_fail(&error, PAPPUS_E_STOPPED, NULL, NULL, NULL,
                                 "stopped while trying the zones");
        if (status == PAPPUS_OK) continue;
#pragma omp critical(pappus_proof_status)
        if (work->status == PAPPUS_OK) {
            work->error = error;
#pragma omp atomic write
            work->status = status;
        }
    }
}

/* --------------------------------------------------------------------- halves */

/* The age asked for, else the youngest with enough pairs, else that with most. */
static int choose_age(const pappus_pairs *pairs, double asked_h)
{
    size_t count[PAPPUS_AGES] = {0};
    int most = 0;
    if (!isnan(asked_h)) return pappus_age_of(asked_h);
    for (size_t i = 0; i < pairs->count; i++)
        count[pairs->pairs[i].age]++;
    for (int a = 0; a < PAPPUS_AGES; a++) {
        if (count[a] >= LEAST_PAIRS) return a;
        if (count[a] > count[most]) most = a;
    }
    return most;
}

static int by_number(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

/* Middle time of the pairs of an age. */
static int find_middle(double *out, const proof_work *work, const pappus_pairs *pairs, int age)
{
    size_t n = 0;
    double *times = malloc((pairs->count + 1) * sizeof *times);
    if (!times) return PAPPUS_E_MEMORY;
    for (size_t i = 0; i < pairs->count; i++)
        if (pairs->pairs[i].age == age)
            times[n++] = work->archive->soundings[pairs->pairs[i].later].valid_utc_s;
    if (n) qsort(times, n, sizeof *times, by_number);
    *out = n ? times[n / 2] : NAN;
    free(times);
    return PAPPUS_OK;
}

static int add_trials(proof_work *work, const pappus_pairs *pairs, int age, int half)
{
    size_t more = 0;
    for (size_t i = 0; i < pairs->count; i++)
        more += pairs->pairs[i].age == age;
    proof_trial *larger = realloc(work->trials, (work->count + more + 1) * sizeof *larger);
    if (!larger) return PAPPUS_E_MEMORY;
    work->trials = larger;
    for (size_t i = 0; i < pairs->count; i++) {
        const pappus_pair *p = &pairs->pairs[i];
        if (p->age == age)
            larger[work->count++] = (proof_trial){p->earlier, p->later, p->age_h, p->day, half};
    }
    return PAPPUS_OK;
}

/* Fits each half, and takes its pairs for trial. */
static int halve(proof_work *work, pappus_proof *out, const pappus_pairs *all, pappus_error *err)
{
    double middle;
    int age = choose_age(all, work->options->choice.age_h), status = PAPPUS_OK;
    if (age < 0)
        return pappus_fail(err, PAPPUS_E_USAGE, NULL, "age", NULL,
                           "accepted are 1, 2, 3, 6, 9, 12, 18, 24, 36 and 48 h");
    out->age_h = pappus_ages_h[age];
    if (find_middle(&middle, work, all, age) != PAPPUS_OK) return pappus_fail_memory(err);
    for (int half = 0; half < 2 && status == PAPPUS_OK; half++) {
        pappus_skill_options choice = work->options->choice;
        pappus_pairs pairs;
        if (half == 0)
            choice.to_utc_s = fmin(choice.to_utc_s, middle);
        else
            choice.from_utc_s = fmax(choice.from_utc_s, middle);
        status = pappus_pairs_form(&pairs, work->archive, &choice, err);
        if (status != PAPPUS_OK) return status;
        status = pappus_fit_model(&out->halves[half], &pairs, age, err);
        if (status == PAPPUS_OK && add_trials(work, &pairs, age, half) != PAPPUS_OK)
            status = pappus_fail_memory(err);
        pappus_pairs_clear(&pairs);
    }
    return status;
}

static int prove(proof_work *work, pappus_proof *out, pappus_error *err)
{
    pappus_pairs all;
    int status = pappus_pairs_form(&all, work->archive, &work->options->choice, err);
    if (status != PAPPUS_OK) return status;
    status = halve(work, out, &all, err);
    pappus_pairs_clear(&all);
    if (status != PAPPUS_OK) return status;
    work->halves = out->halves;
    work->outcomes = calloc(work->count + 1, sizeof *work->outcomes);
    out->coverage = calloc(ZONES * PAPPUS_LEVELS, sizeof *out->coverage);
    out->reliability = calloc(RELIABILITY_BINS, sizeof *out->reliability);
    if (!work->outcomes || !out->coverage || !out->reliability) return pappus_fail_memory(err);
    try_pairs(work);
    if (work->status != PAPPUS_OK) {
        if (err) *err = work->error;
        return work->status;
    }
    return proof_count(out, work, err);
}

int pappus_skill_prove(pappus_proof **out, const pappus_archive *archive, const pappus_plan *plan,
                       const pappus_field *field, const pappus_proof_options *options,
                       pappus_error *err)
{
    proof_work work = {.archive = archive, .plan = plan, .options = options};
    pappus_proof *proof = calloc(1, sizeof *proof);
    int status = proof ? PAPPUS_OK : pappus_fail_memory(err);
    *out = NULL;
    if (status == PAPPUS_OK && field && field->has_boundary)
        status = pappus_containment_new(&work.boundary, &field->boundary, err);
    if (status == PAPPUS_OK) status = prove(&work, proof, err);
    pappus_containment_free(work.boundary);
    free(work.trials);
    free(work.outcomes);
    if (status == PAPPUS_OK)
        *out = proof;
    else
        pappus_proof_free(proof);
    return status;
}

void pappus_proof_free(pappus_proof *proof)
{
    if (!proof) return;
    free(proof->coverage);
    free(proof->reliability);
    free(proof);
}
