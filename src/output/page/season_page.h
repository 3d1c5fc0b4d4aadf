/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PAPPUS_OUTPUT_SEASON_PAGE_H
#define PAPPUS_OUTPUT_SEASON_PAGE_H

#include <pappus/season.h>

/** season.html; the caller frees *out, of *size bytes. */
int season_page(char **out, size_t *size, const pappus_season_result *result,
                pappus_unit_system units, pappus_error *err);

#endif
