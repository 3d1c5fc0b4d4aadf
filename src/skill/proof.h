/* SPDX-License-Identifier: GPL-3.0-or-later
 * A proof of the zones on its way. */
#ifndef PAPPUS_SKILL_PROOF_H
#define PAPPUS_SKILL_PROOF_H

#include "containment.h"
#include "fit.h"

#include <pappus/skill.h>

#define RELIABILITY_BINS 10

/* Kinds of zones: bit 0 with the reading, bit 1 with the plan's own law. */
enum { ZONES = 4, WITH_READING = 1, AS_PLANNED = 2 };

typedef struct {
    size_t earlier, later;
    double age_h;
    long day;
    int half;
} proof_trial;

/** Flights through each later wind: one engine group of landings. What the rocket draws is then
 * next to nothing of what the shares stray by; the wind's part stays. */
#define PROOF_FLIGHTS 16

typedef struct {
    double held[ZONES][PAPPUS_LEVELS]; /* share of the flights inside each contour */
    double rank[ZONES];                /* of the first flight */
    double said;                       /* chance inside the field, learned, without the reading */
    bool inside;                       /* the first flight */
    bool known;                        /* both winds reach the apogee without gaps */
} proof_outcome;

typedef struct {
    const pappus_archive *archive;
    const pappus_plan *plan;
    const pappus_proof_options *options;
    pappus_containment *boundary; /* NULL: no field */
    pappus_skill_fit *halves;
    size_t count;
    proof_trial *trials;
    proof_outcome *outcomes;
    size_t done;
    int status;
    pappus_error error;
} proof_work;

/** Counts the trials that were made into the proof. */
int proof_count(pappus_proof *out, const proof_work *work, pappus_error *err);

#endif
