/* SPDX-License-Identifier: GPL-3.0-or-later
 * Files and texts made of an answer. Conventions: pappus.h. */
#ifndef PAPPUS_OUTPUT_H
#define PAPPUS_OUTPUT_H

#include <pappus/brief.h>
#include <pappus/card.h>
#include <pappus/window.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum { PAPPUS_CRS_WGS84, PAPPUS_CRS_UTM } pappus_crs;

/** map.svg and map.png of an answer, being drawn in a process of its own. */
typedef struct pappus_picture pappus_picture;
/** Starts it, beside other work: from pappus_brief_options.mapped on. NULL: it could not be,
 * and the map is drawn when the answer is written. */
pappus_picture *pappus_picture_begin(const pappus_answer *answer, pappus_unit_system units);
void pappus_picture_free(pappus_picture *picture);

typedef struct {
    pappus_unit_system units;
    pappus_crs crs;
    bool layers_only;  /**< scatter: layers and summary.json */
    bool alternatives; /**< several answers are no parts of one flight: one of them is flown */
    int threads;       /**< 0: as many as there are processors */
    pappus_log *log;   /**< told what had to be left out (map.png); may be NULL */
    pappus_picture *picture; /**< of the one answer, in the same units; NULL: drawn anew */
} pappus_write_options;

/** Whether a folder may be written: PAPPUS_E_REFUSED unless its parent exists and it
 * does not, or it holds an earlier result and nothing else. Cheap: ask before the work. */
int pappus_output_check(const char *folder, pappus_error *err);
/** Writes the output folder, whole or not at all (design, output folder). */
int pappus_answer_write(const pappus_answer *answer, const char *folder,
                        const pappus_write_options *options, pappus_error *err);
/** summary.json as text; the caller frees it. */
int pappus_answer_summary(char **out, const pappus_answer *answer, pappus_error *err);
/** How a text is laid out. */
typedef struct {
    pappus_unit_system units;
    int columns; /**< of the terminal; 0: 80 */
    bool colour; /**< the decision in ANSI colour */
} pappus_text_options;
/** The half-screen answer as plain text; caller frees. */
int pappus_answer_text(char **out, const pappus_answer *answer, const pappus_text_options *options,
                       pappus_error *err);

/* Several answers are the parts of one flight that come down untied: the worst
 * decision of them is the flight's. With one answer these do the same as the
 * calls above; with more, each part has a folder of its own inside the output
 * folder, named after its plan's file, beside a summary.json of the whole, an index.html
 * (all side by side) and, where they share a pad, a map.svg of all. */
pappus_decision pappus_decision_of(const pappus_answer *const *answers, size_t count);
int pappus_answers_write(const pappus_answer *const *answers, size_t count, const char *folder,
                         const pappus_write_options *options, pappus_error *err);
int pappus_answers_summary(char **out, const pappus_answer *const *answers, size_t count,
                           pappus_error *err);
int pappus_answers_text(char **out, const pappus_answer *const *answers, size_t count,
                        const pappus_text_options *options, pappus_error *err);

/* Alternatives are judged each by itself, and no decision is made of them together. */
int pappus_alternatives_summary(char **out, const pappus_answer *const *answers, size_t count,
                                pappus_error *err);
/** Decision, tightest limit, place, zone and walk side by side. */
int pappus_alternatives_text(char **out, const pappus_answer *const *answers, size_t count,
                             const pappus_text_options *options, pappus_error *err);

/** The trade, the ceiling and the posts as tables of plain text; caller frees. */
int pappus_heights_text(char **out, const pappus_answer *answer, const pappus_text_options *options,
                        pappus_error *err);
int pappus_ceiling_text(char **out, const pappus_answer *answer, const pappus_text_options *options,
                        pappus_error *err);
int pappus_crews_text(char **out, const pappus_answer *answer, const pappus_text_options *options,
                      pappus_error *err);

/** The window as a table of plain text, as JSON, and as CSV; caller frees. `given`: the
 * situation's that it was found for (pappus_situation_givens). */
int pappus_window_text(char **out, const pappus_window *window, const pappus_givens *given,
                       pappus_unit_system units, pappus_error *err);
int pappus_window_json_text(char **out, const pappus_window *window, const pappus_givens *given,
                            pappus_error *err);
int pappus_window_csv_text(char **out, const pappus_window *window, const pappus_givens *given,
                           pappus_error *err);

/** The same as a picture (SVG): hours across, main heights up. */
int pappus_window_svg_text(char **out, const pappus_window *window, const pappus_givens *given,
                           pappus_unit_system units, pappus_error *err);
/** Writes a folder, whole or not at all: window.json, window.csv, window.svg and, where hours
 * have contours, hours.geojson with the 50 % and 95 % zones of each hour at its `time`. */
int pappus_window_write(const pappus_window *window, const pappus_givens *given, const char *folder,
                        pappus_unit_system units, pappus_error *err);

/** The bench card as plain text, as JSON, and as a page to print written to `path`
 * (whole or not at all). Texts are the caller's to free. */
int pappus_card_text(char **out, const pappus_card *card, const pappus_text_options *options,
                     pappus_error *err);
int pappus_card_json(char **out, const pappus_card *card, pappus_error *err);
int pappus_card_write(const pappus_card *card, const char *path, pappus_unit_system units,
                      pappus_error *err);

/** What was read of wind files as a table: where from, times, heights, every level,
 * and what was repaired or left out, with the reasons from `log` (may be NULL).
 * The caller frees. */
int pappus_wind_table_text(char **out, const pappus_winds *winds, pappus_unit_system units,
                           const pappus_log *log, pappus_error *err);
/** The same winds as one layer table (CSV) that reads back to the same levels, bit for
 * bit. PAPPUS_E_OUTPUT when several profiles have not each a time of its own. */
int pappus_wind_csv_text(char **out, const pappus_winds *winds, pappus_error *err);
/** The profile drawn as SVG: speed, direction and wind barbs against height up to
 * top_m (NaN: the highest level, at most 6 km above the lowest). With `air` heights
 * are above the pad and the 5 to 95 % band is drawn before and after the measured
 * winds; NULL: the levels only. With the plan that the air was made of (may be NULL) the
 * measured winds, the apogee and the time of the flight are drawn too. */
int pappus_wind_svg_text(char **out, const pappus_winds *winds, const pappus_air *air,
                         const pappus_plan *plan, pappus_unit_system units, double top_m,
                         pappus_error *err);

/** Winds of several times drawn as SVG: times across, heights up (as pappus_wind_svg_text takes
 * top_m), speed as shade and number, wind as barbs. The chosen time is marked (NaN: none);
 * member -1: the mean of all. PAPPUS_E_OUTPUT when no profile has a time. */
int pappus_wind_section_svg_text(char **out, const pappus_winds *winds, double chosen_utc_s,
                                 int member, pappus_unit_system units, double top_m,
                                 pappus_error *err);

/** What `pappus check` found, as plain text and as JSON: each value as it was understood, the
 * winds and the field in numbers, and every fault, warning and note of `log`. What could not be
 * read, or is not to be told, is NULL. PAPPUS_E_MEMORY when `log` lost an entry. The caller
 * frees. */
int pappus_check_text(char **out, const pappus_plan *plan, const pappus_winds *winds,
                      const pappus_field *field, const pappus_log *log, pappus_error *err);
int pappus_check_json_text(char **out, const pappus_plan *plan, const pappus_winds *winds,
                           const pappus_field *field, const pappus_log *log, pappus_error *err);

/** What was read of wind files as JSON; the caller frees. */
int pappus_wind_json_text(char **out, const pappus_winds *winds, pappus_error *err);

/** Writes one file, whole or not at all: beside it first, then renamed over it. A file that is
 * there is replaced where it was written by pappus (its first 4 kB say so, as `bytes` must) and
 * refused else. */
int pappus_file_write(const char *path, const char *bytes, size_t size, pappus_error *err);

#ifdef __cplusplus
}
#endif
#endif
