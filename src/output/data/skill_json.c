/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was measured of the wind's error as JSON (RFC 8259), and the fit as a fragment of
 * a plan: every fitted value under the plan's own key, so that a plan takes it by `base`. */
#include <pappus/skill.h>

#include "c_locale.h"
#include "error.h"
#include "json_build.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>

static void add_time(json_builder *build, cJSON *to, const char *key, double utc_s)
{
    char text[40];
    pappus_time_format(text, sizeof text, utc_s);
    json_add_text(build, to, key, text);
}

static void add_estimate(json_builder *build, cJSON *to, const char *key, pappus_estimate e)
{
    cJSON *at = json_add_object(build, to, key);
    json_add_number(build, at, "value", e.value);
    json_add_number(build, at, "low", e.low);
    json_add_number(build, at, "high", e.high);
}

static void add_fit(json_builder *build, cJSON *to, const pappus_skill_fit *fit)
{
    add_estimate(build, to, "error_mps", fit->error_mps);
    add_estimate(build, to, "growth_mps", fit->growth_mps);
    add_estimate(build, to, "error_dof", fit->error_dof);
    add_estimate(build, to, "correlation_growth_m", fit->correlation_growth_m);
    add_estimate(build, to, "ground_factor", fit->ground_factor);
    add_estimate(build, to, "top_factor", fit->top_factor);
    add_estimate(build, to, "decoupling", fit->decoupling);
    add_estimate(build, to, "speed_share", fit->speed_share);
    json_add_count(build, to, "pairs", fit->pairs);
    json_add_count(build, to, "days", fit->days);
}

static void add_lengths(json_builder *build, cJSON *to, const pappus_skill *skill)
{
    cJSON *list = json_add_array(build, to, "correlation");
    for (size_t i = 0; i < skill->length_count; i++) {
        const pappus_skill_length *l = &skill->lengths[i];
        cJSON *at = json_append_object(build, list);
        json_add_number(build, at, "age_h", l->age_h);
        add_estimate(build, at, "length_m", l->length_m);
        json_add_number(build, at, "model_m", l->model_m);
        json_add_count(build, at, "pairs", l->pairs);
    }
}

static void add_rows(json_builder *build, cJSON *to, const pappus_skill *skill)
{
    cJSON *list = json_add_array(build, to, "by_age");
    for (size_t i = 0; i < skill->row_count; i++) {
        const pappus_skill_row *r = &skill->rows[i];
        cJSON *at = json_append_object(build, list);
        json_add_number(build, at, "age_h", r->age_h);
        json_add_number(build, at, "from_m", r->from_m);
        json_add_number(build, at, "to_m", r->to_m);
        json_add_number(build, at, "rms_mps", r->rms_mps);
        json_add_number(build, at, "model_mps", r->model_mps);
        json_add_count(build, at, "pairs", r->pairs);
    }
}

static void add_shapes(json_builder *build, cJSON *to, const pappus_skill *skill)
{
    cJSON *list = json_add_array(build, to, "by_height");
    for (size_t i = 0; i < skill->height_count; i++) {
        cJSON *at = json_append_object(build, list);
        json_add_number(build, at, "height_m", skill->heights[i].height_m);
        json_add_number(build, at, "factor", skill->heights[i].measured);
        json_add_number(build, at, "model", skill->heights[i].model);
        json_add_count(build, at, "pairs", skill->heights[i].pairs);
    }
    list = json_add_array(build, to, "by_distance");
    for (size_t i = 0; i < skill->correlation_count; i++) {
        cJSON *at = json_append_object(build, list);
        json_add_number(build, at, "age_h", skill->correlations[i].age_h);
        json_add_number(build, at, "distance_m", skill->correlations[i].distance_m);
        json_add_number(build, at, "correlation", skill->correlations[i].measured);
        json_add_number(build, at, "model", skill->correlations[i].model);
        json_add_count(build, at, "pairs", skill->correlations[i].pairs);
    }
    list = json_add_array(build, to, "tails");
    for (size_t i = 0; i < skill->tail_count; i++) {
        cJSON *at = json_append_object(build, list);
        json_add_number(build, at, "level", skill->tails[i].level);
        json_add_number(build, at, "student", skill->tails[i].student);
        json_add_number(build, at, "normal", skill->tails[i].normal);
    }
}

static void add_skipped(json_builder *build, cJSON *to, const pappus_archive *archive)
{
    cJSON *list = json_add_array(build, to, "skipped");
    for (int i = 0; i < PAPPUS_SKIPS; i++) {
        if (archive->skipped[i] == 0) continue;
        cJSON *at = json_append_object(build, list);
        json_add_text(build, at, "what", pappus_skip_text((pappus_skip)i));
        json_add_count(build, at, "count", archive->skipped[i]);
    }
}

/* Of the learned law, or of the plan's own values. */
static void add_coverage(json_builder *build, cJSON *to, const char *key, const pappus_proof *proof,
                         bool learned)
{
    cJSON *list = json_add_array(build, to, key);
    for (size_t i = 0; proof && i < proof->coverage_count; i++) {
        const pappus_skill_coverage *c = &proof->coverage[i];
        if (c->learned != learned) continue;
        cJSON *at = json_append_object(build, list);
        json_add_number(build, at, "level", c->level);
        json_add_number(build, at, "share", c->share.value);
        json_add_number(build, at, "low", c->share.low);
        json_add_number(build, at, "high", c->share.high);
        json_add_count(build, at, "pairs", c->pairs);
        json_add_bool(build, at, "reading", c->reading);
    }
}

static void add_ranks(json_builder *build, cJSON *to, const pappus_proof *proof)
{
    cJSON *list = json_add_array(build, to, "ranks");
    for (int reading = 0; reading < 2; reading++) {
        cJSON *at = json_append_object(build, list);
        json_add_bool(build, at, "reading", reading);
        cJSON *counts = json_add_array(build, at, "counts");
        for (int b = 0; b < PAPPUS_SKILL_RANKS; b++)
            json_append_number(build, counts, (double)proof->ranks[reading][b]);
    }
}

static void add_proof(json_builder *build, cJSON *to, const pappus_proof *proof)
{
    cJSON *at = json_add_object(build, to, "proof");
    json_add_number(build, at, "age_h", proof->age_h);
    json_add_count(build, at, "pairs", proof->pairs);
    json_add_count(build, at, "sparse", proof->sparse);
    cJSON *halves = json_add_array(build, at, "halves");
    for (int h = 0; h < 2; h++)
        add_fit(build, json_append_object(build, halves), &proof->halves[h]);
    add_ranks(build, at, proof);
    cJSON *list = json_add_array(build, at, "reliability");
    for (size_t i = 0; i < proof->reliability_count; i++) {
        const pappus_skill_reliability *r = &proof->reliability[i];
        cJSON *bin = json_append_object(build, list);
        json_add_number(build, bin, "from", r->from);
        json_add_number(build, bin, "to", r->to);
        json_add_number(build, bin, "said", r->said);
        add_estimate(build, bin, "inside", r->inside);
        json_add_count(build, bin, "pairs", r->pairs);
    }
    json_add_count(build, at, "go", proof->go);
    json_add_count(build, at, "go_outside", proof->go_outside);
}

static cJSON *skill_tree(json_builder *build, const pappus_archive *archive,
                         const pappus_skill *skill, const pappus_proof *proof)
{
    cJSON *root = cJSON_CreateObject();
    json_add_text(build, root, "station", archive->station);
    json_add_text(build, root, "kind", skill->forecasts ? "forecast" : "sounding");
    add_time(build, root, "from", skill->first_utc_s);
    add_time(build, root, "to", skill->last_utc_s);
    json_add_count(build, root, "soundings", skill->sounding_count);
    json_add_count(build, root, "pairs", skill->pair_count);
    cJSON *fit = json_add_object(build, root, "fit");
    add_fit(build, fit, &skill->fit);
    add_lengths(build, fit, skill);
    add_rows(build, root, skill);
    add_shapes(build, root, skill);
    json_add_count(build, root, "sparse", skill->sparse_count);
    add_skipped(build, root, archive);
    add_coverage(build, root, "coverage", proof, true);
    add_coverage(build, root, "coverage_as_planned", proof, false);
    if (proof)
        add_proof(build, root, proof);
    else
        json_add_null(build, root, "proof");
    return root;
}

int pappus_skill_json_text(char **out, const pappus_archive *archive, const pappus_skill *skill,
                           const pappus_proof *proof, pappus_error *err)
{
    pappus_locale locale;
    json_builder build = {false};
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = json_finish(out, &build, skill_tree(&build, archive, skill, proof), err);
    pappus_locale_leave(&locale);
    return status;
}

/* -------------------------------------------------------------- plan fragment */

static void add_quantity(json_builder *build, cJSON *to, const char *key, double value,
                         int decimals, const char *unit)
{
    char text[40];
    snprintf(text, sizeof text, "%.*f %s", decimals, value, unit);
    json_add_text(build, to, key, text);
}

/* What a few odd days say may lie where the plan's key does not go. */
static double rounded(double value, double least, double most)
{
    return round(100.0 * fmin(fmax(value, least), most)) / 100.0;
}

static void add_source(json_builder *build, cJSON *wind, const pappus_archive *archive,
                       const pappus_skill *skill)
{
    char text[200], from[40], to[40];
    pappus_time_format(from, sizeof from, skill->first_utc_s);
    pappus_time_format(to, sizeof to, skill->last_utc_s);
    snprintf(text, sizeof text, "pappus skill, %zu pairs of %s%s%s, %.10s to %.10s",
             skill->fit.pairs, skill->forecasts ? "forecasts with soundings" : "soundings",
             archive->station[0] ? " of " : "", archive->station, from, to);
    json_add_text(build, wind, "learned_from", text);
}

int pappus_skill_plan_text(char **out, const pappus_archive *archive, const pappus_skill *skill,
                           pappus_error *err)
{
    pappus_locale locale;
    json_builder build = {false};
    const pappus_skill_fit *fit = &skill->fit;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *root = cJSON_CreateObject();
    cJSON *wind = json_add_object(&build, root, "wind");
    add_source(&build, wind, archive, skill);
    add_quantity(&build, wind, "error", fit->error_mps.value, 2, "m/s");
    add_quantity(&build, wind, "growth", fit->growth_mps.value, 2, "m/s");
    json_add_number(&build, wind, "error_dof", rounded(fit->error_dof.value, 2.1, 1e9));
    json_add_number(&build, wind, "ground_factor", rounded(fit->ground_factor.value, 0.05, 3.0));
    json_add_number(&build, wind, "top_factor", rounded(fit->top_factor.value, 0.05, 5.0));
    json_add_number(&build, wind, "decoupling", rounded(fit->decoupling.value, 0.0, 3.0));
    json_add_number(&build, wind, "speed_share", rounded(fit->speed_share.value, 0.0, 0.95));
    add_quantity(&build, wind, "correlation_growth", fit->correlation_growth_m.value, 0, "m");
    int status = json_finish(out, &build, root, err);
    pappus_locale_leave(&locale);
    return status;
}
