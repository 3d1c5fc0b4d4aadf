/* SPDX-License-Identifier: GPL-3.0-or-later
 * The memory of a cloud of landings. */
#ifndef PAPPUS_DESCENT_CLOUD_H
#define PAPPUS_DESCENT_CLOUD_H

#include <pappus/landings.h>

/** Columns as they come, the rest zero but for the count. */
int pappus_cloud_new(pappus_cloud **out, size_t count, pappus_error *err);

#endif
