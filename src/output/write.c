/* SPDX-License-Identifier: GPL-3.0-or-later
 * The output folder: a table of writers, one after another into a stage, which
 * is then published as a whole. A new output is a line in the table. */
#include <pappus/pappus.h>

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "c_locale.h"
#include "error.h"
#include "geojson.h"
#include "gpx.h"
#include "kml.h"
#include "publish.h"
#include "shapefile.h"
#include "summary.h"
#include "writer.h"

static const struct {
    pappus_writer *write;
    bool layers; /* written for layers_only too */
} writers[] = {
    {pappus_write_summary, true},
    {pappus_write_shapefiles, true},
    {pappus_write_geojson, true},
    {pappus_write_gpx, false},
    {pappus_write_kml, false},
};

static int fill_stage(const pappus_output *output, pappus_error *err)
{
    char *layers;
    int status = pappus_output_path(&layers, output, "layers", err);
    if (status == PAPPUS_OK && mkdir(layers, 0777) != 0)
        status = pappus_fail(err, PAPPUS_E_OUTPUT, "layers", NULL, NULL, "cannot be made: %s",
                             strerror(errno));
    free(layers);
    for (size_t i = 0; status == PAPPUS_OK && i < sizeof writers / sizeof writers[0]; i++)
        if (writers[i].layers || !output->options->layers_only)
            status = writers[i].write(output, err);
    return status;
}

static int write_folder(const pappus_answer *answer, const char *folder,
                        const pappus_write_options *options, pappus_error *err)
{
    pappus_stage stage;
    int status = pappus_stage_begin(&stage, folder, err);
    if (status != PAPPUS_OK) return status;
    pappus_output output = {answer, stage.folder, options};
    status = fill_stage(&output, err);
    if (status == PAPPUS_OK) return pappus_stage_publish(&stage, err);
    pappus_stage_abandon(&stage);
    return status;
}

int pappus_answer_write(const pappus_answer *answer, const char *folder,
                        const pappus_write_options *options, pappus_error *err)
{
    static const pappus_write_options defaults = {0};
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = write_folder(answer, folder, options ? options : &defaults, err);
    pappus_locale_leave(&locale);
    return status;
}
