/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PAPPUS_OUTPUT_SHEET_TEXT_H
#define PAPPUS_OUTPUT_SHEET_TEXT_H

#include <cjson/cJSON.h>

#include "writer.h"

/** A sheet (data/sheet.h) as text for a terminal, under a heading; frees the sheet. A sheet
 * that is NULL, or whose making failed, is out of memory. The caller frees *out. */
int sheet_print(char **out, cJSON *sheet, bool failed, const char *heading, int columns,
                pappus_error *err);

#endif
