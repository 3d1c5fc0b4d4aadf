/* SPDX-License-Identifier: GPL-3.0-or-later
 * The first screen of the report, all limits, the altimeters and the posts. */
#include <math.h>
#include <string.h>

#include "error.h"
#include "report.h"

#define MOST_REASONS 3 /* on the first screen */
#define MOST_POSTS 2

/* What all main heights would move by to come to the recommended one; NaN without. */
static double main_shift_m(const report *r)
{
    return r->answer->heights ? r->answer->heights->shift_m : NAN;
}

/* ----------------------------------------------------------------- decision */

static void put_banner(const report *r, const char *element, const statement *decision,
                       const char *whose)
{
    static const char *const styles[] = {"verdict yes", "verdict no", "verdict open"};
    page_open(r->xml, element, styles[decision->tone]);
    page_put_mark(r->xml, (page_mark)decision->tone);
    page_put(r->xml, "span", NULL, "%s", decision->strong);
    if (whose) page_put(r->xml, "small", NULL, "%s", whose);
    if (decision->full) page_put(r->xml, "small", NULL, "%s", decision->full);
    page_close(r->xml);
}

/* Of several parts the flight's decision comes first: the worst of them. */
static void put_verdict(const report *r)
{
    const statement *flight = statement_next(r->said, SAY_FLIGHT, NULL);
    const statement *decision = statement_next(r->said, SAY_DECISION, NULL);
    if (!decision)
        page_put(r->xml, "h1", NULL, "Landing zone");
    else if (!flight)
        put_banner(r, "h1", decision, NULL);
    else {
        put_banner(r, "h1", flight, "the flight, worst of its parts");
        put_banner(r, "p", decision, "this part alone");
    }
}

static void put_reason(const report *r, const statement *reason)
{
    page_open(r->xml, "li", NULL);
    page_put_mark(r->xml, (page_mark)reason->tone);
    page_open(r->xml, "div", NULL);
    pappus_xml_attribute(r->xml, "dir", "auto");
    if (reason->strong) page_put(r->xml, "b", NULL, "%s", reason->strong);
    page_text(r->xml, "%s", reason->full);
    page_close(r->xml);
    page_close(r->xml);
}

static void put_why(const report *r)
{
    const statement *why = statement_next(r->said, SAY_WHY, NULL);
    size_t count = statements_count(r->said, SAY_LEAD), shown = 0;
    page_open(r->xml, "article", NULL);
    page_put(r->xml, "h2", NULL, "Why");
    page_open(r->xml, "ul", NULL);
    if (why) page_put(r->xml, "li", NULL, "%s", why->full);
    for (const statement *it = NULL; (it = statement_next(r->said, SAY_LEAD, it));)
        if (shown++ < MOST_REASONS) put_reason(r, it);
    if (count > MOST_REASONS)
        page_put(r->xml, "li", NULL, "and %zu more below", count - MOST_REASONS);
    page_close(r->xml);
    page_close(r->xml);
}

static void put_post_line(const report *r, const statement *post)
{
    page_open(r->xml, "li", NULL);
    page_put(r->xml, "span", "badge", "%zu", post->index + 1);
    page_open(r->xml, "div", NULL);
    page_put(r->xml, "b", "num", "%s", post->strong);
    page_text(r->xml, "%s", post->full);
    page_close(r->xml);
    page_close(r->xml);
}

static void put_where(const report *r)
{
    const statement *none = statement_next(r->said, SAY_CREWS, NULL);
    size_t count = statements_count(r->said, SAY_POST), shown = 0;
    page_open(r->xml, "article", NULL);
    page_put(r->xml, "h2", NULL, "Where to wait");
    page_open(r->xml, "ol", NULL);
    if (none) page_put(r->xml, "li", NULL, "%s", none->full);
    for (const statement *it = NULL; (it = statement_next(r->said, SAY_POST, it));)
        if (shown++ < MOST_POSTS) put_post_line(r, it);
    if (count > MOST_POSTS) page_put(r->xml, "li", NULL, "and %zu more below", count - MOST_POSTS);
    page_close(r->xml);
    page_close(r->xml);
}

static void put_altimeter_line(const report *r, const pappus_altimeter *altimeter, double shift_m)
{
    char height[PAGE_BOTH_SIZE], cut[PAGE_LONGEST + 4];
    page_open(r->xml, "li", NULL);
    page_open(r->xml, "div", NULL);
    page_put_user(r->xml, "b", NULL, page_cut(cut, altimeter->name));
    page_text(r->xml, ": %s at apogee + %.1f s",
              r->answer->plan->drogue.present ? "drogue" : "fires", altimeter->drogue_delay_s.mean);
    if (!isnan(altimeter->main_height_m))
        page_text(r->xml, ", main at %s",
                  page_one(height, PAPPUS_SHOW_HEIGHT, altimeter->main_height_m, r->units));
    if (isfinite(altimeter->main_height_m + shift_m) && shift_m != 0)
        page_text(
            r->xml, " (recommended %s)",
            page_one(height, PAPPUS_SHOW_HEIGHT, altimeter->main_height_m + shift_m, r->units));
    page_close(r->xml);
    page_close(r->xml);
}

static void put_program(const report *r)
{
    const statement *advice = statement_next(r->said, SAY_HEIGHT, NULL);
    const pappus_plan *plan = r->answer->plan;
    page_open(r->xml, "article", NULL);
    page_put(r->xml, "h2", NULL, "What to program");
    page_open(r->xml, "ul", NULL);
    for (size_t i = 0; i < plan->altimeter_count && i < 3; i++)
        put_altimeter_line(r, &plan->altimeters[i], main_shift_m(r));
    page_close(r->xml);
    if (advice) {
        page_open(r->xml, "p", NULL);
        page_text(r->xml, "%s", advice->full);
        page_close(r->xml);
    }
    page_close(r->xml);
}

void report_put_decision(const report *r)
{
    put_verdict(r);
    if (r->answer->plan->title) page_put_user(r->xml, "p", "title", r->answer->plan->title);
    page_open_id(r->xml, "section", "answers", "answer");
    put_why(r);
    put_where(r);
    put_program(r);
    page_close(r->xml);
    page_put(r->xml, "p", "caution", "%s", pappus_caution());
}

void report_put_limits(const report *r)
{
    if (!statement_next(r->said, SAY_LIMIT, NULL)) return;
    page_section(r->xml, "limits", "Every limit of the plan");
    page_open(r->xml, "ul", "limits");
    for (const statement *it = NULL; (it = statement_next(r->said, SAY_LIMIT, it));)
        put_reason(r, it);
    page_close(r->xml);
    page_put(r->xml, "p", "quiet", "%s", statement_next(r->said, SAY_SAMPLED, NULL)->full);
    page_close(r->xml);
}

/* --------------------------------------------------------------- altimeters */

static void put_altimeter_row(const report *r, page_table *table, const pappus_altimeter *altimeter)
{
    char both[PAGE_BOTH_SIZE];
    double shift_m = main_shift_m(r), height_m = altimeter->main_height_m;
    page_row_begin(table);
    page_cell_user(table, altimeter->name);
    page_cell(table, "apogee + %.1f s", altimeter->drogue_delay_s.mean);
    if (isnan(height_m)) {
        page_cell(table, "fires no main");
        page_cell(table, "-");
        page_cell(table, "-");
        page_row_end(table);
        return;
    }
    page_cell(table, "%s", page_both(both, PAPPUS_SHOW_HEIGHT, height_m, r->units));
    if (r->answer->air)
        page_cell(table, "%s",
                  page_both(both, PAPPUS_SHOW_HEIGHT,
                            pappus_air_true_height_m(r->answer->air, height_m), r->units));
    else
        page_cell(table, "not known");
    if (!isnan(shift_m))
        page_cell(table, "%s", page_both(both, PAPPUS_SHOW_HEIGHT, height_m + shift_m, r->units));
    else
        page_cell(table, "none");
    page_row_end(table);
}

void report_put_altimeters(const report *r)
{
    static const char *const headings[] = {"Altimeter", "First charge", "Main, as planned",
                                           "True height today", "Main, recommended"};
    const pappus_plan *plan = r->answer->plan;
    page_table table;
    page_section(r->xml, "set", "What to set");
    page_table_begin(&table, r->xml, NULL,
                     "An altimeter shows height in standard air: in today's air "
                     "the main fires at the true height.",
                     headings, 5);
    for (size_t i = 0; i < plan->altimeter_count; i++)
        put_altimeter_row(r, &table, &plan->altimeters[i]);
    page_table_end(&table);
    if (pappus_is_present(plan->motor_delay_s))
        page_put(r->xml, "p", NULL, "The motor's own ejection fires at apogee %+.1f s.",
                 plan->motor_delay_s.mean);
    page_put(r->xml, "p", "quiet",
             "The decision above is for the heights as planned. Heights move "
             "together: the backup keeps its distance to the primary.");
    page_close(r->xml);
}

/* -------------------------------------------------------------------- posts */

static void put_post_row(const report *r, page_table *table, size_t index)
{
    const pappus_post *post = &r->answer->crews->posts[index];
    char place[PAPPUS_TEXT_SIZE], both[PAGE_BOTH_SIZE], bearing[PAPPUS_TEXT_SIZE];
    char chance[PAPPUS_TEXT_SIZE];
    page_row_begin(table);
    page_cell(table, "Post %zu", index + 1);
    page_cell(table, "%s",
              pappus_format_position(place, sizeof place, post->latitude_deg, post->longitude_deg));
    page_cell(table, "%s, %s %s", page_both(both, PAPPUS_SHOW_DISTANCE, post->distance_m, r->units),
              pappus_compass_point(post->bearing_deg),
              pappus_format_bearing(bearing, sizeof bearing, post->bearing_deg,
                                    r->answer->plan->site.declination_deg));
    page_cell_user(table, post->road && post->road[0] ? post->road : "on the field");
    page_cell(table, "%s", page_both(both, PAPPUS_SHOW_DISTANCE, post->walk_mean_m, r->units));
    page_cell(table, "%s", page_both(both, PAPPUS_SHOW_DISTANCE, post->walk_p90_m, r->units));
    page_cell(
        table, "%s of landings, about %s %s of the post",
        pappus_format_chance(chance, sizeof chance, post->share),
        page_both(both, PAPPUS_SHOW_DISTANCE,
                  hypot(post->served_east_m - post->east_m, post->served_north_m - post->north_m),
                  r->units),
        pappus_compass_point(pappus_bearing_of(post->served_east_m - post->east_m,
                                               post->served_north_m - post->north_m)));
    page_row_end(table);
}

void report_put_posts(const report *r)
{
    static const char *const headings[] = {"Post",  "Latitude, longitude", "From the pad",
                                           "On",    "Walk, mean",          "Walk, 9 of 10",
                                           "Serves"};
    const pappus_crews *crews = r->answer->crews;
    page_table table;
    char caption[240], speed[PAPPUS_TEXT_SIZE];
    if (!crews) return;
    page_section(r->xml, "wait", "Where the crews wait");
    const statement *none = statement_next(r->said, SAY_CREWS, NULL);
    if (none) {
        page_put(r->xml, "p", NULL, "%s", none->full);
    } else {
        double walking_mps = r->answer->plan->crew_walking_speed_mps;
        snprintf(caption, sizeof caption,
                 "Straight walk to the landing from the nearest post, %.0f minutes on average at "
                 "%s. The posts are in posts.gpx too.",
                 ceil(crews->walk_mean_m / walking_mps / 60.0),
                 pappus_format(speed, sizeof speed, PAPPUS_SHOW_WIND, walking_mps, r->units));
        page_table_begin(&table, r->xml, "cards", caption, headings, 7);
        for (size_t i = 0; i < crews->post_count; i++)
            put_post_row(r, &table, i);
        page_table_end(&table);
    }
    page_close(r->xml);
}
