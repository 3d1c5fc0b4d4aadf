/* SPDX-License-Identifier: GPL-3.0-or-later
 * What stands behind the answer: map with its slider, trade over main heights,
 * outcomes, drivers, and the ceiling of the wind. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "drawing_trade.h"
#include "error.h"
#include "report.h"

/* ---------------------------------------------------------------------- map */

static size_t planned_row(const pappus_heights *heights)
{
    size_t best = 0;
    for (size_t i = 1; i < heights->row_count; i++)
        if (fabs(heights->rows[i].height_m - heights->planned_m) <
            fabs(heights->rows[best].height_m - heights->planned_m))
            best = i;
    return best;
}

static void put_slider(const report *r)
{
    const pappus_heights *heights = r->answer->heights;
    pappus_xml *xml = r->xml;
    if (!heights || heights->row_count < 2) return;
    page_open_id(xml, "div", "slider", "slider");
    pappus_xml_attribute(xml, "hidden", "hidden");
    pappus_xml_start(xml, "label");
    pappus_xml_attribute(xml, "for", "main-height");
    pappus_xml_text(xml, "Try another main height");
    page_close(xml);
    pappus_xml_start(xml, "input");
    pappus_xml_attribute(xml, "type", "range");
    pappus_xml_attribute(xml, "id", "main-height");
    pappus_xml_attribute(xml, "min", "0");
    char number[32];
    snprintf(number, sizeof number, "%zu", heights->row_count - 1);
    pappus_xml_attribute(xml, "max", number);
    pappus_xml_attribute(xml, "step", "1");
    snprintf(number, sizeof number, "%zu", planned_row(heights));
    pappus_xml_attribute(xml, "value", number);
    pappus_xml_attribute(xml, "autocomplete", "off");
    pappus_xml_end(xml);
    pappus_xml_start(xml, "output");
    pappus_xml_attribute(xml, "id", "said");
    pappus_xml_attribute(xml, "for", "main-height");
    page_close(xml);
    pappus_xml_start(xml, "button");
    pappus_xml_attribute(xml, "type", "button");
    pappus_xml_attribute(xml, "id", "back");
    pappus_xml_text(xml, "Back to the plan");
    page_close(xml);
    page_close(xml);
}

int report_put_map(const report *r)
{
    drawing d = {r->answer, r->units, DRAWING_ZONE, false, NULL};
    page_section(r->xml, "map", "Where it lands");
    page_open_id(r->xml, "figure", "map", "zone-figure");
    int status = drawing_map(r->xml, &d, r->err);
    page_put(r->xml, "figcaption", NULL,
             "All outcomes together, each by its chance. North is up. The wind's arrows fly with "
             "the wind.");
    put_slider(r);
    page_close(r->xml);
    page_close(r->xml);
    return status;
}

/* -------------------------------------------------------------------- trade */

static double worst_keep_out(const pappus_height_row *row)
{
    double worst = NAN;
    for (size_t i = 0; i < row->keep_out_count; i++)
        worst = fmax(row->keep_out[i], worst);
    return worst;
}

static int put_outlines(const report *r, const view *v, const pappus_height_row *row)
{
    static const struct {
        pappus_level level;
        const char *name;
    } drawn[] = {
#define DRAWN(n) {PAPPUS_LEVEL_##n, "data-c" #n},
        DRAWING_LEVEL_LIST(DRAWN)
#undef DRAWN
    };
    int status = PAPPUS_OK;
    for (size_t i = 0; status == PAPPUS_OK && i < DRAWING_CONTOURS; i++) {
        char *data = NULL;
        if (drawn[i].level < row->contour_count)
            status = drawing_area_path(&data, v, &row->contours[drawn[i].level].shape, r->err);
        if (status == PAPPUS_OK) pappus_xml_attribute(r->xml, drawn[i].name, data ? data : "");
        free(data);
    }
    return status;
}

static void put_saying(const report *r, const view *v, const pappus_height_row *row)
{
    char height[PAGE_BOTH_SIZE], inside[PAPPUS_TEXT_SIZE], walk[PAGE_BOTH_SIZE], text[800];
    bool whole = row->contour_count <= PAPPUS_LEVEL_95 ||
                 view_holds_area(v, &row->contours[PAPPUS_LEVEL_95].shape);
    page_both(height, PAPPUS_SHOW_HEIGHT, row->height_m, r->units);
    pappus_format_chance(inside, sizeof inside, row->inside_field.value);
    page_both(walk, PAPPUS_SHOW_DISTANCE, row->walk_m, r->units);
    pappus_xml_attribute(r->xml, "data-height", height);
    snprintf(text, sizeof text,
             "Main at %s: %s%s. Inside the field %s, mean walk %s.%s "
             "The posts stay as planned.",
             height,
             row->verdict == PAPPUS_MET      ? "limits met"
             : row->verdict == PAPPUS_BROKEN ? "a limit is broken"
                                             : "undecided",
             row->broken && row->verdict != PAPPUS_MET ? " (see the table)" : "", inside, walk,
             whole ? "" : " The zone goes on beyond the map.");
    pappus_xml_attribute(r->xml, "data-say", text);
    snprintf(text, sizeof text, "M%.1f %.1fh-6h12h-6v-6v12", view_x(v, row->mean_east_m),
             view_y(v, row->mean_north_m));
    pappus_xml_attribute(r->xml, "data-middle", text);
    drawing_trade_mark(text, sizeof text, r->answer->heights, row->height_m);
    pappus_xml_attribute(r->xml, "data-mark", text);
}

static int put_trade_row(const report *r, page_table *table, const view *v,
                         const pappus_height_row *row)
{
    char text[PAGE_BOTH_SIZE];
    page_row_begin(table);
    int status = put_outlines(r, v, row);
    put_saying(r, v, row);
    page_cell(table, "%s", page_both(text, PAPPUS_SHOW_HEIGHT, row->height_m, r->units));
    page_cell(table, "%s%s", row->verdict == PAPPUS_UNDECIDED ? "undecided: " : "",
              row->verdict == PAPPUS_MET ? "nothing"
              : row->broken              ? pappus_limit_noun(row->broken)
                                         : "a limit");
    page_cell(table, "%s", page_chance(text, row->inside_field.value));
    page_cell(table, "%s", page_chance(text, worst_keep_out(row)));
    page_cell(table, "%s", page_one(text, PAPPUS_SHOW_HEIGHT, row->full_open_p05_m, r->units));
    page_cell(table, "%s", page_one(text, PAPPUS_SHOW_TIME, row->time_s, r->units));
    page_cell(table, "%s", page_one(text, PAPPUS_SHOW_DISTANCE, row->walk_m, r->units));
    if (isfinite(row->use))
        page_cell(table, "%.0f\xC2\xA0%%", 100 * row->use);
    else
        page_cell(table, "-");
    page_row_end(table);
    return status;
}

static int put_trade_table(const report *r)
{
    static const char *const headings[] = {"Main height",
                                           "Breaks",
                                           "Inside the field",
                                           "Worst keep-out",
                                           "Open by (5th percentile)",
                                           "Time aloft",
                                           "Mean walk",
                                           "Limit used up"};
    const pappus_heights *heights = r->answer->heights;
    drawing d = {r->answer, r->units, DRAWING_ZONE, false, NULL};
    view v = drawing_view(&d);
    page_table table;
    int status = PAPPUS_OK;
    page_table_begin(&table, r->xml, "dense trade",
                     "Main heights compared on the same winds and canopies", headings, 8);
    for (size_t i = 0; status == PAPPUS_OK && i < heights->row_count; i++)
        status = put_trade_row(r, &table, &v, &heights->rows[i]);
    page_table_end(&table);
    return status;
}

static void put_why_not(const report *r, const char *before, const char *why)
{
    if (!why) return;
    page_text(r->xml, "%s", before);
    report_put_sentence(r, why);
    page_text(r->xml, ".");
}

static void put_trade_words(const report *r)
{
    const pappus_heights *heights = r->answer->heights;
    char height[PAGE_BOTH_SIZE];
    page_open(r->xml, "p", NULL);
    if (isnan(heights->recommended_m)) {
        page_text(r->xml, "Main height: ");
        report_put_sentence(r, heights->why_none ? heights->why_none : "none meets every limit");
        page_text(r->xml, ".");
    } else {
        page_text(r->xml, "Recommended: %s.",
                  page_both(height, PAPPUS_SHOW_HEIGHT, heights->recommended_m, r->units));
        put_why_not(r, " Not lower: ", heights->why_not_lower);
        put_why_not(r, " Not higher: ", heights->why_not_higher);
    }
    page_close(r->xml);
}

int report_put_trade(const report *r)
{
    if (!r->answer->heights || r->answer->heights->row_count == 0) return PAPPUS_OK;
    page_section(r->xml, "trade", "Which main height");
    put_trade_words(r);
    page_open(r->xml, "div", "columns wide-right");
    page_open(r->xml, "figure", "plot");
    int status = drawing_trade(r->xml, r->answer, r->units, r->err);
    page_put(r->xml, "figcaption", NULL,
             "How much of each limit a main height uses up: at 100 %% "
             "the limit breaks. Below: the crew's mean walk.");
    page_close(r->xml);
    page_open(r->xml, "div", NULL);
    if (status == PAPPUS_OK) status = put_trade_table(r);
    page_close(r->xml);
    page_close(r->xml);
    page_close(r->xml);
    return status;
}

/* ----------------------------------------------------------------- outcomes */

static const char *advice(pappus_outcome outcome)
{
    static const char *const texts[PAPPUS_OUTCOMES] = {
        "As planned: watch it down, walk from the nearest post.",
        "Drifts far: follow it by eye, take a bearing, warn those downwind.",
        "Comes in fast: all look up, call heads-up, stay clear of the zone.",
        "Falls fast until the main opens hard: stay clear, check harness and canopy.",
        "Falls free: call heads-up at once, take cover, nobody near the pad's zone."};
    return texts[outcome];
}

static void put_outcome_row(const report *r, page_table *table, pappus_outcome outcome)
{
    const pappus_zone *zone = &r->answer->zones->outcomes[outcome];
    char chance[PAPPUS_TEXT_SIZE], both[PAGE_BOTH_SIZE], speed[PAGE_BOTH_SIZE];
    page_row_begin(table);
    page_cell(table, "%s", pappus_outcome_text(outcome));
    page_cell(table, "%s", pappus_format_chance(chance, sizeof chance, zone->probability));
    page_cell(table, "%s %s",
              page_both(both, PAPPUS_SHOW_DISTANCE, hypot(zone->mean_east_m, zone->mean_north_m),
                        r->units),
              pappus_compass_point(pappus_bearing_of(zone->mean_east_m, zone->mean_north_m)));
    page_cell(table, "%s", page_both(both, PAPPUS_SHOW_DISTANCE, zone->drift_m.p95, r->units));
    page_cell(table, "%s", page_both(speed, PAPPUS_SHOW_SPEED, zone->landing_vz_mps.p50, r->units));
    page_cell(table, "%s", advice(outcome));
    page_row_end(table);
}

/* Told only where it happens. */
static void put_unopened(const report *r)
{
    bool any = false;
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++) {
        const pappus_zone *zone = &r->answer->zones->outcomes[i];
        char share[PAPPUS_TEXT_SIZE];
        if (!(zone->unopened > 0)) continue;
        if (!any) page_open(r->xml, "p", NULL);
        page_text(r->xml, "%s%s %s", any ? ", " : "Touches down before the main is full open: ",
                  pappus_outcome_text((pappus_outcome)i),
                  pappus_format_chance(share, sizeof share, zone->unopened));
        any = true;
    }
    if (!any) return;
    page_text(r->xml, ".");
    page_close(r->xml);
}

static int put_outcomes_map(const report *r)
{
    drawing d = {r->answer, r->units, DRAWING_OUTCOMES, false, NULL};
    bool any = false;
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
        any |= r->answer->zones->outcomes[i].contour_count > 0;
    if (!any) return PAPPUS_OK;
    page_open(r->xml, "figure", "map");
    int status = drawing_map(r->xml, &d, r->err);
    page_put(r->xml, "figcaption", NULL,
             "The zone of 90 %% of each outcome's landings, given that it happens.");
    page_close(r->xml);
    return status;
}

int report_put_outcomes(const report *r)
{
    static const char *const headings[] = {
        "Outcome",         "Chance",        "Middle, from the pad",
        "19 of 20 within", "Comes down at", "What to do"};
    page_table table;
    page_section(r->xml, "outcomes", "If something fails");
    page_open(r->xml, "div", "columns wide-right");
    int status = put_outcomes_map(r);
    page_open(r->xml, "div", NULL);
    page_table_begin(&table, r->xml, NULL, "Outcomes, their chance, and what to do", headings, 6);
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
        if (r->answer->zones->outcomes[i].landings > 0)
            put_outcome_row(r, &table, (pappus_outcome)i);
    page_table_end(&table);
    put_unopened(r);
    page_close(r->xml);
    page_close(r->xml);
    page_close(r->xml);
    return status;
}

/* ------------------------------------------------------------------ drivers */

void report_put_drivers(const report *r)
{
    static const char *const headings[] = {"Source", "Share", ""};
    const pappus_sensitivity *s = r->answer->sensitivity;
    char both[PAGE_BOTH_SIZE], text[64];
    page_table table;
    if (!s || s->driver_count == 0) return;
    page_section(r->xml, "drivers", "What makes the zone wide");
    page_put(r->xml, "p", NULL, "Spread (one standard deviation) %s %s, axis %s-%s.",
             page_both(both, PAPPUS_SHOW_DISTANCE, s->sd_m, r->units),
             s->towards_boundary ? "towards the nearest boundary" : "along the zone's long side",
             pappus_compass_point(s->axis_bearing_deg),
             pappus_compass_point(s->axis_bearing_deg + 180));
    page_table_begin(&table, r->xml, "dense",
                     "Share of the variance; a better measurement of the first one "
                     "shrinks the zone most",
                     headings, 2);
    for (size_t i = 0; i < s->driver_count; i++) {
        double share = fmax(0, s->drivers[i].share);
        page_row_begin(&table);
        page_cell(&table, "%s", s->drivers[i].name);
        snprintf(text, sizeof text, "width:%.0f%%", 100 * fmin(1, share));
        pappus_xml_start(r->xml, "td");
        pappus_xml_attribute(r->xml, "data-label", "Share");
        page_open(r->xml, "div", "share");
        page_put(r->xml, "span", NULL, "%.0f %% (\xC2\xB1%.0f)", 100 * share,
                 100 * s->drivers[i].error);
        pappus_xml_start(r->xml, "span");
        pappus_xml_attribute(r->xml, "class", "bar");
        pappus_xml_attribute(r->xml, "style", text);
        page_close(r->xml);
        page_close(r->xml);
        page_close(r->xml);
        page_row_end(&table);
    }
    page_table_end(&table);
    page_close(r->xml);
}

/* ------------------------------------------------------------------ ceiling */

/* No-go, and go again in stronger wind. */
static bool goes_again(const pappus_ceiling_row *row)
{
    return row->go && !row->monotonic && !(row->floor_mps > 0);
}

static void ceiling_wind(char *out, size_t size, const report *r, const pappus_ceiling_row *row)
{
    char top[PAPPUS_TEXT_SIZE], floor[PAPPUS_TEXT_SIZE];
    pappus_format_down(top, sizeof top, PAPPUS_SHOW_WIND, row->surface_wind_mps, r->units);
    pappus_format(floor, sizeof floor, PAPPUS_SHOW_WIND, row->floor_mps, r->units);
    if (!row->go)
        snprintf(out, size, "none");
    else if (row->floor_mps > 0)
        snprintf(out, size, "%s to %s", floor, top);
    else
        snprintf(out, size, "%s%s%s%s", row->reached ? "up to " : "", top,
                 row->reached ? "" : " and above (highest tried)", goes_again(row) ? " *" : "");
}

void report_put_ceiling(const report *r)
{
    const pappus_ceiling *ceiling = r->answer->ceiling;
    char wind[3 * PAPPUS_TEXT_SIZE], limit[PAPPUS_REASON_SIZE];
    page_table table;
    if (!ceiling) return;
    bool fielded = r->answer->field && r->answer->field->has_boundary;
    const char *const headings[] = {
        "Wind from", fielded ? "Go in surface wind" : "Others met in surface wind", "Then breaks"};
    page_section(r->xml, "ceiling", "The wind at which the answer turns");
    ceiling_wind(wind, sizeof wind, r, &ceiling->planned);
    pappus_format_turn(limit, sizeof limit, r->answer->plan, &ceiling->planned);
    page_open(r->xml, "p", NULL);
    page_text(r->xml, "%sWind from %.0f deg (%s), as planned: %s",
              fielded ? "" : "No field was given: nothing here is a go. ",
              ceiling->planned.wind_from_deg, pappus_compass_point(ceiling->planned.wind_from_deg),
              !ceiling->planned.go ? "no wind is go"
              : fielded            ? "go in "
                                   : "the other limits are met in ");
    if (ceiling->planned.go) page_put(r->xml, "b", NULL, "%s", wind);
    page_text(r->xml, "; the limit in the way is %s.", limit);
    page_close(r->xml);
    page_open(r->xml, "div", "flow");
    page_table_begin(&table, r->xml, "dense",
                     "All winds turned and scaled together, on the same landings", headings, 3);
    for (size_t i = 0; i < ceiling->row_count; i++) {
        const pappus_ceiling_row *row = &ceiling->rows[i];
        page_row_begin(&table);
        page_cell(&table, "%.0f deg %s", row->wind_from_deg,
                  pappus_compass_point(row->wind_from_deg));
        ceiling_wind(wind, sizeof wind, r, row);
        page_cell(&table, "%s", wind);
        pappus_format_turn(limit, sizeof limit, r->answer->plan, row);
        page_cell_user(&table, limit);
        page_row_end(&table);
    }
    page_table_end(&table);
    page_close(r->xml);
    bool again = goes_again(&ceiling->planned);
    for (size_t i = 0; i < ceiling->row_count; i++) again |= goes_again(&ceiling->rows[i]);
    if (again)
        page_put(r->xml, "p", NULL, "* Go again in stronger wind: do not trust that.");
    if (ceiling->fixed_bearing)
        page_put(r->xml, "p", NULL,
                 "The apogee's bearing is fixed in the plan: it does not turn "
                 "with the wind here, but a flight would.");
    page_close(r->xml);
}
