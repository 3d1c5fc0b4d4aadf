/* SPDX-License-Identifier: GPL-3.0-or-later
 * posts.gpx (GPX 1.1, its schema of 2004: children of wpt in the order name,
 * desc, sym). The expected landing point is the mean of all landings; a zone in
 * two lobes may have nothing there. No time is written. */
#include "gpx.h"

#include <math.h>
#include <stdlib.h>

#include "error.h"
#include "format.h"
#include "xml_text.h"

static void put_waypoint(pappus_xml *xml, double latitude_deg, double longitude_deg,
                         const char *name, const char *description)
{
    char number[PAPPUS_TEXT_SIZE];
    pappus_xml_start(xml, "wpt");
    snprintf(number, sizeof number, "%.8f", latitude_deg);
    pappus_xml_attribute(xml, "lat", number);
    snprintf(number, sizeof number, "%.8f", longitude_deg);
    pappus_xml_attribute(xml, "lon", number);
    pappus_xml_element(xml, "name", "%s", name);
    pappus_xml_element(xml, "desc", "%s", description);
    pappus_xml_end(xml);
}

static int put_landing(pappus_xml *xml, const pappus_output *output, pappus_error *err)
{
    const pappus_zone *all = &output->answer->zones->all;
    double at[2] = {all->mean_east_m, all->mean_north_m};
    pappus_transform *to_geographic;
    int status = pappus_output_to_geographic(&to_geographic, output, err);
    if (status != PAPPUS_OK) return status;
    pappus_transform_run(to_geographic, 1, at);
    pappus_transform_free(to_geographic);
    if (isfinite(at[0]) && isfinite(at[1]))
        put_waypoint(xml, at[1], at[0], "Expected landing",
                     "Mean of all sampled landings: a planning estimate");
    return PAPPUS_OK;
}

static void put_post(pappus_xml *xml, const pappus_post *post, size_t number,
                     pappus_unit_system units)
{
    char name[PAPPUS_TEXT_SIZE];
    char walk[PAPPUS_TEXT_SIZE];
    char share[PAPPUS_TEXT_SIZE];
    char *description;
    snprintf(name, sizeof name, "Post %zu", number);
    pappus_format(walk, sizeof walk, PAPPUS_SHOW_DISTANCE, post->walk_mean_m, units);
    pappus_format_chance(share, sizeof share, post->share);
    if (asprintf(&description, "Recovery crew, serves %s of landings, mean walk %s%s%s", share,
                 walk, post->road ? ", on " : "", post->road ? post->road : "") < 0) {
        xml->failed = true;
        return;
    }
    put_waypoint(xml, post->latitude_deg, post->longitude_deg, name, description);
    free(description);
}

int pappus_write_gpx(const pappus_output *output, pappus_error *err)
{
    const pappus_answer *answer = output->answer;
    pappus_xml xml;
    int status = pappus_xml_begin(&xml, err);
    if (status != PAPPUS_OK) return status;
    pappus_xml_start(&xml, "gpx");
    pappus_xml_attribute(&xml, "xmlns", "http://www.topografix.com/GPX/1/1");
    pappus_xml_attribute(&xml, "version", "1.1");
    pappus_xml_attribute(&xml, "creator", "pappus");
    pappus_xml_start(&xml, "metadata");
    pappus_xml_element(&xml, "name", "%s", answer->plan->title ? answer->plan->title : "");
    pappus_xml_end(&xml);
    status = put_landing(&xml, output, err);
    for (size_t i = 0; answer->crews && i < answer->crews->post_count; i++)
        put_post(&xml, &answer->crews->posts[i], i + 1, output->options->units);
    pappus_xml_end(&xml);
    return pappus_xml_write(&xml, status, output, "posts.gpx", err);
}
