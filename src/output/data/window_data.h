/* SPDX-License-Identifier: GPL-3.0-or-later
 * A window as a tree: what `pappus window --json` prints, and "window" of summary.json. */
#ifndef PAPPUS_OUTPUT_WINDOW_DATA_H
#define PAPPUS_OUTPUT_WINDOW_DATA_H

#include "json_build.h"

/** Whoever calls frees it. */
cJSON *window_tree(json_builder *build, const pappus_window *window, const pappus_plan *plan);

#endif
