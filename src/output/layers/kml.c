/* SPDX-License-Identifier: GPL-3.0-or-later
 * zone.kml (OGC 07-147r2, KML 2.2). The order of children is the schema's: name,
 * visibility, description, styleUrl, then styles or geometry. Colours are alpha,
 * blue, green, red. */
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "layer.h"
#include "statement.h"
#include "xml_text.h"

static const struct {
    const char *id, *line, *fill;
} styles[] = {{"zone", "ffb3641e", "40b3641e"},
              {"boundary", "ff3c8c28", "003c8c28"},
              {"keep_out", "ff2828c8", "592828c8"}};

typedef struct {
    pappus_xml xml;
    const layer_list *list;
    pappus_error *err;
} document;

static void put_styles(pappus_xml *xml)
{
    for (size_t i = 0; i < sizeof styles / sizeof styles[0]; i++) {
        pappus_xml_start(xml, "Style");
        pappus_xml_attribute(xml, "id", styles[i].id);
        pappus_xml_start(xml, "LineStyle");
        pappus_xml_element(xml, "color", "%s", styles[i].line);
        pappus_xml_element(xml, "width", "2");
        pappus_xml_end(xml);
        pappus_xml_start(xml, "PolyStyle");
        pappus_xml_element(xml, "color", "%s", styles[i].fill);
        pappus_xml_end(xml);
        pappus_xml_end(xml);
    }
}

static int put_ring(document *kml, const pappus_ring *ring, const char *element)
{
    char point[64];
    double *deg;
    int status = layer_ring(&deg, kml->list, ring, kml->err);
    if (status != PAPPUS_OK) return status;
    pappus_xml_start(&kml->xml, element);
    pappus_xml_start(&kml->xml, "LinearRing");
    pappus_xml_start(&kml->xml, "coordinates");
    for (size_t i = 0; i <= ring->point_count; i++) {
        snprintf(point, sizeof point, "%s%.8f,%.8f", i ? " " : "", deg[2 * i], deg[2 * i + 1]);
        pappus_xml_text(&kml->xml, point);
    }
    for (int i = 0; i < 3; i++)
        pappus_xml_end(&kml->xml);
    free(deg);
    return PAPPUS_OK;
}

static int put_area(document *kml, const pappus_area *area)
{
    int status = PAPPUS_OK;
    pappus_xml_start(&kml->xml, "MultiGeometry");
    for (size_t p = 0; p < area->polygon_count; p++) {
        const pappus_polygon *polygon = &area->polygons[p];
        pappus_xml_start(&kml->xml, "Polygon");
        for (size_t r = 0; status == PAPPUS_OK && r < polygon->ring_count; r++)
            status = put_ring(kml, &polygon->rings[r], r ? "innerBoundaryIs" : "outerBoundaryIs");
        pappus_xml_end(&kml->xml);
    }
    pappus_xml_end(&kml->xml);
    return status;
}

static int put_point(document *kml, const layer *from, size_t feature)
{
    double at_deg[2];
    int status = layer_point(at_deg, kml->list, from, feature, kml->err);
    pappus_xml_start(&kml->xml, "Point");
    if (status == PAPPUS_OK)
        pappus_xml_element(&kml->xml, "coordinates", "%.8f,%.8f", at_deg[0], at_deg[1]);
    pappus_xml_end(&kml->xml);
    return status;
}

static int put_placemark(document *kml, const layer *from, size_t feature, const layer_label *label)
{
    int status;
    pappus_xml_start(&kml->xml, "Placemark");
    pappus_xml_element(&kml->xml, "name", "%s", label->name);
    if (from->kind == LAYER_AREAS) {
        pappus_xml_element(&kml->xml, "visibility", "%d", !label->hidden);
        pappus_xml_element(&kml->xml, "styleUrl", "#%s", from->style);
        status = put_area(kml, from->place(from, feature).area);
    } else {
        pappus_xml_element(&kml->xml, "description", "%s", label->note);
        status = put_point(kml, from, feature);
    }
    pappus_xml_end(&kml->xml);
    return status;
}

/* A new folder begins where the name of the features' changes; *folder is its own. */
static void turn_folder(document *kml, char **folder, const layer_label *label)
{
    if (label->folder && *folder && strcmp(label->folder, *folder) == 0) return;
    if (*folder) pappus_xml_end(&kml->xml);
    free(*folder);
    *folder = label->folder ? strdup(label->folder) : NULL;
    if (!label->folder) return;
    pappus_xml_start(&kml->xml, "Folder");
    pappus_xml_element(&kml->xml, "name", "%s", label->folder);
    pappus_xml_element(&kml->xml, "visibility", "%d", !label->hidden);
    kml->xml.failed |= !*folder;
}

static int put_layer(document *kml, const layer *from)
{
    char *folder = NULL;
    int status = PAPPUS_OK;
    for (size_t i = 0; status == PAPPUS_OK && i < from->count; i++) {
        layer_label label;
        status = layer_label_of(&label, from, i, kml->err);
        if (status == PAPPUS_OK) {
            turn_folder(kml, &folder, &label);
            status = put_placemark(kml, from, i, &label);
        }
        layer_label_clear(&label);
    }
    turn_folder(kml, &folder, &(layer_label){0});
    return status;
}

static int put_document(document *kml)
{
    const pappus_output *output = kml->list->output;
    const char *title = output->answer->plan->title;
    char *stamp = stamp_text(output->answer, output->options->units);
    int status = stamp ? PAPPUS_OK : pappus_fail_memory(kml->err);
    pappus_xml_start(&kml->xml, "kml");
    pappus_xml_attribute(&kml->xml, "xmlns", "http://www.opengis.net/kml/2.2");
    pappus_xml_start(&kml->xml, "Document");
    pappus_xml_element(&kml->xml, "name", "%s", title ? title : "");
    pappus_xml_element(&kml->xml, "description", "%s. %s", stamp ? stamp : "", pappus_caution());
    free(stamp);
    put_styles(&kml->xml);
    for (size_t i = 0; status == PAPPUS_OK && i < kml->list->count; i++)
        if (kml->list->layers[i].formats & LAYER_KML)
            status = put_layer(kml, &kml->list->layers[i]);
    pappus_xml_end(&kml->xml);
    pappus_xml_end(&kml->xml);
    return status;
}

int layers_put_kml(const layer_list *list, pappus_error *err)
{
    document kml = {.list = list, .err = err};
    int status = pappus_xml_begin(&kml.xml, err);
    if (status == PAPPUS_OK) status = put_document(&kml);
    return pappus_xml_write(&kml.xml, status, list->output, "zone.kml", err);
}
