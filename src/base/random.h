/* SPDX-License-Identifier: GPL-3.0-or-later
 * Counter-based random numbers: a draw is a function of (seed, stream, sub,
 * landing index, redraw) and of nothing else, so the same seed gives the same
 * landings on any number of threads and a new quantity disturbs no other.
 * Philox4x32-10 (Salmon, Moraes, Dror, Shaw: Parallel random numbers: as easy as
 * 1, 2, 3. SC'11) by Random123.
 *
 *   key     = { seed low 32, seed high 21 bits | fresh << 31 }
 *   counter = { index low 32, index high 16 | redraw << 16, stream, sub }
 */
#ifndef PAPPUS_BASE_RANDOM_H
#define PAPPUS_BASE_RANDOM_H

#include <pappus/value.h>

#include "isa.h"

/** Landings that are drawn and brought down side by side. Arrays of lanes are
 * laid out [node][lane]. */
#define PAPPUS_LANES 64

/** Streams, with the group of the sensitivity that each belongs to. Values are
 * part of what a seed means: append, never renumber. */
#define PAPPUS_STREAM_LIST(X)                                                                      \
    X(MASS, 1, DRAG)                                                                               \
    X(BALLISTIC_DRAG, 2, DRAG)                                                                     \
    X(TUMBLE_DRAG, 3, DRAG)                                                                        \
    X(DROGUE_DRAG, 4, DRAG)                                                                        \
    X(MAIN_DRAG, 5, DRAG)                                                                          \
    X(HELD_DRAG, 6, DRAG)                                                                          \
    X(DROGUE_OPENING, 7, DRAG)                                                                     \
    X(MAIN_OPENING, 8, DRAG)                                                                       \
    X(APOGEE_HEIGHT, 9, APOGEE)                                                                    \
    X(APOGEE_SPREAD, 10, APOGEE)                                                                   \
    X(APOGEE_SPEED, 11, APOGEE)                                                                    \
    X(ALTIMETER_WORKS, 12, ALTIMETERS)                                                             \
    X(FAULTS, 13, ALTIMETERS)                                                                      \
    X(DROGUE_DELAY, 14, ALTIMETERS) /* sub: altimeter */                                           \
    X(FIRE_DELAY_APOGEE, 15, ALTIMETERS)                                                           \
    X(FIRE_DELAY_MAIN, 16, ALTIMETERS)                                                             \
    X(HEIGHT_ERROR, 17, ALTIMETERS)                                                                \
    X(MOTOR_DELAY, 18, ALTIMETERS)                                                                 \
    X(HANGING_SHARE, 19, DRAG)                                                                     \
    X(WIND_PROFILE, 32, WIND_ALOFT)                                                                \
    X(WIND_PRIOR, 33, WIND_ALOFT)     /* sub: pair of nodes */                                     \
    X(WIND_READING, 34, SURFACE_WIND) /* sub: reading */                                           \
    X(WIND_GUST, 35, SURFACE_WIND)    /* sub: pair of nodes */                                     \
    X(WIND_SCALE, 36, WIND_ALOFT)                                                                  \
    X(RARE_PLACE, 37, WIND_ALOFT) /* sub: which of its numbers */

typedef enum {
#define PAPPUS_STREAM_ENUM(name, value, group) PAPPUS_STREAM_##name = value,
    PAPPUS_STREAM_LIST(PAPPUS_STREAM_ENUM)
#undef PAPPUS_STREAM_ENUM
} pappus_stream;

/** Seed and the groups that are drawn afresh (sensitivity). */
typedef struct {
    uint64_t seed;
    unsigned fresh_groups;
} pappus_random;

/** Four 32-bit words. */
void pappus_random_words(uint32_t out[4], pappus_random random, pappus_stream stream, uint32_t sub,
                         uint64_t index, unsigned redraw);
/** A number in the open interval (0, 1). */
double pappus_random_uniform(pappus_random random, pappus_stream stream, uint32_t sub,
                             uint64_t index, unsigned redraw);
/** A standard normal number. */
double pappus_random_normal(pappus_random random, pappus_stream stream, uint32_t sub,
                            uint64_t index, unsigned redraw);
/** The same of PAPPUS_LANES landings side by side, of their first draws. */
void pappus_random_uniforms(double out[PAPPUS_LANES], pappus_isa isa, pappus_random random,
                            pappus_stream stream, uint32_t sub, const uint64_t index[PAPPUS_LANES]);
void pappus_random_normals(double out[PAPPUS_LANES], pappus_isa isa, pappus_random random,
                           pappus_stream stream, uint32_t sub, const uint64_t index[PAPPUS_LANES]);
/** The key of a stream. */
void pappus_random_key(uint32_t key[2], pappus_random random, pappus_stream stream);
/** True when the stream belongs to a group that is drawn afresh. */
bool pappus_random_is_fresh(pappus_random random, pappus_stream stream);

#endif
