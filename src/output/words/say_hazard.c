/* SPDX-License-Identifier: GPL-3.0-or-later
 * How rare it is that something comes down on each keep-out area, what that rests on, and
 * where not to stand. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "say.h"

#define RARE_SIZE 240
#define RAREST 1e-9 /* what is rarer is not told apart */

/* Two digits: "300 000", with a space between thousands. */
static void round_number(char *out, size_t size, double value)
{
    double step = pow(10.0, floor(log10(value)) - 1.0);
    char digits[40];
    snprintf(digits, sizeof digits, "%.0f", round(value / step) * step);
    size_t length = strlen(digits), used = 0;
    for (size_t i = 0; i < length && used + 2 < size; i++) {
        if (i > 0 && (length - i) % 3 == 0) out[used++] = ' ';
        out[used++] = digits[i];
    }
    out[used] = '\0';
}

/* "once in 300 000 flights". */
static const char *rarity(char out[RARE_SIZE], double chance)
{
    char count[60];
    if (!(chance >= RAREST)) {
        snprintf(out, RARE_SIZE, "less than once in 1 000 000 000 flights");
    } else if (chance >= 0.1) {
        pappus_format_chance(count, sizeof count, chance);
        snprintf(out, RARE_SIZE, "in %s of flights", count);
    } else {
        round_number(count, sizeof count, 1.0 / chance);
        snprintf(out, RARE_SIZE, "once in %s flights", count);
    }
    return out;
}

/* What nothing is known to come down on is no rarer than is known of it. */
static const char *rarity_of_area(char out[RARE_SIZE], const sayer *s, size_t k)
{
    char count[60];
    const pappus_hits *hits = s->answer->hits;
    double chance = s->answer->hazard->risks[k].chance;
    if (chance >= RAREST || !hits) return rarity(out, chance);
    double high = pappus_hits_keep_out(hits, k, 0.95).high;
    if (!(high >= RAREST)) return rarity(out, chance);
    round_number(count, sizeof count, 1.0 / high);
    snprintf(out, RARE_SIZE, "less than once in %s flights", count);
    return out;
}

static const char *const fault_words[PAPPUS_FAULTS] = {
    [PAPPUS_FAULT_ALTIMETERS] = "an altimeter does not work",
    [PAPPUS_FAULT_NO_POWER] = "the electronics have no power",
    [PAPPUS_FAULT_DROGUE_FAILS] = "the drogue fails",
    [PAPPUS_FAULT_MAIN_FAILS] = "the main fails",
    [PAPPUS_FAULT_MAIN_EARLY] = "the main comes out early",
};

static const char *wind_words(char out[RARE_SIZE], const sayer *s, const pappus_risk *risk)
{
    char speed[PAPPUS_TEXT_SIZE], usual[PAPPUS_TEXT_SIZE];
    out[0] = '\0';
    if (isnan(risk->wind_mps) || isnan(risk->usual_mps)) return out;
    pappus_format(speed, sizeof speed, PAPPUS_SHOW_WIND, risk->wind_mps, s->units);
    pappus_format(usual, sizeof usual, PAPPUS_SHOW_WIND, risk->usual_mps, s->units);
    snprintf(out, RARE_SIZE, ", in a mean wind of %s from %.0f deg (expected %s from %.0f deg)",
             speed, risk->wind_from_deg, usual, risk->usual_from_deg);
    return out;
}

static const char *fault_text(char out[3 * RARE_SIZE], const pappus_risk *risk)
{
    char half[RARE_SIZE], twice[RARE_SIZE];
    out[0] = '\0';
    if ((unsigned)risk->fault >= PAPPUS_FAULTS || !(risk->chance >= RAREST)) return out;
    snprintf(out, 3 * RARE_SIZE, " If %s twice as often as assumed: %s; half as often: %s.",
             fault_words[risk->fault], rarity(twice, risk->doubled), rarity(half, risk->halved));
    return out;
}

static void put_risk(sayer *s, size_t k)
{
    const pappus_risk *risk = &s->answer->hazard->risks[k];
    const char *name = s->answer->field->keep_outs[k].name;
    char rare[RARE_SIZE], wind[RARE_SIZE], fault[3 * RARE_SIZE], share[PAPPUS_TEXT_SIZE];
    statement *it = say(s, SAY_RISK, SAY_PLAIN, k);
    rarity_of_area(rare, s, k);
    it->lead = say_words(s, "%s: ", name);
    it->strong = say_words(s, "%s", rare);
    it->brief = say_words(s, "%s: %s", name, rare);
    say_value(it, "chance", PAPPUS_SHOW_CHANCE, risk->chance);
    if (!(risk->chance >= RAREST)) return;
    pappus_format_chance(share, sizeof share, risk->outcome_share);
    it->full = say_words(s, ". %s of that is of the outcome \"%s\"%s.%s", share,
                         pappus_outcome_text(risk->outcome), wind_words(wind, s, risk),
                         fault_text(fault, risk));
}

static void put_casualties(sayer *s)
{
    const pappus_hazard *hazard = s->answer->hazard;
    char rare[RARE_SIZE];
    if (isnan(hazard->casualties)) return;
    statement *it = say(s, SAY_RISK_NOTE, SAY_PLAIN, 0);
    it->full = say_words(s,
                         "A person on these areas is hit %s, all persons together, spread evenly "
                         "and standing still.",
                         rarity(rare, hazard->casualties));
}

static void put_field(sayer *s)
{
    const pappus_hazard *hazard = s->answer->hazard;
    char energy[PAPPUS_TEXT_SIZE], rare[RARE_SIZE];
    if (hazard->contour_count == 0) return;
    pappus_format(energy, sizeof energy, PAPPUS_SHOW_ENERGY, PAPPUS_HURTS_J, s->units);
    statement *it = say(s, SAY_RISK_NOTE, SAY_PLAIN, 1);
    it->full = say_words(s,
                         "A person at the worst place is hit %s: by a touchdown of over %s (from "
                         "memory of RCC 321, not re-read) on 4 m2 (assumed).",
                         rarity(rare, hazard->highest), energy);
}

void say_hazard(sayer *s)
{
    const pappus_hazard *hazard = s->answer->hazard;
    if (!hazard) return;
    for (size_t k = 0; k < hazard->area_count; k++)
        put_risk(s, k);
    put_casualties(s);
    put_field(s);
    statement *it = say(s, SAY_RISK_NOTE, SAY_PLAIN, 2);
    it->full = say_words(
        s, "These chances are no better than the fault rates and the wind's error that they rest "
           "on. They permit nothing: local codes, the range safety officer and an experienced "
           "mentor stand above them.");
    if (hazard->failed)
        say(s, SAY_RISK_NOTE, SAY_OPEN, 3)->full = say_words(
            s,
            "Some landings could not be led so far out; of those only what was counted is told.");
    if (hazard->unled > 0)
        say(s, SAY_RISK_NOTE, SAY_OPEN, 4)->full = say_words(
            s,
            "There are too many keep-out areas to lead landings to each: of up to %zu of them, for "
            "some outcomes, only what was counted is told.",
            hazard->unled);
}
