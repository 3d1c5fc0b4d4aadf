/* SPDX-License-Identifier: GPL-3.0-or-later
 * What this is made of: the version, the instruction set that the kernels run with on this
 * processor, and the libraries as they are loaded. */
#include <pappus/pappus.h>

#include "isa.h"

#include <cairo.h>
#include <cjson/cJSON.h>
#include <geos_c.h>
#include <gsl/gsl_version.h>
#include <librsvg/rsvg.h>
#include <libxml/parser.h>
#include <proj.h>
#include <stdio.h>

int pappus_made_of(char *out, size_t size)
{
    return snprintf(out, size,
                    "kernels for %s\n"
                    "GSL %s, PROJ %s, GEOS %s, cJSON %s, libxml2 %s, cairo %s, librsvg %d.%d.%d",
                    pappus_isa_text(pappus_isa_best()), gsl_version, proj_info().version,
                    GEOSversion(), cJSON_Version(), LIBXML_DOTTED_VERSION, cairo_version_string(),
                    LIBRSVG_MAJOR_VERSION, LIBRSVG_MINOR_VERSION, LIBRSVG_MICRO_VERSION);
}
