/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the brief needs of a situation. */
#ifndef PAPPUS_SITUATION_PARTS_H
#define PAPPUS_SITUATION_PARTS_H

#include <pappus/situation.h>

/** Every profile of every time and member that was read; borrowed. */
const pappus_winds *pappus_situation_files(const pappus_situation *situation);
/** Adds the warnings and notes of its parts to the log. */
void pappus_situation_tell(pappus_log *log, const pappus_situation *situation);

#endif
