/* SPDX-License-Identifier: GPL-3.0-or-later
 * The heaviest section; of two as heavy the first. */
#include "rocket.h"

pappus_section pappus_rocket_heaviest(const pappus_rocket *rocket)
{
    pappus_section heaviest = {NULL, rocket->mass_kg.mean};
    for (size_t s = 0; s < rocket->section_count; s++)
        if (s == 0 || rocket->sections[s].mass_kg > heaviest.mass_kg)
            heaviest = rocket->sections[s];
    return heaviest;
}
