/* SPDX-License-Identifier: GPL-3.0-or-later
 * The report: the decision and the three questions of the field first (go or not and
 * why, where to wait, what to program), then what stands behind them. The slider's
 * script moves the contours that the trade's table carries along; without scripts
 * the plot and the table tell the same. */
#include "report.h"

#include <stdlib.h>

#include "error.h"
#include "page_fill.h"

static int put_first_columns(const report *r)
{
    page_open(r->xml, "div", "columns");
    int status = report_put_map(r);
    page_open(r->xml, "div", NULL);
    report_put_altimeters(r);
    report_put_posts(r);
    page_close(r->xml);
    page_close(r->xml);
    return status;
}

/* Wind beside drivers and ceiling where there is room. */
static int put_grounds(const report *r)
{
    page_open(r->xml, "div", "columns spread");
    report_put_drivers(r);
    int status = report_put_wind(r);
    report_put_ceiling(r);
    page_close(r->xml);
    return status;
}

static int put_main(const report *r)
{
    page_open(r->xml, "main", NULL);
    report_put_decision(r);
    report_put_limits(r);
    int status = put_first_columns(r);
    if (status == PAPPUS_OK) status = report_put_trade(r);
    if (status == PAPPUS_OK) status = report_put_outcomes(r);
    if (status == PAPPUS_OK) status = put_grounds(r);
    report_put_inputs(r);
    page_open(r->xml, "div", "columns");
    report_put_messages(r);
    report_put_cautions(r);
    page_close(r->xml);
    page_close(r->xml);
    return status;
}

static void put_script(pappus_xml *xml)
{
    pappus_xml_start(xml, "script");
    xml->failed |= xmlTextWriterWriteRaw(xml->writer, BAD_CAST page_file_text("slider.js")) < 0;
    page_close(xml);
}

int pappus_write_report(const pappus_output *output, pappus_error *err)
{
    const pappus_answer *answer = output->answer;
    char title[PAGE_LONGEST + 32], cut[PAGE_LONGEST + 4];
    pappus_xml xml;
    const char *decision = output->flight      ? report_shout(*output->flight)
                           : answer->judgement ? report_shout(answer->judgement->decision)
                                               : "Landing zone";
    snprintf(title, sizeof title, "%s: %s", decision, page_cut(cut, answer->plan->title));
    int status = page_begin(&xml, title, err);
    if (status != PAPPUS_OK) return status;
    report r = {&xml, answer, output->options->units, output->flight, err};
    status = put_main(&r);
    put_script(&xml);
    page_end(&xml);
    return pappus_xml_write(&xml, status, output, "report.html", err);
}
