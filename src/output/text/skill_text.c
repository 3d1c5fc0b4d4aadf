/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was measured of the wind's error as plain text: the fit, the measured beside the
 * model by age and height, and how the plan's zones held. For eyes: figures are rounded. */
#include <pappus/skill.h>

#include "c_locale.h"
#include "error.h"
#include "format.h"
#include "timestamp.h"
#include "writer.h"

#include <math.h>

static double wind_of(double mps, pappus_unit_system units)
{
    return pappus_quantity_value(PAPPUS_SHOW_WIND, mps, units);
}

static double height_of(double m, pappus_unit_system units)
{
    return pappus_quantity_value(PAPPUS_SHOW_HEIGHT, m, units);
}

static void write_head(FILE *stream, const pappus_archive *archive, const pappus_skill *skill)
{
    char from[40], to[40];
    pappus_time_format(from, sizeof from, skill->first_utc_s);
    pappus_time_format(to, sizeof to, skill->last_utc_s);
    fprintf(stream, "How far earlier winds were from later ones\n");
    if (archive->station[0]) fprintf(stream, "station %s, ", archive->station);
    fprintf(stream, "%.10s to %.10s: %zu winds, %zu pairs of %s\n", from, to, skill->sounding_count,
            skill->pair_count, skill->forecasts ? "forecasts with soundings" : "soundings");
    for (int i = 0; i < PAPPUS_SKIPS; i++)
        if (archive->skipped[i] > 0)
            fprintf(stream, "left out: %zu %s\n", archive->skipped[i],
                    pappus_skip_text((pappus_skip)i));
    if (skill->sparse_count > 0)
        fprintf(stream, "left out: %zu winds without levels near any height\n",
                skill->sparse_count);
}

static void write_value(FILE *stream, const char *key, pappus_estimate e, int decimals,
                        const char *unit, const char *what)
{
    fprintf(stream, "  %-19s %6.*f %-4s(%.*f to %.*f)  %s\n", key, decimals, e.value, unit,
            decimals, e.low, decimals, e.high, what);
}

static pappus_estimate shown(pappus_estimate e, pappus_quantity quantity, pappus_unit_system units)
{
    return (pappus_estimate){pappus_quantity_value(quantity, e.value, units),
                             pappus_quantity_value(quantity, e.low, units),
                             pappus_quantity_value(quantity, e.high, units)};
}

static void write_fit(FILE *stream, const pappus_skill_fit *fit, pappus_unit_system units)
{
    const char *wind = pappus_quantity_unit(PAPPUS_SHOW_WIND, units);
    const char *height = pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, units);
    fprintf(stream,
            "\nThe plan's keys under wind, with their 95 %% intervals, from %zu pairs on "
            "%zu days\n",
            fit->pairs, fit->days);
    write_value(stream, "error", shown(fit->error_mps, PAPPUS_SHOW_WIND, units), 2, wind,
                "when fresh");
    write_value(stream, "growth", shown(fit->growth_mps, PAPPUS_SHOW_WIND, units), 2, wind,
                "at one hour, by the cube root of age");
    write_value(stream, "error_dof", fit->error_dof, 1, "", "tails; 8 is heavy, 500 is normal");
    write_value(stream, "ground_factor", fit->ground_factor, 2, "", "at the ground");
    write_value(stream, "top_factor", fit->top_factor, 2, "", "at 4500 m and over");
    write_value(stream, "decoupling", fit->decoupling, 2, "", "of the ground from the wind aloft");
    write_value(stream, "speed_share", fit->speed_share, 2, "", "of growth with the wind aloft");
    write_value(stream, "correlation_growth",
                shown(fit->correlation_growth_m, PAPPUS_SHOW_HEIGHT, units), 0, height,
                "at one hour, by the square root of age");
}

static void write_rows(FILE *stream, const pappus_skill *skill, pappus_unit_system units)
{
    fprintf(stream, "\nChange of a component, root mean square in %s\n",
            pappus_quantity_unit(PAPPUS_SHOW_WIND, units));
    fprintf(stream, "  age    height, %-8s  measured  model   pairs\n",
            pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, units));
    for (size_t i = 0; i < skill->row_count; i++) {
        const pappus_skill_row *r = &skill->rows[i];
        fprintf(stream, "%3.0f h  %6.0f to %6.0f   %8.1f %6.1f %7zu\n", r->age_h,
                height_of(r->from_m, units), height_of(r->to_m, units), wind_of(r->rms_mps, units),
                wind_of(r->model_mps, units), r->pairs);
    }
}

static void write_shapes(FILE *stream, const pappus_skill *skill, pappus_unit_system units)
{
    const char *unit = pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, units);
    fprintf(stream,
            "\nCorrelation length over height, %s\n  age    measured           model   "
            "pairs\n",
            unit);
    for (size_t i = 0; i < skill->length_count; i++) {
        const pappus_skill_length *l = &skill->lengths[i];
        fprintf(stream, "%3.0f h  %6.0f (%.0f to %.0f)  %6.0f %7zu\n", l->age_h,
                height_of(l->length_m.value, units), height_of(l->length_m.low, units),
                height_of(l->length_m.high, units), height_of(l->model_m, units), l->pairs);
    }
    fprintf(stream, "\nOver the middle's, by height (%s)\n  height  measured  model\n", unit);
    for (size_t i = 0; i < skill->height_count; i++)
        fprintf(stream, "%8.0f  %8.2f %6.2f\n", height_of(skill->heights[i].height_m, units),
                skill->heights[i].measured, skill->heights[i].model);
    fprintf(stream, "\nTails: what is meant to hold  this law holds  a normal law\n");
    for (size_t i = 0; i < skill->tail_count; i++)
        fprintf(stream, "%25.0f %% %13.1f %% %11.1f %%\n", 100.0 * skill->tails[i].level,
                100.0 * skill->tails[i].student, 100.0 * skill->tails[i].normal);
}

static void write_coverage(FILE *stream, const pappus_proof *proof)
{
    for (size_t i = 0; i < proof->coverage_count; i++) {
        const pappus_skill_coverage *c = &proof->coverage[i];
        if (i % PAPPUS_LEVELS == 0)
            fprintf(stream, "  %s, %s\n", c->learned ? "learned on the other half" : "as planned",
                    c->reading ? "with the surface reading" : "without a reading");
        fprintf(stream, "    %3.0f %% held %5.1f %%  (%.1f to %.1f)\n", 100.0 * c->level,
                100.0 * c->share.value, 100.0 * c->share.low, 100.0 * c->share.high);
    }
}

static void write_proof(FILE *stream, const pappus_proof *proof)
{
    fprintf(stream,
            "\nThe plan's zones from a wind %.0f h old, against %zu flights through the "
            "wind that came\n",
            proof->age_h, proof->pairs);
    if (proof->sparse > 0)
        fprintf(stream,
                "left out: %zu pairs with a wind that is not known from the ground to the "
                "apogee\n",
                proof->sparse);
    write_coverage(stream, proof);
    for (int reading = 0; reading < 2; reading++) {
        fprintf(stream, "  ranks%s:", reading ? " with the reading" : "");
        for (int b = 0; b < PAPPUS_SKILL_RANKS; b++)
            fprintf(stream, " %zu", proof->ranks[reading][b]);
        fputc('\n', stream);
    }
    for (size_t i = 0; i < proof->reliability_count; i++) {
        const pappus_skill_reliability *r = &proof->reliability[i];
        if (r->pairs == 0) continue;
        fprintf(stream, "  chance inside the field %.1f %%: %.1f %% were (%.1f to %.1f) of %zu\n",
                100.0 * r->said, 100.0 * r->inside.value, 100.0 * r->inside.low,
                100.0 * r->inside.high, r->pairs);
    }
    if (proof->reliability_count > 0)
        fprintf(stream, "  go by the field alone: %zu; of them came down outside: %zu\n", proof->go,
                proof->go_outside);
}

int pappus_skill_text(char **out, const pappus_archive *archive, const pappus_skill *skill,
                      const pappus_proof *proof, pappus_unit_system units, pappus_error *err)
{
    pappus_locale locale;
    pappus_text text;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = pappus_text_begin(&text, err);
    if (status == PAPPUS_OK) {
        write_head(text.stream, archive, skill);
        write_fit(text.stream, &skill->fit, units);
        write_rows(text.stream, skill, units);
        write_shapes(text.stream, skill, units);
        if (proof) write_proof(text.stream, proof);
        status = pappus_text_finish(&text, err);
    }
    pappus_locale_leave(&locale);
    if (status != PAPPUS_OK) return status;
    pappus_text_tame(text.bytes, '\n');
    *out = text.bytes;
    return PAPPUS_OK;
}
