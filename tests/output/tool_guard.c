/* SPDX-License-Identifier: GPL-3.0-or-later
 * tool_guard FOLDER COUNT: writes COUNT answers made at random, each as N.txt (terminal),
 * N/report.html, N/desk.html and N/summary.json, for test_guard.py to compare. Every part of an
 * answer may be missing, any limit in the way, any text hostile; what follows from the rows of the
 * trade is concluded by the library. */
#include <pappus/pappus.h>

#include <stdio.h>
#include <sys/stat.h>

#include "c_locale.h"
#include "heights.h"
#include "report.h"
#include "sample_answer.h"
#include "summary.h"

static const char *const names[] = {
    "car park",
    "<script>alert('x')</script> & \"quotes\" ]]> <!-- </title>",
    "{{#leads}} {{{map_svg}}} %s%n%d",
    "\xD7\xA9\xD7\x93\xD7\x94 \xE2\x80\xAE"
    "abc\xE2\x80\xAC",
    "caf\xC3\xA9, main 999 ft is recommended: go up to 99 mph",
    "",
};

static uint64_t state;

static uint64_t below(uint64_t n)
{
    return (uint64_t)(sample_uniform(state++) * (double)n);
}

static bool chance(double p)
{
    return sample_uniform(state++) < p;
}

static double between(double low, double high)
{
    return low + (high - low) * sample_uniform(state++);
}

static char *some_name(void)
{
    return (char *)(uintptr_t)names[below(sizeof names / sizeof names[0])];
}

static pappus_limit_kind some_limit(void)
{
    return (pappus_limit_kind)(PAPPUS_LIMIT_NONE + 1 +
                               (int)below(PAPPUS_LIMIT_KINDS - PAPPUS_LIMIT_NONE - 1));
}

static void shuffle_reasons(sample_answer *sample)
{
    pappus_judgement *judgement = &sample->judgement;
    bool all_met = chance(0.4);
    judgement->decision = PAPPUS_GO;
    judgement->capped = chance(0.1);
    judgement->reason_count = below(judgement->reason_count + 1);
    for (size_t i = 0; i < judgement->reason_count; i++) {
        pappus_reason *reason = &judgement->reasons[i];
        reason->limit = some_limit();
        reason->at_least = pappus_limit_at_least(reason->limit);
        reason->name = reason->limit == PAPPUS_LIMIT_KEEP_OUT ? some_name() : NULL;
        reason->bound = between(0.01, 0.95);
        reason->value = (pappus_estimate){between(0.0, 1.0), NAN, NAN};
        reason->caveat = (pappus_caveat){(pappus_caveat_kind)below(6), below(99), 100};
        reason->verdict = all_met ? PAPPUS_MET : (pappus_verdict)below(3);
        if (reason->verdict == PAPPUS_UNDECIDED && chance(0.3)) reason->value.value = NAN;
        if (reason->verdict == PAPPUS_BROKEN) judgement->decision = PAPPUS_NO_GO;
        if (reason->verdict == PAPPUS_UNDECIDED && judgement->decision == PAPPUS_GO)
            judgement->decision = PAPPUS_NOT_DECIDED;
    }
}

/* Rows anywhere; the planned height on a row, beside it by less than is shown, or off. */
static void shuffle_heights(sample_answer *sample)
{
    static const double off_m[] = {0, 0, 1e-9, 2e-4, 1e-3, 0.02, 0.3, 7};
    pappus_heights *heights = &sample->heights;
    double from_m = between(60, 250), step_m = between(10, 80), met = between(0, 1);
    heights->row_count = 1 + below(5);
    for (size_t i = 0; i < heights->row_count; i++) {
        pappus_height_row *row = &heights->rows[i];
        row->height_m = from_m + step_m * (double)i;
        row->above_apogee = chance(0.1);
        row->use = between(0, 1);
        row->nearest = some_limit();
        row->verdict = chance(met) ? PAPPUS_MET : (pappus_verdict)(1 + below(2));
        row->broken = row->verdict == PAPPUS_MET ? PAPPUS_LIMIT_NONE : some_limit();
    }
    heights->planned_m = heights->rows[below(heights->row_count)].height_m +
                         off_m[below(sizeof off_m / sizeof off_m[0])] * (chance(0.5) ? 1 : -1);
    pappus_heights_conclude(heights);
}

static void shuffle_ceiling(pappus_ceiling_row *row)
{
    row->go = chance(0.8);
    row->reached = !row->go || chance(0.8);
    row->floor_mps = row->go && chance(0.2) ? between(0.5, 2) : 0;
    row->surface_wind_mps = row->go ? between(2, 12) : 0;
    row->monotonic = chance(0.9);
    row->turns_limit = row->reached ? some_limit() : PAPPUS_LIMIT_NONE;
    row->turns_name = row->turns_limit == PAPPUS_LIMIT_KEEP_OUT ? some_name() : NULL;
}

/* Chances that are small, none at all, or large; a main that is never seen to open. */
static void shuffle_posts(pappus_crews *crews)
{
    static const double chances[] = {0, 1e-7, 2e-5, 0.0004, 0.0012, 0.031, 0.4};
    for (size_t i = 0; i < crews->post_count; i++) {
        pappus_post *post = &crews->posts[i];
        post->near_chance = chances[below(sizeof chances / sizeof chances[0])];
        post->look_bearing_deg = between(0, 360);
        post->look_elevation_deg = between(1, 89);
        post->look_s = chance(0.2) ? NAN : between(20, 200);
        post->latitude_deg = between(-89, 89);
        post->longitude_deg = between(-179, 179);
    }
}

static void shuffle_energy(pappus_zone *zone)
{
    for (size_t i = 0; i < zone->section_count; i++)
        zone->energy_total_j[i].p95 = between(20, 60) * (double)(1 + i);
}

static void shuffle(sample_answer *sample)
{
    pappus_answer *answer = &sample->answer;
    if (chance(0.2)) sample->field = (pappus_field){0};
    if (!sample->field.has_boundary) {
        sample->zones.all.keep_out_count = 0;
        sample->zones.all.inside_field = (pappus_estimate){NAN, NAN, NAN};
    }
    shuffle_reasons(sample);
    shuffle_heights(sample);
    shuffle_ceiling(&sample->ceiling.reading.planned);
    for (size_t i = 0; i < sample->ceiling.reading.row_count; i++)
        shuffle_ceiling(&sample->ceiling.reading.rows[i]);
    shuffle_ceiling(&sample->ceiling.whole.planned);
    sample->ceiling.has_reading = chance(0.8);
    shuffle_energy(&sample->zones.outcomes[PAPPUS_NOMINAL]);
    sample->crews.post_count = below(3);
    shuffle_posts(&sample->crews);
    sample->crews.blocked_by = PAPPUS_POST_FREE;
    if (sample->crews.post_count == 0)
        sample->crews.blocked_by = (pappus_post_rule)(1 + below(PAPPUS_POST_RULES - 1));
    sample->ceiling.fixed_bearing = chance(0.2);
    sample->ceiling.led = chance(0.2);
    if (chance(0.5)) sample->plan.site.declination_deg = NAN;
    if (chance(0.1)) answer->judgement = NULL;
    if (chance(0.1)) answer->heights = NULL;
    if (chance(0.1)) answer->ceiling = NULL;
    if (chance(0.1)) answer->crews = NULL;
    if (chance(0.5)) answer->log.count = 0;
}

static int write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    return file && fputs(text, file) >= 0 && fclose(file) == 0 ? PAPPUS_OK : PAPPUS_E_OUTPUT;
}

/* The desk's page of an answer that is whole, with a change and a message of any text. */
static int write_desk(const char *path, sample_answer *sample, pappus_unit_system units,
                      pappus_error *error)
{
    const char *change = "title=</title><b>{{key}}", *message = some_name();
    char *page = NULL;
    sample->plan.units = units;
    pappus_desk_view view = {.key = "0123456789abcdef0123456789abcdef",
                             .nonce = "0123",
                             .plan = &sample->plan,
                             .read_only = chance(0.3),
                             .version = 7,
                             .number = 3,
                             .answered = 3,
                             .refined = true,
                             .change_count = 1,
                             .changes = &change,
                             .message_count = 1,
                             .messages = &message,
                             .first_utc_s = NAN,
                             .last_utc_s = NAN};
    int status = pappus_desk_page(&page, &view, &sample->answer, error);
    if (status == PAPPUS_OK) status = write_text(path, page);
    free(page);
    return status;
}

static int write_answer(const char *folder, size_t n, pappus_error *error)
{
    char place[4096], page[4200];
    pappus_write_options options = {.units = chance(0.5) ? PAPPUS_UNITS_US : PAPPUS_UNITS_SI};
    sample_answer *sample = sample_answer_make(50, some_name());
    char *text = NULL;
    shuffle(sample);
    snprintf(place, sizeof place, "%s/%zu", folder, n);
    snprintf(page, sizeof page, "%s.txt", place);
    pappus_output output = {&sample->answer, place, &options, NULL, false};
    pappus_text_options layout = {options.units, 78, false};
    int status = pappus_answer_text(&text, &sample->answer, &layout, error);
    if (status == PAPPUS_OK && mkdir(place, 0777) != 0) status = PAPPUS_E_OUTPUT;
    if (status == PAPPUS_OK) status = write_text(page, text);
    if (status == PAPPUS_OK) status = pappus_write_summary(&output, error);
    if (status == PAPPUS_OK) status = pappus_write_report(&output, error);
    snprintf(page, sizeof page, "%s/desk.html", place);
    if (status == PAPPUS_OK) status = write_desk(page, sample, options.units, error);
    free(text);
    sample_answer_clear(sample);
    return status;
}

int main(int argc, char **argv)
{
    pappus_locale locale;
    pappus_error error = {0};
    if (argc != 3 || !pappus_locale_enter(&locale)) return 2;
    size_t count = strtoul(argv[2], NULL, 10);
    for (size_t n = 0; n < count; n++) {
        state = 1000003 * (uint64_t)n;
        if (write_answer(argv[1], n, &error) != PAPPUS_OK) {
            fprintf(stderr, "answer %zu: %s\n", n, error.message);
            return 1;
        }
    }
    pappus_locale_leave(&locale);
    return 0;
}
