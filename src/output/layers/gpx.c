/* SPDX-License-Identifier: GPL-3.0-or-later
 * posts.gpx (GPX 1.1, its schema of 2004: children of wpt in the order name,
 * desc, sym): waypoints for a hand-held receiver. No time is written. */
#include <stdlib.h>

#include "error.h"
#include "layer.h"
#include "statement.h"
#include "xml_text.h"

static int put_waypoint(pappus_xml *xml, const layer_list *list, const layer *from, size_t feature,
                        pappus_error *err)
{
    double at_deg[2];
    char number[32];
    layer_label label;
    int status = layer_label_of(&label, from, feature, err);
    if (status == PAPPUS_OK) status = layer_point(at_deg, list, from, feature, err);
    if (status == PAPPUS_OK) {
        pappus_xml_start(xml, "wpt");
        snprintf(number, sizeof number, "%.8f", at_deg[1]);
        pappus_xml_attribute(xml, "lat", number);
        snprintf(number, sizeof number, "%.8f", at_deg[0]);
        pappus_xml_attribute(xml, "lon", number);
        pappus_xml_element(xml, "name", "%s", label.name);
        pappus_xml_element(xml, "desc", "%s", label.note);
        pappus_xml_end(xml);
    }
    layer_label_clear(&label);
    return status;
}

int layers_put_gpx(const layer_list *list, pappus_error *err)
{
    const pappus_output *output = list->output;
    const char *title = output->answer->plan->title;
    pappus_xml xml;
    int status = pappus_xml_begin(&xml, err);
    if (status != PAPPUS_OK) return status;
    char *stamp = stamp_text(output->answer, output->options->units);
    if (!stamp) status = pappus_fail_memory(err);
    pappus_xml_start(&xml, "gpx");
    pappus_xml_attribute(&xml, "xmlns", "http://www.topografix.com/GPX/1/1");
    pappus_xml_attribute(&xml, "version", "1.1");
    pappus_xml_attribute(&xml, "creator", "pappus");
    pappus_xml_start(&xml, "metadata");
    pappus_xml_element(&xml, "name", "%s", title ? title : "");
    pappus_xml_element(&xml, "desc", "%s", stamp ? stamp : "");
    pappus_xml_end(&xml);
    free(stamp);
    for (size_t i = 0; i < list->count; i++) {
        const layer *from = &list->layers[i];
        if (!(from->formats & LAYER_GPX)) continue;
        for (size_t k = 0; status == PAPPUS_OK && k < from->count; k++)
            status = put_waypoint(&xml, list, from, k, err);
    }
    pappus_xml_end(&xml);
    return pappus_xml_write(&xml, status, list->output, "posts.gpx", err);
}
