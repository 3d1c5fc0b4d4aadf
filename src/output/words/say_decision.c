/* SPDX-License-Identifier: GPL-3.0-or-later
 * The decision and its reasons: what is in the way of a go, or without that the limits
 * that come nearest to it. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "say.h"

#define TIGHTEST 2 /* told first when all is met */

static void put_decision(sayer *s, say_kind kind, pappus_decision decision)
{
    statement *it = say(s, kind, (say_tone)decision, 0);
    it->about = pappus_decision_text(decision);
    it->strong = say_words(s, "%s", pappus_decision_shout(decision));
    if (decision != PAPPUS_NOT_DECIDED) return;
    it->brief = say_words(s, "treat as no-go");
    it->full = say_words(s, "Treat as no-go");
}

/* The limit is on the vertical speed; what the drift adds is told beside it. */
static char *total_energy(char out[PAPPUS_TEXT_SIZE], const sayer *s, const pappus_reason *reason)
{
    const pappus_rocket *rocket = &s->answer->plan->rocket;
    const pappus_zone *zone = s->answer->zones ? &s->answer->zones->outcomes[PAPPUS_NOMINAL] : NULL;
    size_t section = 0;
    out[0] = '\0';
    if (reason->limit != PAPPUS_LIMIT_LANDING_ENERGY || !zone || zone->landings == 0) return out;
    for (size_t i = 1; i < rocket->section_count && i < zone->section_count; i++)
        if (rocket->sections[i].mass_kg > rocket->sections[section].mass_kg) section = i;
    return pappus_format(out, PAPPUS_TEXT_SIZE, PAPPUS_SHOW_ENERGY,
                         zone->energy_total_j[section].p95, s->units);
}

static void put_reason(sayer *s, say_kind kind, const pappus_reason *reason, size_t index)
{
    char words[PAPPUS_REASON_SIZE];
    statement *it = say(s, kind, (say_tone)reason->verdict, index);
    char total[PAPPUS_TEXT_SIZE];
    it->about = pappus_limit_text(reason->limit);
    pappus_format_reason(words, sizeof words, reason, s->units);
    size_t used = strlen(words);
    /* A caveat matters more, and a line of the terminal has its end. */
    if (reason->caveat.kind == PAPPUS_CAVEAT_NONE && total_energy(total, s, reason)[0])
        snprintf(words + used, sizeof words - used, "; %s with the drift in it", total);
    it->brief = say_words(s, "%s", words);
    if (reason->verdict != PAPPUS_MET)
        it->strong = say_words(s, "%s: ", pappus_verdict_text(reason->verdict));
    it->full = say_words(s, "%s", words);
    pappus_quantity quantity = pappus_limit_quantity(reason->limit);
    say_value(it, "value", quantity, reason->value.value);
    say_value(it, "low", quantity, reason->value.low);
    say_value(it, "high", quantity, reason->value.high);
    say_value(it, "bound", quantity, reason->bound);
    say_value(it, "use", PAPPUS_SHOW_CHANCE, pappus_reason_use(reason));
}

static void put_leads(sayer *s, const pappus_judgement *judgement)
{
    const pappus_reason **leads = calloc(judgement->reason_count, sizeof *leads);
    s->failed |= !leads;
    size_t count = leads ? pappus_judgement_lead(leads, judgement->reason_count, judgement) : 0;
    if (count > 0 && leads[0]->verdict == PAPPUS_MET) {
        say(s, SAY_WHY, SAY_YES, 0)->full = say_words(s, "Every limit is met; the tightest are:");
        if (count > TIGHTEST) count = TIGHTEST;
    }
    for (size_t i = 0; i < count; i++)
        put_reason(s, SAY_LEAD, leads[i], (size_t)(leads[i] - judgement->reasons));
    free(leads);
}

static void put_sampled(sayer *s, const pappus_judgement *judgement)
{
    size_t landings = s->answer->cloud ? s->answer->cloud->count : 0;
    statement *it = say(s, SAY_SAMPLED, judgement->capped ? SAY_OPEN : SAY_PLAIN, 0);
    it->full =
        say_words(s, "In brackets: 95 %% interval of the sampling. %zu landings were sampled%s.",
                  landings, judgement->capped ? ", the most that are: it is still open" : "");
    if (judgement->capped)
        it->brief =
            say_words(s, "still open after %zu landings, the most that are sampled", landings);
}

static void put_judgement(sayer *s, const pappus_judgement *judgement)
{
    put_decision(s, SAY_DECISION, judgement->decision);
    say_doubts(s);
    if (judgement->reason_count == 0) {
        statement *why = say(s, SAY_WHY, SAY_PLAIN, 0);
        why->brief = say_words(s, "The plan sets no limits: nothing was judged.");
        why->full = say_words(s, "The plan sets no limits: nothing was judged.");
    } else {
        put_leads(s, judgement);
    }
    for (size_t i = 0; i < judgement->reason_count; i++)
        put_reason(s, SAY_LIMIT, &judgement->reasons[i], i);
    put_sampled(s, judgement);
}

void say_decision(sayer *s)
{
    const pappus_field *field = s->answer->field;
    if (s->flight) put_decision(s, SAY_FLIGHT, *s->flight);
    if (s->answer->judgement)
        put_judgement(s, s->answer->judgement);
    else
        say(s, SAY_WHY, SAY_PLAIN, 0)->full = say_words(s, "No decision was asked for.");
    if (!s->answer->judgement) say_doubts(s);
    if (!field || !field->has_boundary)
        say(s, SAY_FIELD, SAY_OPEN, 0)->brief =
            say_words(s, "none given: nothing is known of landings outside it");
}
