/* SPDX-License-Identifier: GPL-3.0-or-later
 * report.html: the answer of a brief as one page. */
#ifndef PAPPUS_OUTPUT_REPORT_H
#define PAPPUS_OUTPUT_REPORT_H

#include "drawing.h"
#include "page.h"
#include "statement.h"

int pappus_write_report(const pappus_output *output, pappus_error *err);

/** A report in the making. */
typedef struct {
    pappus_xml *xml;
    const pappus_answer *answer;
    pappus_unit_system units;
    const statements *said;
    pappus_error *err;
} report;

/* The parts, in the order of the page. */
void report_put_decision(const report *r);
void report_put_limits(const report *r);
int report_put_map(const report *r);
void report_put_altimeters(const report *r);
void report_put_posts(const report *r);
int report_put_trade(const report *r);
int report_put_outcomes(const report *r);
void report_put_drivers(const report *r);
int report_put_wind(const report *r);
void report_put_ceiling(const report *r);
void report_put_inputs(const report *r);
void report_put_messages(const report *r);
void report_put_cautions(const report *r);

#endif
