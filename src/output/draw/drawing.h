/* SPDX-License-Identifier: GPL-3.0-or-later
 * The landing zone drawn as SVG: map.svg and map.png, and the maps in the report. */
#ifndef PAPPUS_OUTPUT_DRAWING_H
#define PAPPUS_OUTPUT_DRAWING_H

#include <pappus/skill.h>

#include "drawing_view.h"
#include "isolate.h"
#include "xml_text.h"

typedef enum {
    DRAWING_ZONE,     /**< all landings, dots, contours, posts */
    DRAWING_OUTCOMES, /**< where each outcome comes down */
    DRAWING_NEAR,     /**< those of them that come down near the pad, larger */
    DRAWING_HAZARD    /**< where a person is hit how often; contours must be there */
} drawing_subject;

typedef struct {
    const pappus_answer *answer;
    pappus_unit_system units;
    drawing_subject subject;
    bool alone;                    /**< a picture of its own: with title, decision and caution */
    const pappus_decision *flight; /**< when this is one of its parts; else NULL */
} drawing;

/** The levels that are drawn, inner first: each X(name) is of PAPPUS_LEVEL_name, and its name
 * is in the classes, ids and attributes of its outline. */
#define DRAWING_LEVEL_LIST(X) X(50) X(90) X(95)
#define DRAWING_COUNT(name) +1
#define DRAWING_CONTOURS (0 DRAWING_LEVEL_LIST(DRAWING_COUNT))

/** Writes the <svg> element. */
int drawing_map(pappus_xml *xml, const drawing *d, pappus_error *err);
/** The zones of several answers, which share a pad, on one map: the <svg> element. */
int drawing_flight(pappus_xml *xml, const pappus_answer *const *answers, size_t count,
                   pappus_unit_system units, pappus_error *err);
/** The same view of the ground that drawing_map takes. */
view drawing_view(const drawing *d);
/** Whether an outcome comes down near the pad, as against the farthest. */
bool drawing_is_near(const pappus_answer *answer, pappus_outcome outcome);
bool drawing_has_near(const pappus_answer *answer);
/** Path data of the mark of the landings' middle. */
void drawing_middle_path(char *out, size_t size, const view *v, double east_m, double north_m);
/** Outline of an area as SVG path data; "" without polygons; the caller frees. */
int drawing_area_path(char **out, const view *v, const pappus_area *area, pappus_error *err);

/** The trade over main heights as a plot; heights must be there. */
int drawing_trade(pappus_xml *xml, const pappus_answer *answer, pappus_unit_system units,
                  pappus_error *err);

/** The winds that are go by direction, with today's; the ceiling must be there. */
int drawing_rose(pappus_xml *xml, const pappus_answer *answer, pappus_unit_system units,
                 pappus_error *err);

/** Path data of the upright mark at a height in that plot. */
void drawing_trade_mark(char *out, size_t size, const pappus_heights *heights, double height_m);

/** What pappus skill measured; coverage needs a proof. */
typedef enum {
    DRAWING_AGES,      /**< change against age, by height */
    DRAWING_DISTANCES, /**< correlation against distance, by age */
    DRAWING_TAILS,
    DRAWING_COVERAGE,
    DRAWING_RANKS, /**< where in its zone each flight came down */
    DRAWING_SKILL_SUBJECTS
} drawing_skill_subject;
int drawing_skill(pappus_xml *xml, drawing_skill_subject subject, const pappus_skill *skill,
                  const pappus_proof *proof, pappus_unit_system units, pappus_error *err);
/** All of them, one below the other. */
int drawing_skill_sheet(pappus_xml *xml, const pappus_skill *skill, const pappus_proof *proof,
                        pappus_unit_system units, pappus_error *err);

/** SVG text as PNG, `width` pixels wide, on white, in a process that has a copy of the text. */
int drawing_png_start(pappus_isolation *self, const char *svg, size_t size, int width,
                      pappus_error *err);
/** The caller frees *out. */
int drawing_png_finish(unsigned char **out, size_t *out_size, pappus_isolation *self,
                       pappus_error *err);

/** Writes map.svg and sees to it that the picture is being drawn, beside all other writing. */
int drawing_picture_start(pappus_picture **picture, const pappus_output *output, pappus_error *err);
/** Writes map.png; status is what the caller has so far: when not PAPPUS_OK nothing is written
 * and it is returned. To be called wherever the start was; frees the picture. */
int drawing_picture_finish(pappus_picture *picture, int status, const pappus_output *output,
                           pappus_error *err);

#endif
