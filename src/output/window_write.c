/* SPDX-License-Identifier: GPL-3.0-or-later
 * The folder of a window: its table, its picture and its zones on the map. */
#include <pappus/output.h>

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "c_locale.h"
#include "error.h"
#include "publish.h"
#include "window_layer.h"
#include "writer.h"

typedef struct {
    const pappus_window *window;
    const pappus_givens *given;
    pappus_unit_system units;
} window_output;

static int json_text(char **out, const window_output *from, pappus_error *err)
{
    return pappus_window_json_text(out, from->window, from->given, err);
}

static int csv_text(char **out, const window_output *from, pappus_error *err)
{
    return pappus_window_csv_text(out, from->window, from->given, err);
}

static int svg_text(char **out, const window_output *from, pappus_error *err)
{
    return pappus_window_svg_text(out, from->window, from->given, from->units, err);
}

static const struct {
    const char *name;
    int (*text)(char **out, const window_output *from, pappus_error *err);
} files[] = {{"window.json", json_text}, {"window.csv", csv_text}, {"window.svg", svg_text}};

static int make_layers(const pappus_output *output, pappus_error *err)
{
    char *path;
    int status = pappus_output_path(&path, output, "layers", err);
    if (status != PAPPUS_OK) return status;
    if (mkdir(path, 0777) != 0)
        status = pappus_fail(err, PAPPUS_E_OUTPUT, "layers", NULL, NULL, "cannot be made: %s",
                             strerror(errno));
    free(path);
    return status;
}

static int write_files(const pappus_output *output, const window_output *from, pappus_error *err)
{
    int status = make_layers(output, err);
    for (size_t i = 0; status == PAPPUS_OK && i < sizeof files / sizeof files[0]; i++) {
        char *text = NULL;
        status = files[i].text(&text, from, err);
        if (status == PAPPUS_OK)
            status = pappus_output_bytes(output, files[i].name, text, strlen(text), err);
        free(text);
    }
    return status == PAPPUS_OK ? window_layer_write(output, from->window, err) : status;
}

int pappus_window_write(const pappus_window *window, const pappus_givens *given, const char *folder,
                        pappus_unit_system units, pappus_error *err)
{
    pappus_answer only_plan = {.plan = given->plan}; /* writers look for the pad there */
    pappus_write_options options = {.units = units};
    window_output from = {window, given, units};
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
