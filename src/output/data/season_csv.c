/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season as tables (CSV, RFC 4180): SI, an empty cell for what is not known. Days are
 * written as they are read: no more than one is in memory. */
#include "season_data.h"

#include "error.h"
#include "format.h"
#include "time_zone.h"
#include "timestamp.h"
#include "writer.h"

#include <math.h>

/* A text cell, quoted. */
static void put_text(FILE *stream, const char *text)
{
    fputc('"', stream);
    for (; text && *text; text++) {
        if (*text == '"') fputc('"', stream);
        fputc(*text, stream);
    }
    fputc('"', stream);
}

static void put_numbers(FILE *stream, const double *values, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (isfinite(values[i]))
            fprintf(stream, ",%.10g", values[i]);
        else
            fputc(',', stream);
}

#define COUNT(values) (sizeof(values) / sizeof(values)[0])

/* -------------------------------------------------------------------- groups */

static void put_group(FILE *stream, const pappus_season_result *result,
                      const pappus_season_group *g)
{
    const double numbers[] = {g->month ? (double)g->month : (double)NAN,
                              g->hour == PAPPUS_SEASON_ALL_HOURS ? (double)NAN : (double)g->hour,
                              (double)g->days,
                              g->go.value,
                              g->go.low,
                              g->go.high,
                              g->best_main_m,
                              g->go_best,
                              g->go_any,
                              g->drift_m.p05,
                              g->drift_m.p50,
                              g->drift_m.p95};
    put_text(stream, result->head.plans[g->plan].name);
    put_numbers(stream, numbers, COUNT(numbers));
    fputc(',', stream);
    put_text(stream, pappus_limit_text(g->worst));
    fputc('\n', stream);
}

int season_groups_csv(char **out, const pappus_season_result *result, pappus_error *err)
{
    pappus_text text;
    *out = NULL;
    int status = pappus_text_begin(&text, err);
    if (status != PAPPUS_OK) return status;
    fprintf(text.stream, "plan,month,hour,days,go,go_low,go_high,best_main_m,go_best,go_any,"
                         "drift_p05_m,drift_p50_m,drift_p95_m,worst\n");
    for (size_t i = 0; i < result->group_count; i++)
        put_group(text.stream, result, &result->groups[i]);
    status = pappus_text_finish(&text, err);
    *out = text.bytes;
    return status;
}

/* ---------------------------------------------------------------------- days */

static pappus_decision decision_of(pappus_verdict verdict)
{
    return verdict == PAPPUS_MET      ? PAPPUS_GO
           : verdict == PAPPUS_BROKEN ? PAPPUS_NO_GO
                                      : PAPPUS_NOT_DECIDED;
}

static void put_day(const season_days_table *table, const pappus_season_day *day, size_t p)
{
    const pappus_season_row *row = &day->rows[p];
    FILE *stream = table->stream;
    char time[40];
    int month, hour;
    long local_day;
    const double numbers[] = {row->use,           row->inside_field, row->keep_out,
                              row->recommended_m, row->mean_east_m,  row->mean_north_m,
                              row->drift_m.p05,   row->drift_m.p50,  row->drift_m.p95};
    const double winds[] = {day->surface_wind_mps, day->surface_from_deg};
    pappus_time_format(time, sizeof time, day->valid_utc_s);
    pappus_time_local(&month, &hour, &local_day, table->head->time_zone, day->valid_utc_s);
    fprintf(stream, "%s,%d,%d,", time, month, hour);
    put_text(stream, table->head->plans[p].name);
    fprintf(stream, ",%s,", row->why ? "" : pappus_decision_text(decision_of(row->verdict)));
    put_text(stream, row->why ? NULL : pappus_limit_text(row->limit));
    if (row->why)
        fprintf(stream, ",,,,,,,,,");
    else
        put_numbers(stream, numbers, COUNT(numbers));
    put_numbers(stream, winds, COUNT(winds));
    fprintf(stream, ",%s,%llu,", day->reading ? "1" : "0", (unsigned long long)row->seed);
    put_text(stream, row->why);
    fputc('\n', stream);
}

int season_days_put(void *context, const pappus_season_day *day, pappus_error *err)
{
    const season_days_table *table = context;
    for (size_t p = 0; p < day->row_count; p++)
        put_day(table, day, p);
    return ferror(table->stream)
               ? pappus_fail(err, PAPPUS_E_OUTPUT, "days.csv", NULL, NULL, "could not be written")
               : PAPPUS_OK;
}

void season_days_head(FILE *stream)
{
    fprintf(stream, "time,month,hour,plan,decision,limit,use,inside_field,keep_out,recommended_m,"
                    "east_m,north_m,drift_p05_m,drift_p50_m,drift_p95_m,surface_wind_mps,"
                    "surface_from_deg,reading,seed,why\n");
}
