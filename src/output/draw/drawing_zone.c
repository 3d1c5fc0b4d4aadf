/* SPDX-License-Identifier: GPL-3.0-or-later
 * What lies within the frame of a map: the ground, the landings, the central flight's
 * track over the ground. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "drawing_map.h"
#include "format.h"

#define TRACK_STEP 2.0 /* units from point to point */
#define MOST_OFF 0.02  /* a normal ellipse whose share is further off misleads (A) */

/* ------------------------------------------------------------------- ground */

static void put_road(map *m, const pappus_road *road, const char *style)
{
    svg_trace line;
    svg_trace_begin(&line, m->xml);
    for (size_t k = 0; k < road->point_count; k++)
        svg_trace_to(&line, view_x(&m->view, road->points_m[2 * k]),
                     view_y(&m->view, road->points_m[2 * k + 1]));
    svg_trace_put(&line, style, NULL);
}

void map_put_ground(map *m)
{
    const pappus_field *field = m->answer->field;
    if (!field) return;
    if (field->has_boundary) map_put_area(m, "m-field", NULL, &field->boundary);
    for (size_t i = 0; i < field->road_count; i++) {
        put_road(m, &field->roads[i], "m-road-edge");
        put_road(m, &field->roads[i], "m-road");
    }
    for (size_t i = 0; i < field->keep_out_count; i++)
        map_put_area(m, map_keep_style(m), NULL, &field->keep_outs[i]);
}

void map_put_outlines(map *m)
{
    const pappus_field *field = m->answer->field;
    if (!field || !field->has_boundary) return;
    map_put_area(m, "m-bound-halo", NULL, &field->boundary);
    map_put_area(m, "m-bound", NULL, &field->boundary);
}

/* ----------------------------------------------------------------- landings */

/* Every dot is one chance in MAP_DOTS. */
static void put_dots(map *m)
{
    const pappus_cloud *cloud = m->answer->cloud;
    svg_trace dots;
    svg_trace_begin(&dots, m->xml);
    double reached = 0, next = 0.5 / MAP_DOTS;
    for (size_t i = 0; i < cloud->count; i++) {
        double east_m = cloud->east_m[i], north_m = cloud->north_m[i];
        for (reached += pappus_cloud_weight(cloud, i); next < reached; next += 1.0 / MAP_DOTS) {
            if (view_holds(&m->view, east_m, north_m))
                svg_trace_dot(&dots, view_x(&m->view, east_m), view_y(&m->view, north_m));
            else
                m->dots_outside++;
        }
    }
    svg_trace_put(&dots, "m-dots m-plan", NULL);
}

/* Of all outcomes together the far ones stretch it; of the nominal ones it tells the truth
 * or is left out. */
bool map_has_ellipse(const map *m)
{
    const pappus_ellipse *e = &m->answer->zones->outcomes[PAPPUS_NOMINAL].ellipses[DRAWING_ELLIPSE];
    return m->answer->zones->outcomes[PAPPUS_NOMINAL].landings > 0 && isfinite(e->major_m) &&
           isfinite(e->bearing_deg) && fabs(e->share - e->level) <= MOST_OFF;
}

static void put_ellipse(map *m)
{
    const pappus_zone *zone = &m->answer->zones->outcomes[PAPPUS_NOMINAL];
    const pappus_ellipse *e = &zone->ellipses[DRAWING_ELLIPSE];
    if (!map_has_ellipse(m)) return;
    pappus_xml_start(m->xml, "ellipse");
    svg_number(m->xml, "rx", e->minor_m * m->view.scale);
    svg_number(m->xml, "ry", e->major_m * m->view.scale);
    svg_attribute(m->xml, "transform", "translate(%.1f %.1f) rotate(%.1f)",
                  view_x(&m->view, zone->mean_east_m), view_y(&m->view, zone->mean_north_m),
                  e->bearing_deg);
    pappus_xml_attribute(m->xml, "class", "m-ellipse m-plan");
    pappus_xml_end(m->xml);
}

const map_level map_levels[DRAWING_CONTOURS] = {
#define DRAWN(n) {PAPPUS_LEVEL_##n, "m-in" #n, "m-c" #n, "fill-" #n, "line-" #n, #n " %"},
    DRAWING_LEVEL_LIST(DRAWN)
#undef DRAWN
};

/* Ids are for the report's slider; the map is in it once. */
static void put_contours(map *m, bool lines)
{
    for (size_t i = DRAWING_CONTOURS; i-- > 0;) {
        const pappus_area *shape = map_contour(&m->answer->zones->all, map_levels[i].level);
        if (shape)
            map_put_area(m, lines ? map_levels[i].line : map_levels[i].fill,
                         lines ? map_levels[i].line_id : map_levels[i].fill_id, shape);
    }
}

/* The point of the path at a time, linear between its points. */
static bool path_at(const pappus_path *path, double time_s, double *east_m, double *north_m)
{
    size_t i = 0;
    if (path->count == 0 || isnan(time_s)) return false;
    while (i + 1 < path->count && path->points[i].time_s < time_s)
        i++;
    const pappus_path_point *b = &path->points[i], *a = i > 0 ? b - 1 : b;
    double span_s = b->time_s - a->time_s;
    double share = span_s > 0 ? fmin(1, (time_s - a->time_s) / span_s) : 1;
    *east_m = a->east_m + share * (b->east_m - a->east_m);
    *north_m = a->north_m + share * (b->north_m - a->north_m);
    return true;
}

bool map_track_point(const map *m, map_event event, double *x, double *y)
{
    const pappus_path *path = m->answer->path;
    double east_m, north_m;
    if (m->drawing->subject != DRAWING_ZONE || !path || path->count < 2) return false;
    double time_s = event == MAP_APOGEE ? path->points[0].time_s : path->main_full_open_s;
    if (!path_at(path, time_s, &east_m, &north_m)) return false;
    *x = view_x(&m->view, east_m);
    *y = view_y(&m->view, north_m);
    return true;
}

void map_put_diamond(map *m, double x, double y)
{
    char data[96];
    snprintf(data, sizeof data, "M%.1f %.1fl6 6l-6 6l-6-6z", x, y - 6);
    svg_path(m->xml, "m-event m-plan", NULL, data);
}

static void trace_track(svg_trace *line, const map *m, const pappus_path *path)
{
    double last_x = NAN, last_y = NAN;
    for (size_t i = 0; i < path->count; i++) {
        double x = view_x(&m->view, path->points[i].east_m);
        double y = view_y(&m->view, path->points[i].north_m);
        if (i + 1 < path->count && hypot(x - last_x, y - last_y) < TRACK_STEP) continue;
        svg_trace_to(line, x, y);
        last_x = x;
        last_y = y;
    }
}

/* A ring at the apogee, a diamond where the main is open. */
static void put_track(map *m)
{
    static const char *const styles[] = {"m-track-halo m-plan", "m-track m-plan"};
    double x, y;
    if (!map_track_point(m, MAP_APOGEE, &x, &y)) return;
    for (size_t i = 0; i < 2; i++) {
        svg_trace line;
        svg_trace_begin(&line, m->xml);
        trace_track(&line, m, m->answer->path);
        svg_trace_put(&line, styles[i], NULL);
    }
    svg_circle(m->xml, x, y, 4.5, "m-event m-plan");
    if (map_track_point(m, MAP_MAIN_OPEN, &x, &y)) map_put_diamond(m, x, y);
}

void map_put_zone(map *m)
{
    put_contours(m, false);
    put_dots(m);
    put_ellipse(m);
    put_contours(m, true);
    put_track(m);
}

const char *map_outcome_style(pappus_outcome outcome)
{
    static const char *const styles[PAPPUS_OUTCOMES] = {"m-o0", "m-o1", "m-o2", "m-o3", "m-o4"};
    return styles[outcome];
}

void map_put_outcomes(map *m)
{
    for (size_t i = PAPPUS_OUTCOMES; i-- > 0;) {
        const pappus_area *shape = map_contour(&m->answer->zones->outcomes[i], PAPPUS_LEVEL_90);
        if (shape) map_put_area(m, map_outcome_style((pappus_outcome)i), NULL, shape);
    }
}

/* ------------------------------------------------------------------- hazard */

const map_hazard_level map_hazard_levels[PAPPUS_HAZARD_LEVELS] = {
    {"m-h0", "once in 10 000 flights"},
    {"m-h1", "once in 100 000"},
    {"m-h2", "once in 1 000 000"},
    {"m-h3", "once in 10 000 000"},
};

/* The rarest first: it holds the others. */
void map_put_hazard(map *m)
{
    const pappus_hazard *hazard = m->answer->hazard;
    for (size_t l = hazard->contour_count; l-- > 0;)
        if (hazard->contours[l].shape.polygon_count > 0)
            map_put_area(m, map_hazard_levels[l].style, NULL, &hazard->contours[l].shape);
}
