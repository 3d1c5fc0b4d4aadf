/* SPDX-License-Identifier: GPL-3.0-or-later
 * The first screen of the report, all limits, the altimeters and the posts. */
#include <math.h>
#include <string.h>

#include "error.h"
#include "report.h"

#define MOST_REASONS 3 /* on the first screen, against a go */
#define TIGHTEST 2     /* shown there when all is met */
#define MOST_POSTS 2
#define SAME_HEIGHT_M 0.5

double report_main_shift_m(const pappus_answer *answer)
{
    const pappus_heights *heights = answer->heights;
    if (!heights || isnan(heights->recommended_m)) return 0;
    double shift_m = heights->recommended_m - heights->planned_m;
    return fabs(shift_m) < SAME_HEIGHT_M ? 0 : shift_m;
}

/* -------------------------------------------------------------------- words */

void report_put_sentence(const report *r, const char *text)
{
    char words[PAPPUS_REASON_SIZE];
    page_text(r->xml, "%s", pappus_format_sentence(words, sizeof words, text));
}

/* ----------------------------------------------------------------- decision */

const char *report_shout(pappus_decision decision)
{
    static const char *const shouts[] = {"GO", "NO-GO", "UNDECIDED"};
    return shouts[decision];
}

static void put_banner(const report *r, const char *element, pappus_decision decision,
                       const char *whose)
{
    static const char *const styles[] = {"verdict yes", "verdict no", "verdict open"};
    static const page_mark marks[] = {PAGE_YES, PAGE_NO, PAGE_OPEN};
    page_open(r->xml, element, styles[decision]);
    page_put_mark(r->xml, marks[decision]);
    page_put(r->xml, "span", NULL, "%s", report_shout(decision));
    if (whose) page_put(r->xml, "small", NULL, "%s", whose);
    if (decision == PAPPUS_NOT_DECIDED) page_put(r->xml, "small", NULL, "Treat as no-go");
    page_close(r->xml);
}

/* Of several parts the flight's decision comes first: the worst of them. */
static void put_verdict(const report *r)
{
    const pappus_judgement *judgement = r->answer->judgement;
    if (!judgement)
        page_put(r->xml, "h1", NULL, "Landing zone");
    else if (!r->flight)
        put_banner(r, "h1", judgement->decision, NULL);
    else {
        put_banner(r, "h1", *r->flight, "the flight, worst of its parts");
        put_banner(r, "p", judgement->decision, "this part alone");
    }
}

static void put_reason(const report *r, const pappus_reason *reason)
{
    char words[PAPPUS_REASON_SIZE];
    page_open(r->xml, "li", NULL);
    page_put_mark(r->xml, page_mark_of(reason->verdict));
    page_open(r->xml, "div", NULL);
    pappus_xml_attribute(r->xml, "dir", "auto");
    if (reason->verdict != PAPPUS_MET)
        page_put(r->xml, "b", NULL, "%s: ", pappus_verdict_text(reason->verdict));
    page_text(r->xml, "%s", pappus_format_reason(words, sizeof words, reason, r->units));
    page_close(r->xml);
    page_close(r->xml);
}

/* Puts those of one verdict while there is room; returns how many there were. */
static size_t put_reasons_of(const report *r, pappus_verdict verdict, size_t *room)
{
    const pappus_judgement *judgement = r->answer->judgement;
    size_t found = 0;
    for (size_t i = 0; i < judgement->reason_count; i++) {
        if (judgement->reasons[i].verdict != verdict) continue;
        found++;
        if (*room == 0) continue;
        put_reason(r, &judgement->reasons[i]);
        (*room)--;
    }
    return found;
}

/* The limits nearest to being broken. */
static void put_tightest(const report *r)
{
    const pappus_judgement *judgement = r->answer->judgement;
    size_t last = SIZE_MAX;
    for (size_t shown = 0; shown < TIGHTEST; shown++) {
        size_t best = SIZE_MAX;
        for (size_t i = 0; i < judgement->reason_count; i++) {
            const pappus_reason *reason = &judgement->reasons[i];
            if (i == last) continue;
            if (best == SIZE_MAX ||
                pappus_reason_use(reason) > pappus_reason_use(&judgement->reasons[best]))
                best = i;
        }
        if (best == SIZE_MAX) return;
        put_reason(r, &judgement->reasons[best]);
        last = best;
    }
}

static void put_why(const report *r)
{
    const pappus_judgement *judgement = r->answer->judgement;
    size_t room = MOST_REASONS;
    page_open(r->xml, "article", NULL);
    page_put(r->xml, "h2", NULL, "Why");
    page_open(r->xml, "ul", NULL);
    if (!judgement || judgement->reason_count == 0) {
        page_put(r->xml, "li", NULL,
                 judgement ? "The plan sets no limits: nothing was judged."
                           : "No decision was asked for.");
    } else {
        size_t against = put_reasons_of(r, PAPPUS_BROKEN, &room);
        against += put_reasons_of(r, PAPPUS_UNDECIDED, &room);
        if (against > MOST_REASONS)
            page_put(r->xml, "li", NULL, "and %zu more below", against - MOST_REASONS);
        if (against == 0) page_put(r->xml, "li", NULL, "Every limit is met; the tightest are:");
        if (against == 0) put_tightest(r);
    }
    page_close(r->xml);
    page_close(r->xml);
}

static void put_post_line(const report *r, size_t index)
{
    const pappus_post *post = &r->answer->crews->posts[index];
    char place[PAPPUS_TEXT_SIZE], distance[PAPPUS_TEXT_SIZE], bearing[PAPPUS_TEXT_SIZE];
    page_open(r->xml, "li", NULL);
    page_put(r->xml, "span", "badge", "%zu", index + 1);
    page_open(r->xml, "div", NULL);
    page_put(r->xml, "b", "num", "%s",
             pappus_format_position(place, sizeof place, post->latitude_deg, post->longitude_deg));
    page_text(
        r->xml, " %s %s of the pad, bearing %s",
        pappus_format(distance, sizeof distance, PAPPUS_SHOW_DISTANCE, post->distance_m, r->units),
        pappus_compass_point(post->bearing_deg),
        pappus_format_bearing(bearing, sizeof bearing, post->bearing_deg,
                              r->answer->plan->site.declination_deg));
    page_close(r->xml);
    page_close(r->xml);
}

static void put_where(const report *r)
{
    const pappus_crews *crews = r->answer->crews;
    page_open(r->xml, "article", NULL);
    page_put(r->xml, "h2", NULL, "Where to wait");
    page_open(r->xml, "ol", NULL);
    if (!crews) {
        page_put(r->xml, "li", NULL, "No posts were asked for.");
    } else if (crews->post_count == 0) {
        page_open(r->xml, "li", NULL);
        page_text(r->xml, "No place is safe to wait%s%s", crews->blocked_by ? ": " : ".",
                  crews->blocked_by ? pappus_post_rule_text(crews->blocked_by) : "");
        page_close(r->xml);
    }
    for (size_t i = 0; crews && i < crews->post_count && i < MOST_POSTS; i++)
        put_post_line(r, i);
    if (crews && crews->post_count > MOST_POSTS)
        page_put(r->xml, "li", NULL, "and %zu more below", crews->post_count - MOST_POSTS);
    page_close(r->xml);
    page_close(r->xml);
}

/* What the recommended height means beside the planned one. */
static void put_height_advice(const report *r)
{
    const pappus_heights *heights = r->answer->heights;
    const pappus_judgement *judgement = r->answer->judgement;
    char planned[PAPPUS_TEXT_SIZE], wanted[PAPPUS_TEXT_SIZE];
    if (!heights) return;
    pappus_format(planned, sizeof planned, PAPPUS_SHOW_HEIGHT, heights->planned_m, r->units);
    pappus_format(wanted, sizeof wanted, PAPPUS_SHOW_HEIGHT, heights->recommended_m, r->units);
    page_open(r->xml, "p", NULL);
    if (isnan(heights->recommended_m)) {
        page_text(r->xml, "Main height: ");
        report_put_sentence(r, heights->why_none ? heights->why_none : "none meets every limit");
        page_text(r->xml, ".");
    } else if (report_main_shift_m(r->answer) == 0)
        page_text(r->xml, "The planned main height, %s, is the recommended one.", planned);
    else if (judgement && judgement->decision == PAPPUS_NO_GO)
        page_text(r->xml,
                  "No-go with the main at %s. At %s every limit is met: set it in the plan and "
                  "brief again.",
                  planned, wanted);
    else
        page_text(r->xml,
                  "Recommended is %s rather than %s, as told below: set it in the plan and brief "
                  "again.",
                  wanted, planned);
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
    if (!isnan(altimeter->main_height_m) && shift_m != 0)
        page_text(
            r->xml, " (recommended %s)",
            page_one(height, PAPPUS_SHOW_HEIGHT, altimeter->main_height_m + shift_m, r->units));
    page_close(r->xml);
    page_close(r->xml);
}

static void put_program(const report *r)
{
    const pappus_plan *plan = r->answer->plan;
    page_open(r->xml, "article", NULL);
    page_put(r->xml, "h2", NULL, "What to program");
    page_open(r->xml, "ul", NULL);
    for (size_t i = 0; i < plan->altimeter_count && i < 3; i++)
        put_altimeter_line(r, &plan->altimeters[i], report_main_shift_m(r->answer));
    page_close(r->xml);
    put_height_advice(r);
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
    page_put(r->xml, "p", "caution", "A planning estimate. The range safety officer decides.");
}

void report_put_limits(const report *r)
{
    const pappus_judgement *judgement = r->answer->judgement;
    if (!judgement || judgement->reason_count == 0) return;
    page_section(r->xml, "limits", "Every limit of the plan");
    page_open(r->xml, "ul", "limits");
    for (size_t i = 0; i < judgement->reason_count; i++)
        put_reason(r, &judgement->reasons[i]);
    page_close(r->xml);
    page_put(r->xml, "p", "quiet",
             "In brackets: 95 %% interval of the sampling. %zu landings were sampled%s.",
             r->answer->cloud ? r->answer->cloud->count : 0,
             judgement->capped ? ", the most that are: it is still open" : "");
    page_close(r->xml);
}

/* --------------------------------------------------------------- altimeters */

static void put_altimeter_row(const report *r, page_table *table, const pappus_altimeter *altimeter)
{
    char both[PAGE_BOTH_SIZE];
    double shift_m = report_main_shift_m(r->answer), height_m = altimeter->main_height_m;
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
    if (r->answer->heights && !isnan(r->answer->heights->recommended_m))
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
    if (crews->post_count == 0) {
        page_put(r->xml, "p", NULL, "No place is safe to wait%s%s", crews->blocked_by ? ": " : ".",
                 crews->blocked_by ? pappus_post_rule_text(crews->blocked_by) : "");
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
