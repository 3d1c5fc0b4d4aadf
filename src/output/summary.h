/* SPDX-License-Identifier: GPL-3.0-or-later
 * summary.json: the answer as data. */
#ifndef PAPPUS_OUTPUT_SUMMARY_H
#define PAPPUS_OUTPUT_SUMMARY_H

#include "writer.h"

pappus_writer pappus_write_summary;

#endif
