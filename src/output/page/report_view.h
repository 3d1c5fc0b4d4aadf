/* SPDX-License-Identifier: GPL-3.0-or-later
 * The tree that fills report.html: that of summary.json, with the statements of
 * words/statement.h and what only a page shows put beside its values. */
#ifndef PAPPUS_OUTPUT_REPORT_VIEW_H
#define PAPPUS_OUTPUT_REPORT_VIEW_H

#include "json_build.h"
#include "writer.h"

/** Free *out with cJSON_Delete; call under the C locale. */
int report_view(cJSON **out, const pappus_output *output, pappus_error *err);

/** Adds the drawings as text: "map_svg", "outcomes_svg", "near_svg", "trade_svg", "rose_svg",
 * "window_svg" (all but the first null without), and
 * to each row of the trade its contours on the map; report_drawings.c. */
int report_add_drawings(json_builder *build, cJSON *root, const pappus_output *output,
                        pappus_error *err);
/** The wind's profile in base64 (RFC 4648) as "drawing", null without. It is an image of
 * its own, so that its style and the page's stay apart. */
int report_add_wind_drawing(json_builder *build, cJSON *wind, const pappus_output *output,
                            pappus_error *err);

#endif
