/* SPDX-License-Identifier: GPL-3.0-or-later
 * report.html and flight_line.html: the answer of a brief as a page and as a sheet. */
#ifndef PAPPUS_OUTPUT_REPORT_H
#define PAPPUS_OUTPUT_REPORT_H

#include "writer.h"

int pappus_write_report(const pappus_output *output, pappus_error *err);

#endif
