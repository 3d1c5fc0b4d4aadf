/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card in words, as a sheet. */
#ifndef PAPPUS_OUTPUT_CARD_SHEET_H
#define PAPPUS_OUTPUT_CARD_SHEET_H

#include "sheet.h"

/** both: values in the other units too. Call under the C locale; free with cJSON_Delete. */
cJSON *card_sheet(json_builder *build, const pappus_card *card, pappus_unit_system units,
                  bool both);

/** Cloth, disc or mouth: "nominal", "constructed", "projected"; static. */
const char *card_basis_text(pappus_area_basis basis);

#endif
