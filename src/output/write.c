/* SPDX-License-Identifier: GPL-3.0-or-later
 * The output folder: a table of writers, side by side into a stage, which is then
 * published as a whole. A new output is a line in the table. The map's picture, which
 * takes longest, is drawn in a process of its own meanwhile. */
#include <pappus/output.h>

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "c_locale.h"
#include "drawing.h"
#include "error.h"
#include "index_page.h"
#include "layer.h"
#include "parts.h"
#include "publish.h"
#include "report.h"
#include "run.h"
#include "summary.h"
#include "writer.h"

static const struct {
    pappus_writer *write;
    bool layers; /* written for layers_only too */
} writers[] = {
    {pappus_write_summary, true},
    {pappus_write_layers, true}, /* which itself knows the formats that are for layers_only */
    {pappus_write_report, false},
};
#define WRITERS (sizeof writers / sizeof writers[0])

static int make_folder(const pappus_output *output, const char *name, pappus_error *err)
{
    char *path;
    int status = pappus_output_path(&path, output, name, err);
    if (status == PAPPUS_OK && mkdir(path, 0777) != 0)
        status = pappus_fail(err, PAPPUS_E_OUTPUT, name, NULL, NULL, "cannot be made: %s",
                             strerror(errno));
    free(path);
    return status;
}

/* The locale is a thread's own. */
static int write_one(size_t i, const pappus_output *output, pappus_error *err)
{
    pappus_locale locale;
    if (output->options->layers_only && !writers[i].layers) return PAPPUS_OK;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = writers[i].write(output, err);
    pappus_locale_leave(&locale);
    return status;
}

/* Side by side; of what fails the first in the table is told. */
static int write_all(const pappus_output *output, pappus_error *err)
{
    int status[WRITERS];
    pappus_error errors[WRITERS] = {{0}};
#pragma omp parallel for schedule(dynamic) num_threads(pappus_threads(output->options->threads))
    for (size_t i = 0; i < WRITERS; i++)
        status[i] = write_one(i, output, &errors[i]);
    for (size_t i = 0; i < WRITERS; i++) {
        if (status[i] == PAPPUS_OK) continue;
        if (err) *err = errors[i];
        return status[i];
    }
    return PAPPUS_OK;
}

static int write_answer(const pappus_output *output, pappus_error *err)
{
    pappus_picture *picture = NULL;
    int status = make_folder(output, "layers", err);
    if (status == PAPPUS_OK && !output->options->layers_only)
        status = drawing_picture_start(&picture, output, err);
    if (status == PAPPUS_OK) status = write_all(output, err);
    return drawing_picture_finish(picture, status, output, err);
}

static int write_part(const pappus_output *whole, const pappus_answer *const *answers, size_t part,
                      pappus_error *err)
{
    char *path = NULL, *name = pappus_part_name(answers, part);
    int status = name ? make_folder(whole, name, err) : pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = pappus_output_path(&path, whole, name, err);
    if (status == PAPPUS_OK) {
        pappus_output output = {answers[part], path, whole->options, whole->flight, false};
        status = write_answer(&output, err);
    }
    free(path);
    free(name);
    return status;
}

static int write_answers(const char *folder, const pappus_answer *const *answers, size_t count,
                         const pappus_write_options *options, pappus_error *err)
{
    pappus_decision flight = pappus_decision_of(answers, count);
    pappus_write_options each = *options;
    pappus_output output = {answers[0], folder, &each,
                            count > 1 && !options->alternatives ? &flight : NULL, false};
    if (count == 1) return write_answer(&output, err);
    each.picture = NULL;
    int status = pappus_write_parts_summary(&output, answers, count, err);
    if (status == PAPPUS_OK && !options->layers_only)
        status = pappus_write_index(&output, answers, count, err);
    for (size_t i = 0; status == PAPPUS_OK && i < count; i++)
        status = write_part(&output, answers, i, err);
    return status;
}

static int write_folder(const pappus_answer *const *answers, size_t count, const char *folder,
                        const pappus_write_options *options, pappus_error *err)
{
    pappus_stage stage;
    int status = pappus_stage_begin(&stage, folder, err);
    if (status != PAPPUS_OK) return status;
    status = write_answers(stage.folder, answers, count, options, err);
    if (status == PAPPUS_OK) return pappus_stage_publish(&stage, err);
    pappus_stage_abandon(&stage);
    return status;
}

int pappus_answers_write(const pappus_answer *const *answers, size_t count, const char *folder,
                         const pappus_write_options *options, pappus_error *err)
{
    static const pappus_write_options defaults = {0};
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = write_folder(answers, count, folder, options ? options : &defaults, err);
    pappus_locale_leave(&locale);
    return status;
}

int pappus_answer_write(const pappus_answer *answer, const char *folder,
                        const pappus_write_options *options, pappus_error *err)
{
    return pappus_answers_write(&answer, 1, folder, options, err);
}
