/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which areas an outcome's landings are aimed at, by which densities, and how many. */
#ifndef PAPPUS_RARE_AIMS_H
#define PAPPUS_RARE_AIMS_H

#include "led.h"

/** Of several rows of main heights as many are aimed for, evenly spread. */
#define AIMS_ROWS 7
#define AIMS_ROWS_OF_MANY 3 /**< where more than AIMS_FEW_AREAS want it */
#define AIMS_FEW_AREAS 3
#define AIMS_COUNTED 50 /**< hits that tell enough by themselves */

typedef struct {
    size_t count;
    rare_aim *aims;
    int *aim_of;      /**< [area] its first one; or one of the following */
    size_t row_count; /**< rows that are aimed for */
    size_t rows[AIMS_ROWS];
    double *most; /**< [row_count][area] that a chance is foreseen not to exceed; 0: out of reach */
    size_t *landings; /**< [SHOTS_AIMED + count] */
} led_aims;

#define AIMS_NONE (-1) /**< it needs none */
#define AIMS_OUT_OF_REACH (-2)
#define AIMS_UNAIMED (-3) /**< others come first */

/** range: its indices are those of the scouts, and spent. */
int led_aims_make(led_aims *out, const led_task *task, const rare_range *range, pappus_error *err);
void led_aims_clear(led_aims *aims);
/** What an area's chance is foreseen not to exceed at a row: of the rows aimed for beside it. */
double led_aims_most(const led_aims *aims, size_t area_count, size_t row, size_t area);

#endif
