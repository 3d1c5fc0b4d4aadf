/* SPDX-License-Identifier: GPL-3.0-or-later
 * The folder of a season. Days are read from the parts again while they are written. */
#include <pappus/season.h>

#include "c_locale.h"
#include "error.h"
#include "publish.h"
#include "season_data.h"
#include "season_layer.h"
#include "season_page.h"
#include "writer.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

typedef struct {
    const pappus_season_result *result;
    pappus_unit_system units;
} season_output;

static int json_text(char **out, const season_output *from, pappus_error *err)
{
    return pappus_season_json_text(out, from->result, err);
}

static int csv_text(char **out, const season_output *from, pappus_error *err)
{
    return season_groups_csv(out, from->result, err);
}

static int page_text(char **out, const season_output *from, pappus_error *err)
{
    size_t size;
    return season_page(out, &size, from->result, from->units, err);
}

static const struct {
    const char *name;
    int (*text)(char **out, const season_output *from, pappus_error *err);
} files[] = {{"season.json", json_text}, {"season.csv", csv_text}, {"season.html", page_text}};

static int write_days(const pappus_output *output, const season_output *from, pappus_error *err)
{
    char *path;
    int status = pappus_output_path(&path, output, "days.csv", err);
    if (status != PAPPUS_OK) return status;
    FILE *stream = fopen(path, "wx");
    season_days_table table = {stream, &from->result->head};
    if (stream) season_days_head(stream);
    status = stream ? pappus_season_days(from->result, season_days_put, &table, err)
                    : pappus_fail(err, PAPPUS_E_OUTPUT, "days.csv", NULL, NULL,
                                  "cannot be made: %s", strerror(errno));
    bool failed = stream && (ferror(stream) != 0);
    if (stream && fclose(stream) != 0) failed = true;
    free(path);
    if (status == PAPPUS_OK && failed)
        status = pappus_fail(err, PAPPUS_E_OUTPUT, "days.csv", NULL, NULL,
                             "could not be written: %s", strerror(errno));
    return status;
}

static int write_layers(const pappus_output *output, const season_output *from, pappus_error *err)
{
    char *path;
    int status = pappus_output_path(&path, output, "layers", err);
    if (status != PAPPUS_OK) return status;
    if (mkdir(path, 0777) != 0)
        status = pappus_fail(err, PAPPUS_E_OUTPUT, "layers", NULL, NULL, "cannot be made: %s",
                             strerror(errno));
    free(path);
    return status == PAPPUS_OK ? season_layer_write(output, from->result, err) : status;
}

static int write_files(const pappus_output *output, const season_output *from, pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; status == PAPPUS_OK && i < sizeof files / sizeof files[0]; i++) {
        char *text = NULL;
        status = files[i].text(&text, from, err);
        if (status == PAPPUS_OK)
            status = pappus_output_bytes(output, files[i].name, text, strlen(text), err);
        free(text);
    }
    if (status == PAPPUS_OK) status = write_days(output, from, err);
    return status == PAPPUS_OK ? write_layers(output, from, err) : status;
}

int pappus_season_write(const pappus_season_result *result, const char *folder,
                        pappus_unit_system units, pappus_error *err)
{
    const pappus_season_head *head = &result->head;
    pappus_plan plan = {.site = {.latitude_deg = head->latitude_deg,
                                 .longitude_deg = head->longitude_deg,
                                 .declination_deg = head->declination_deg}};
    pappus_answer only_plan = {.plan = &plan}; /* writers look for the pad there */
    pappus_write_options options = {.units = units};
    season_output from = {result, units};
    pappus_stage stage;
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = pappus_stage_begin(&stage, folder, err);
    if (status == PAPPUS_OK) {
        pappus_output output = {&only_plan, stage.folder, &options, NULL, false};
        status = write_files(&output, &from, err);
        if (status == PAPPUS_OK)
            status = pappus_stage_publish(&stage, err);
        else
            pappus_stage_abandon(&stage);
    }
    pappus_locale_leave(&locale);
    return status;
}
