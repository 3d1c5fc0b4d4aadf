/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds of the ceiling's scan: is it go at one wind from one direction, by few landings or
 * by all, or between two winds that were flown. One question is opened once; its winds may
 * be asked for by several threads, and each answer depends on the wind alone.
 *
 * Few landings decide where their interval at CLEAR (three standard errors) keeps off every
 * bound, which is so for most winds of a scan; else all landings decide, as point
 * estimates. Between two winds a landing lies on the line between its two places: common
 * draws carry it there smoothly. Right for winds SETTLE steps apart or less, where places
 * found so are within a few metres of flown ones (test_ceiling compares), not for wider
 * gaps: the error grows with the square. */
#ifndef PAPPUS_CHOICE_CEILING_WINDS_H
#define PAPPUS_CHOICE_CEILING_WINDS_H

#include <pappus/choice.h>

#include "hits.h"
#include "variant.h"

#include <omp.h>

#define CEILING_STEPS 128
#define CEILING_SETTLE 8 /* steps that may lie between two winds to draw a line */
#define CEILING_DIRECTIONS 12
#define CEILING_PLANNED CEILING_DIRECTIONS /* the direction as read or planned */

typedef enum { CEILING_FEW, CEILING_ALL, CEILING_SIZES } ceiling_size;

/* What one wind gives: limits that know no direction, and the landings. */
typedef struct {
    bool known, clear;
    pappus_verdict verdict;
    pappus_limit_kind limit;
    pappus_cloud *cloud;
    omp_lock_t lock;
} ceiling_state;

/* One of the two questions. */
typedef struct {
    const pappus_givens *given;
    pappus_run run;
    pappus_variant based; /* what is scaled: as planned, or a light wind in a calm */
    pappus_winds calm;    /* no profiles: the surface-only profile */
    pappus_field_shapes *shapes;
    double base_mps, from_deg, top_mps;
    bool reading;  /* only the reading changes */
    bool rigid;    /* one cloud for all directions: it is turned */
    size_t open;   /* steps below this keep the surface wind's own limit */
    size_t states; /* of one size */
    ceiling_state *state[CEILING_SIZES];
} ceiling_question;

/* Room for the landings of a direction, one for each thread. */
typedef struct {
    double *east_m, *north_m;
    size_t capacity;
} ceiling_room;

/* Of one wind: `go`, or the limit in the way and the keep-out it is about. */
typedef struct {
    bool go, clear;
    pappus_limit_kind limit;
    size_t area;
} ceiling_verdict;

int ceiling_question_begin(ceiling_question *q, const pappus_givens *given, const pappus_run *run,
                           bool reading, pappus_error *err);
void ceiling_question_end(ceiling_question *q);

/** Has the upwind apogee (and all else that has a bearing) no bearing of its own? */
bool ceiling_turns_with_wind(const pappus_apogee *apogee);
/** One of many directions that are flown by themselves. */
bool ceiling_is_of_round(const ceiling_question *q, size_t direction);

/** The air of a wind from a direction, by the question that is asked. */
int ceiling_air(pappus_variant *windy, const ceiling_question *q, size_t step, size_t direction,
                pappus_error *err);
/** All landings of a wind of the planned direction; borrowed, and not turned. */
int ceiling_cloud(const pappus_cloud **out, ceiling_question *q, size_t step, pappus_error *err);

/** By few landings where that is clear (out->clear), or by all. */
int ceiling_ask(ceiling_verdict *out, ceiling_question *q, ceiling_size size, size_t step,
                size_t direction, ceiling_room *room, pappus_error *err);
/** Between two winds, whose landings are all flown for it. */
int ceiling_ask_between(ceiling_verdict *out, ceiling_question *q, const size_t ends[2],
                        size_t step, size_t direction, ceiling_room *room, pappus_error *err);

#endif
