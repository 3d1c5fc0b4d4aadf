/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card in words: one ordered tree of sections, which the terminal and the
 * page lay out and neither words again.
 *
 *   title, lines[]                 the head
 *   sections[]: id, heading, whole (kept on one sheet), columns (parts side by side),
 *     notes[], list (what items[] are: "notes", or "check" to tick), items[], caution, and
 *     parts[]: heading, style ("", "dense steps" or "blanks": to write in), caption,
 *       headings[], rows[]: name, user, cells[]: label, text; and totals[] */
#ifndef PAPPUS_OUTPUT_CARD_SHEET_H
#define PAPPUS_OUTPUT_CARD_SHEET_H

#include "json_build.h"

/** both: values in the other units too. Call under the C locale; free with cJSON_Delete. */
cJSON *card_sheet(json_builder *build, const pappus_card *card, pappus_unit_system units,
                  bool both);

/** Cloth, disc or mouth: "nominal", "constructed", "projected"; static. */
const char *card_basis_text(pappus_area_basis basis);

#endif
