/* SPDX-License-Identifier: GPL-3.0-or-later
 * What stands about the frame of a map: heading, winds, north, scale, notes of what
 * lies beyond, legend, caution; and the style of it all. Wind arrows fly with the
 * wind; the words beside them say where it comes from. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "both.h"
#include "drawing_map.h"
#include "si.h"
#include "statement.h"

#define HEADING_HEIGHT 78.0
#define TITLE_LINES 2
#define WINDS_HEIGHT 46.0
#define LINE 20.0
#define STAMP_TEXT 12.0 /* as in the style */
#define STAMP_LINE 15.0
#define ALOFT_M 304.8         /* 1000 ft */
#define LEAST_ALOFT_M 450.0   /* an apogee below this has no wind aloft of its own */
#define READING_HEIGHT_M 10.0 /* where the surface wind is taken without a reading */
#define SCALE_SHARE 0.3       /* of the frame's width, at most */
#define SCALE_HEIGHT 40.0

/* ------------------------------------------------------------------ heading */

double map_heading_height(const drawing *d)
{
    return d->alone ? HEADING_HEIGHT : 0;
}

/* Of a flight in parts, the flight's decision: no part goes alone. */
double map_put_heading(map *m, double y)
{
    const pappus_judgement *judgement = m->answer->judgement;
    const pappus_decision *decision = m->drawing->flight ? m->drawing->flight
                                      : judgement        ? &judgement->decision
                                                         : NULL;
    char line[400];
    const char *title = m->answer->plan->title ? m->answer->plan->title : "";
    double width = MAP_WIDTH - 2 * MAP_EDGE - 4;
    if (!m->drawing->alone) return y;
    svg_text(m->xml, MAP_EDGE + 2, y + 28, "m-decision", "%s%s",
             decision ? pappus_decision_shout(*decision) : "LANDING ZONE",
             decision && *decision == PAPPUS_NOT_DECIDED ? ": treat as no-go" : "");
    for (int i = 1; i <= TITLE_LINES; i++) {
        if (i < TITLE_LINES)
            title += svg_text_line(line, sizeof line, title, MAP_TEXT, width);
        else
            svg_text_fit(line, sizeof line, title, MAP_TEXT, width);
        svg_text(m->xml, MAP_EDGE + 2, y + 32 + 18 * i, "m-text", "%s", line);
    }
    return y + HEADING_HEIGHT;
}

/* -------------------------------------------------------------------- winds */

static bool has_winds(const drawing *d)
{
    return d->answer->air && d->subject == DRAWING_ZONE;
}

double map_winds_height(const drawing *d)
{
    return has_winds(d) ? WINDS_HEIGHT : MAP_EDGE;
}

static void put_wind(map *m, double x, double y, const char *where, double speed_mps,
                     double from_deg)
{
    char speed[PAPPUS_TEXT_SIZE];
    pappus_format(speed, sizeof speed, PAPPUS_SHOW_WIND, speed_mps, m->drawing->units);
    if (speed_mps > 0) svg_arrow(m->xml, x + 15, y + 21, 26, from_deg + 180, "m-wind");
    svg_text(m->xml, x + 34, y + 18, "m-small", "%s", where);
    if (speed_mps > 0)
        svg_text(m->xml, x + 34, y + 36, "m-text m-strong", "%s %s", speed,
                 pappus_compass_point(from_deg));
    else
        svg_text(m->xml, x + 34, y + 36, "m-text m-strong", "calm");
}

static void put_wind_at(map *m, double x, double y, double height_m)
{
    double u, v;
    char where[2 * PAPPUS_TEXT_SIZE], height[PAPPUS_TEXT_SIZE];
    pappus_air_mean_wind(m->answer->air, height_m, &u, &v);
    pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, height_m, m->drawing->units);
    snprintf(where, sizeof where, "at %s, from", height);
    put_wind(m, x, y, where, hypot(u, v), pappus_bearing_of(-u, -v));
}

double map_put_winds(map *m, double y)
{
    const pappus_plan *plan = m->answer->plan;
    double third = (MAP_WIDTH - 2 * MAP_EDGE) / 3, apogee_m = plan->apogee.height_m.mean;
    double u, v;
    if (!has_winds(m->drawing)) return y + MAP_EDGE;
    if (plan->wind.has_surface) {
        put_wind(m, MAP_EDGE, y, "surface, from", plan->wind.surface.speed_mps,
                 plan->wind.surface.direction_deg);
    } else {
        pappus_air_mean_wind(m->answer->air, READING_HEIGHT_M, &u, &v);
        put_wind(m, MAP_EDGE, y, "surface, from", hypot(u, v), pappus_bearing_of(-u, -v));
    }
    if (apogee_m > LEAST_ALOFT_M) put_wind_at(m, MAP_EDGE + third, y, ALOFT_M);
    put_wind_at(m, MAP_EDGE + 2 * third, y, apogee_m);
    return y + WINDS_HEIGHT;
}

/* ---------------------------------------------------------- scale and north */

static void put_bar(map *m, double y, double length, const char *label)
{
    double x = MAP_EDGE + 1;
    svg_rectangle(m->xml, x, y, length / 2, 6, "m-bar");
    svg_rectangle(m->xml, x + length / 2, y, length / 2, 6, "m-bar m-bar-open");
    svg_text(m->xml, x + length + 7, y + 8, "m-small", "%s", label);
}

/* Below the frame, where they cover nothing. */
double map_put_scale_and_north(map *m, double y)
{
    double most_m = SCALE_SHARE * (m->view.frame.right - m->view.frame.left) / m->view.scale;
    double feet = view_round_length(most_m / PAPPUS_FOOT_M), metres = view_round_length(most_m);
    double x = m->view.frame.right - 30;
    char label[PAPPUS_TEXT_SIZE];
    snprintf(label, sizeof label, "%.0f ft", feet);
    put_bar(m, y + 8, feet * PAPPUS_FOOT_M * m->view.scale, label);
    snprintf(label, sizeof label, "%.0f m", metres);
    put_bar(m, y + 25, metres * m->view.scale, label);
    svg_text(m->xml, x, y + 27, "m-text m-strong m-center", "N");
    svg_arrow(m->xml, x + 18, y + 22, 26, 0, "m-wind");
    return y + SCALE_HEIGHT;
}

/* -------------------------------------------------------------------- notes */

static double put_note(map *m, double y, const char *text)
{
    char fitted[400];
    svg_text_fit(fitted, sizeof fitted, text, MAP_TEXT - 1, (MAP_WIDTH - 2 * MAP_EDGE) * 1.06);
    svg_text(m->xml, MAP_EDGE, y + 15, "m-note", "%s", fitted);
    return y + LINE - 2;
}

/* Where an outcome goes whose zone is not wholly in the frame. */
static double note_outcome(map *m, double y, pappus_outcome outcome)
{
    const pappus_zone *zone = &m->answer->zones->outcomes[outcome];
    const pappus_area *shape = map_contour(zone, 1);
    char chance[PAPPUS_TEXT_SIZE], reach[PAPPUS_TEXT_SIZE], text[300];
    if (!shape || view_holds_area(&m->view, shape)) return y;
    pappus_format_chance(chance, sizeof chance, zone->probability);
    pappus_format(reach, sizeof reach, PAPPUS_SHOW_DISTANCE, zone->drift_m.p95, m->drawing->units);
    snprintf(text, sizeof text, "Beyond: %s (%s), up to %s %s", pappus_outcome_text(outcome),
             chance, reach,
             pappus_compass_point(pappus_bearing_of(zone->mean_east_m, zone->mean_north_m)));
    return put_note(m, y, text);
}

double map_put_notes(map *m, double y)
{
    const pappus_field *field = m->answer->field;
    char text[200];
    y += 4;
    if (m->drawing->subject == DRAWING_NEAR) return y;
    if (m->drawing->subject == DRAWING_ZONE)
        for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
            y = note_outcome(m, y, (pappus_outcome)i);
    if (field && field->has_boundary && !view_holds_area(&m->view, &field->boundary))
        y = put_note(m, y, "The field goes on beyond this frame.");
    if (!field || !field->has_boundary) y = put_note(m, y, "No field boundary was given.");
    if (m->dots_outside > 0) {
        snprintf(text, sizeof text, "%zu of %d dots lie beyond this frame.", m->dots_outside,
                 MAP_DOTS);
        y = put_note(m, y, text);
    }
    return y;
}

/* ------------------------------------------------------------------- legend */

typedef struct {
    map *m;
    double top;
    size_t count;
} legend;

static double legend_x(const legend *l)
{
    return MAP_EDGE + (double)(l->count % 2) * (MAP_WIDTH - 2 * MAP_EDGE) / 2;
}

static double legend_y(const legend *l)
{
    return l->top + LINE * (double)(l->count / 2) + LINE / 2;
}

static void legend_text(legend *l, const char *text)
{
    svg_text(l->m->xml, legend_x(l) + 36, legend_y(l) + 5, "m-small", "%s", text);
    l->count++;
}

static void legend_line(legend *l, const char *style, const char *text)
{
    double x = legend_x(l), y = legend_y(l);
    svg_line(l->m->xml, x, y, x + 30, y, style);
    legend_text(l, text);
}

static void legend_box(legend *l, const char *style, const char *text)
{
    double x = legend_x(l), y = legend_y(l);
    svg_rectangle(l->m->xml, x + 1, y - 7, 28, 14, style);
    legend_text(l, text);
}

/* What is of the planned height only goes with it when the report's slider moves. */
static void legend_plan(legend *l, bool begins)
{
    if (!begins) {
        pappus_xml_end(l->m->xml);
        return;
    }
    pappus_xml_start(l->m->xml, "g");
    pappus_xml_attribute(l->m->xml, "class", "m-plan");
}

static void legend_dots(legend *l)
{
    char data[200];
    double x = legend_x(l), y = legend_y(l);
    snprintf(data, sizeof data, "M%.1f %.1fh0M%.1f %.1fh0M%.1f %.1fh0M%.1f %.1fh0", x + 6, y - 3,
             x + 12, y + 4, x + 19, y - 2, x + 25, y + 3);
    svg_path(l->m->xml, "m-dots", NULL, data);
    legend_text(l, "1 dot: 1 landing in 1000");
}

static void legend_track(legend *l)
{
    double x, y;
    if (!map_track_point(l->m, MAP_APOGEE, &x, &y)) return;
    svg_line(l->m->xml, legend_x(l), legend_y(l), legend_x(l) + 30, legend_y(l), "m-track");
    svg_circle(l->m->xml, legend_x(l) + 5, legend_y(l), 4.5, "m-event");
    if (map_track_point(l->m, MAP_MAIN_OPEN, &x, &y))
        map_put_diamond(l->m, legend_x(l) + 22, legend_y(l));
    legend_text(l, "track of the mean flight");
}

static void legend_middle(legend *l)
{
    char data[96];
    snprintf(data, sizeof data, "M%.1f %.1fh-8h16h-8v-8v16", legend_x(l) + 15, legend_y(l));
    svg_path(l->m->xml, "m-middle", NULL, data);
    legend_text(l, "middle of the landings");
}

static void legend_post(legend *l)
{
    svg_rectangle(l->m->xml, legend_x(l) + 6, legend_y(l) - 8.5, 17, 17, "m-post");
    svg_text(l->m->xml, legend_x(l) + 14.5, legend_y(l) + 5, "m-post-text", "1");
    legend_text(l, "recovery crew's post");
}

static void legend_zone(legend *l)
{
    if (map_contour(&l->m->answer->zones->all, PAPPUS_LEVEL_50)) {
        legend_line(l, "m-c50", "half land inside (50 %)");
        legend_line(l, "m-c90", "90 of 100 land inside");
        legend_line(l, "m-c95", "95 of 100 land inside");
    }
    legend_middle(l);
    legend_plan(l, true);
    legend_dots(l);
    if (map_has_ellipse(l->m)) legend_line(l, "m-ellipse", "95 % ellipse if all works");
    legend_track(l);
    legend_plan(l, false);
    if (l->m->answer->crews && l->m->answer->crews->post_count > 0) legend_post(l);
}

/* For which height: the report's slider puts another in its place. */
static double put_height(map *m, double y)
{
    const pappus_heights *heights = m->answer->heights;
    char height[PAPPUS_BOTH_SIZE];
    if (m->drawing->subject != DRAWING_ZONE || !heights || heights->row_count == 0) return y;
    pappus_format_both(height, PAPPUS_SHOW_HEIGHT, heights->planned_m, m->drawing->units);
    pappus_xml_start(m->xml, "g");
    pappus_xml_attribute(m->xml, "id", "zone-height");
    svg_text(m->xml, MAP_EDGE, y + 17, "m-text m-strong", "Main at %s, as planned", height);
    pappus_xml_end(m->xml);
    return y + LINE;
}

static void legend_outcomes(legend *l)
{
    if (drawing_has_near(l->m->answer)) legend_box(l, "m-inset", "frame of the map above");
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++) {
        if (!map_contour(&l->m->answer->zones->outcomes[i], 1)) continue;
        legend_line(l, map_outcome_style((pappus_outcome)i),
                    pappus_outcome_text((pappus_outcome)i));
    }
}

static void legend_hazard(legend *l)
{
    const pappus_hazard *hazard = l->m->answer->hazard;
    for (size_t i = 0; i < hazard->contour_count; i++)
        if (hazard->contours[i].shape.polygon_count > 0)
            legend_box(l, map_hazard_levels[i].style, map_hazard_levels[i].text);
}

double map_put_legend(map *m, double y)
{
    const pappus_field *field = m->answer->field;
    legend l = {m, put_height(m, y) + 4, 0};
    if (m->drawing->subject == DRAWING_ZONE)
        legend_zone(&l);
    else if (m->drawing->subject == DRAWING_HAZARD)
        legend_hazard(&l);
    else
        legend_outcomes(&l);
    if (field && field->has_boundary) legend_line(&l, "m-bound", "field boundary");
    if (field && field->keep_out_count > 0) legend_box(&l, map_keep_style(m), "keep-out area");
    if (field && field->road_count > 0) {
        svg_line(m->xml, legend_x(&l), legend_y(&l), legend_x(&l) + 30, legend_y(&l),
                 "m-road-edge");
        legend_line(&l, "m-road", "road");
    }
    return l.top + LINE * (double)((l.count + 1) / 2) + 6;
}

/* What the map rests on; in a report it stands above. */
static double put_stamp(map *m, double y)
{
    char *stamp = stamp_text(m->answer, m->drawing->units), line[200];
    m->xml->failed |= !stamp;
    for (const char *rest = stamp; rest && *rest; y += STAMP_LINE) {
        rest += svg_text_line(line, sizeof line, rest, STAMP_TEXT, MAP_WIDTH - 2 * MAP_EDGE);
        svg_text(m->xml, MAP_EDGE, y + 13, "m-stamp", "%s", line);
    }
    free(stamp);
    return y;
}

double map_put_caution(map *m, double y)
{
    if (!m->drawing->alone) return y;
    y = put_stamp(m, y) + 2;
    svg_text(m->xml, MAP_EDGE, y + 15, "m-small", "%s", pappus_caution());
    return y + LINE + 4;
}
