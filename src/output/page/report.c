/* SPDX-License-Identifier: GPL-3.0-or-later
 * The report: the decision and the three questions of the field first (go or not and
 * why, where to wait, what to program), then what stands behind them. The slider's
 * script moves the contours that the trade's table carries along; without scripts
 * the plot and the table tell the same. */
#include "report.h"

#include <stdlib.h>

#include "error.h"

static const char script[] =
    "(function(){'use strict';"
    "var rows=[].slice.call(document.querySelectorAll('tr[data-c50]')),"
    "box=document.getElementById('slider'),range=document.getElementById('main-height'),"
    "say=document.getElementById('said'),back=document.getElementById('back'),"
    "figure=document.getElementById('zone-figure'),mark=document.getElementById('trade-mark'),"
    "middle=document.getElementById('zone-middle'),first={};"
    "if(!box||!rows.length){return;}"
    "function each(f){['50','90','95'].forEach(function(l){['line-','fill-'].forEach(function(k){"
    "var e=document.getElementById(k+l);if(e){f(e,k+l,'data-c'+l);}});});}"
    "each(function(e,id){first[id]=e.getAttribute('d');});"
    "if(middle){first.middle=middle.getAttribute('d');}"
    "if(mark){first.mark=mark.getAttribute('d');}"
    "function light(row){rows.forEach(function(r){r.className=r===row?'on':'';});}"
    "function show(){var row=rows[range.value];"
    "each(function(e,id,name){e.setAttribute('d',row.getAttribute(name));});"
    "if(middle){middle.setAttribute('d',row.getAttribute('data-middle'));}"
    "if(mark){mark.setAttribute('d',row.getAttribute('data-mark'));}"
    "say.textContent=row.getAttribute('data-say');"
    "range.setAttribute('aria-valuetext',row.getAttribute('data-height'));"
    "figure.classList.add('moved');light(row);}"
    "function plan(){each(function(e,id){e.setAttribute('d',first[id]);});"
    "if(middle){middle.setAttribute('d',first.middle);}"
    "if(mark){mark.setAttribute('d',first.mark);}"
    "range.value=range.defaultValue;say.textContent='As planned.';"
    "range.setAttribute('aria-valuetext','as planned');"
    "figure.classList.remove('moved');light(null);}"
    "range.addEventListener('input',show);back.addEventListener('click',plan);"
    "box.hidden=false;plan();})();";

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
    xml->failed |= xmlTextWriterWriteRaw(xml->writer, BAD_CAST script) < 0;
    page_close(xml);
}

static int begin(pappus_xml *xml, const report *r)
{
    const statement *decision = statement_next(r->said, SAY_FLIGHT, NULL);
    char title[PAGE_LONGEST + 32], cut[PAGE_LONGEST + 4];
    if (!decision) decision = statement_next(r->said, SAY_DECISION, NULL);
    snprintf(title, sizeof title, "%s: %s", decision ? decision->strong : "Landing zone",
             page_cut(cut, r->answer->plan->title));
    return page_begin(xml, title, r->err);
}

int pappus_write_report(const pappus_output *output, pappus_error *err)
{
    pappus_xml xml;
    statements said;
    report r = {&xml, output->answer, output->options->units, &said, err};
    int status = statements_make(&said, r.answer, output->flight, r.units, err);
    if (status == PAPPUS_OK) status = begin(&xml, &r);
    if (status == PAPPUS_OK) {
        status = put_main(&r);
        put_script(&xml);
        page_end(&xml);
        status = pappus_xml_write(&xml, status, output, "report.html", err);
    }
    statements_clear(&said);
    return status;
}
