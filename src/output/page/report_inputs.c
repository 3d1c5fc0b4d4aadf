/* SPDX-License-Identifier: GPL-3.0-or-later
 * The winds that were used, the inputs as understood, messages and cautions. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "report.h"

#define READING_HEIGHT_M 10.0
#define WIND_ROWS 7

/* --------------------------------------------------------------------- wind */

/* A drawing within the page: RFC 2397, base64 of RFC 4648. It stays apart from the
 * page's own style. */
static char *data_address(const char *svg)
{
    static const char letters[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    static const char head[] = "data:image/svg+xml;base64,";
    size_t size = strlen(svg);
    char *out = malloc(sizeof head + 4 * ((size + 2) / 3) + 1);
    if (!out) return NULL;
    char *to = out + sizeof head - 1;
    memcpy(out, head, sizeof head);
    for (size_t i = 0; i < size; i += 3) {
        unsigned long bits = (unsigned long)(unsigned char)svg[i] << 16;
        if (i + 1 < size) bits |= (unsigned long)(unsigned char)svg[i + 1] << 8;
        if (i + 2 < size) bits |= (unsigned char)svg[i + 2];
        *to++ = letters[bits >> 18];
        *to++ = letters[bits >> 12 & 63];
        *to++ = i + 1 < size ? letters[bits >> 6 & 63] : '=';
        *to++ = i + 2 < size ? letters[bits & 63] : '=';
    }
    *to = '\0';
    return out;
}

static int put_wind_drawing(const report *r)
{
    char *svg, *address;
    if (!r->answer->winds || r->answer->winds->profile_count == 0) return PAPPUS_OK;
    int status = pappus_wind_svg_text(&svg, r->answer->winds, r->answer->air, r->units,
                                      1.1 * r->answer->plan->apogee.height_m.mean, r->err);
    if (status != PAPPUS_OK) return status;
    address = data_address(svg);
    free(svg);
    if (!address) return pappus_fail_memory(r->err);
    page_open(r->xml, "figure", NULL);
    page_open(r->xml, "div", "scroll");
    pappus_xml_attribute(r->xml, "tabindex", "0");
    pappus_xml_attribute(r->xml, "role", "region");
    pappus_xml_attribute(r->xml, "aria-label", "Wind profile, scrolls sideways on a narrow screen");
    pappus_xml_start(r->xml, "img");
    pappus_xml_attribute(r->xml, "alt",
                         "Wind speed, direction and barbs against height; the table "
                         "has the same in numbers.");
    pappus_xml_attribute(r->xml, "width", "820");
    pappus_xml_attribute(r->xml, "height", "650");
    pappus_xml_attribute(r->xml, "src", address);
    pappus_xml_end(r->xml);
    page_close(r->xml);
    page_close(r->xml);
    free(address);
    return PAPPUS_OK;
}

static void put_wind_row(const report *r, page_table *table, double height_m)
{
    char height[PAGE_BOTH_SIZE], speed[PAGE_BOTH_SIZE];
    double u, v;
    pappus_air_mean_wind(r->answer->air, height_m, &u, &v);
    double from_deg = pappus_bearing_of(-u, -v);
    page_row_begin(table);
    page_cell(table, "%s", page_both(height, PAPPUS_SHOW_HEIGHT, height_m, r->units));
    if (hypot(u, v) > 0)
        page_cell(table, "%.0f deg %s", from_deg, pappus_compass_point(from_deg));
    else
        page_cell(table, "calm");
    page_cell(table, "%s", page_both(speed, PAPPUS_SHOW_WIND, hypot(u, v), r->units));
    page_row_end(table);
}

static void put_wind_table(const report *r)
{
    static const char *const headings[] = {"Height above the pad", "From", "Speed"};
    double apogee_m = r->answer->plan->apogee.height_m.mean;
    page_table table;
    page_table_begin(&table, r->xml, NULL,
                     "The middle of the sampled winds, measured winds taken in", headings, 3);
    put_wind_row(r, &table, READING_HEIGHT_M);
    for (int i = 1; i <= WIND_ROWS; i++)
        put_wind_row(r, &table, apogee_m * i / WIND_ROWS);
    page_table_end(&table);
}

static void put_wind_sources(const report *r)
{
    const pappus_winds *winds = r->answer->winds;
    page_open(r->xml, "ul", "notes");
    for (size_t i = 0; winds && i < winds->profile_count && i < 8; i++) {
        const pappus_wind_profile *p = &winds->profiles[i];
        const char *slash = p->path ? strrchr(p->path, '/') : NULL;
        page_open(r->xml, "li", NULL);
        page_put_user(r->xml, "span", NULL, slash ? slash + 1 : p->path);
        page_text(r->xml, " (%s), %zu levels%s", p->format ? p->format : "", p->level_count,
                  p->repaired_count + p->refused_count ? ", some repaired or left out" : "");
        page_close(r->xml);
    }
    if (winds && winds->age_s > 0)
        page_put(r->xml, "li", NULL, "%.1f h old at the flight", winds->age_s / 3600);
    page_close(r->xml);
}

int report_put_wind(const report *r)
{
    if (!r->answer->air) return PAPPUS_OK;
    page_section(r->xml, "wind", "The wind that was used");
    put_wind_sources(r);
    page_open(r->xml, "div", "columns wide-left");
    int status = put_wind_drawing(r);
    put_wind_table(r);
    page_close(r->xml);
    page_close(r->xml);
    return status;
}

/* ------------------------------------------------------------------- inputs */

static void put_entry(const report *r, page_table *table, const pappus_plan_entry *entry)
{
    const char *own = r->units == PAPPUS_UNITS_US ? entry->us : entry->si;
    const char *other = r->units == PAPPUS_UNITS_US ? entry->si : entry->us;
    char first[PAGE_LONGEST + 4], second[PAGE_LONGEST + 4], both[2 * PAGE_LONGEST + 16];
    page_cut(first, own);
    page_cut(second, other);
    bool same = second[0] == '\0' || strcmp(first, second) == 0;
    snprintf(both, sizeof both, "%s%s%s", first, same ? "" : " = ", same ? "" : second);
    page_row_begin(table);
    page_cell(table, "%s", entry->key);
    page_cell_user(table, both);
    page_row_end(table);
}

static void put_entries(const report *r, bool assumed, const char *caption)
{
    static const char *const headings[] = {"Key", "Understood as"};
    const pappus_plan *plan = r->answer->plan;
    page_table table;
    size_t count = 0;
    for (size_t i = 0; i < plan->entry_count; i++)
        count += plan->entries[i].assumed == assumed;
    if (count == 0) return;
    page_open(r->xml, "div", "flow");
    page_table_begin(&table, r->xml, NULL, caption, headings, 2);
    for (size_t i = 0; i < plan->entry_count; i++)
        if (plan->entries[i].assumed == assumed) put_entry(r, &table, &plan->entries[i]);
    page_table_end(&table);
    page_close(r->xml);
}

void report_put_inputs(const report *r)
{
    page_open_id(r->xml, "section", "inputs", "inputs");
    page_put(r->xml, "h2", NULL, "The inputs as understood");
    put_entries(r, false, "Given in the plan or on the command line");
    page_put(r->xml, "h3", NULL, "Assumptions");
    put_entries(r, true, "Not given: these values were assumed");
    if (r->answer->cloud)
        page_put(r->xml, "p", "quiet", "Seed %llu, %zu landings, pappus %s.",
                 (unsigned long long)r->answer->cloud->seed, r->answer->cloud->count,
                 pappus_version());
    page_close(r->xml);
}

/* ----------------------------------------------------------------- messages */

static size_t count_of(const pappus_log *log, pappus_severity severity)
{
    size_t count = 0;
    for (size_t i = 0; i < log->count; i++)
        count += log->entries[i].severity == severity;
    return count;
}

static void put_messages_of(const report *r, pappus_severity severity)
{
    const pappus_log *log = &r->answer->log;
    char line[sizeof(pappus_error) + 64];
    page_open(r->xml, "ul", "notes");
    for (size_t i = 0; i < log->count; i++) {
        if (log->entries[i].severity != severity) continue;
        pappus_error error = log->entries[i].error;
        const char *slash = strrchr(error.file, '/');
        if (slash) memmove(error.file, slash + 1, strlen(slash));
        pappus_error_line(line, sizeof line, &error);
        page_put_user(r->xml, "li", NULL, line);
    }
    page_close(r->xml);
}

void report_put_messages(const report *r)
{
    size_t warnings = count_of(&r->answer->log, PAPPUS_WARNING);
    size_t notes = count_of(&r->answer->log, PAPPUS_NOTE);
    page_section(r->xml, "warnings", "Warnings");
    if (warnings == 0) page_put(r->xml, "p", NULL, "None.");
    if (warnings > 0) put_messages_of(r, PAPPUS_WARNING);
    if (notes > 0) page_put(r->xml, "h3", NULL, "Notes");
    if (notes > 0) put_messages_of(r, PAPPUS_NOTE);
    page_close(r->xml);
}

void report_put_cautions(const report *r)
{
    static const char *const cautions[] = {
        "This is a planning estimate: it knows the wind only as well as the plan does, and no "
        "thermals, rotors or terrain.",
        "The range safety officer decides. Local safety codes and the landowner's terms stand "
        "above this page.",
        "Ask an experienced mentor before you change canopies, charges or altimeter settings.",
        "Look up: a landing outside the zone is rare, not impossible. Nobody stands under a "
        "descent.",
        "When the wind on the field differs from the wind used here, put in what you measured and "
        "brief again."};
    page_section(r->xml, "cautions", "Cautions");
    page_open(r->xml, "ul", "notes");
    for (size_t i = 0; i < sizeof cautions / sizeof cautions[0]; i++)
        page_put(r->xml, "li", NULL, "%s", cautions[i]);
    page_close(r->xml);
    page_close(r->xml);
}
