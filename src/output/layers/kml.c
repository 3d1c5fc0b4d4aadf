/* SPDX-License-Identifier: GPL-3.0-or-later
 * zone.kml (OGC 07-147r2, KML 2.2). The order of children is the schema's: name,
 * visibility, description, styleUrl, then styles or geometry. Zones of single
 * outcomes are there, switched off. Colours are alpha, blue, green, red. */
#include "kml.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "format.h"
#include "xml_text.h"
#include "zone_shape.h"

static const struct {
    const char *id, *line, *fill;
} styles[] = {{"zone", "ffb3641e", "40b3641e"},
              {"boundary", "ff3c8c28", "003c8c28"},
              {"keep_out", "ff2828c8", "592828c8"}};

typedef struct {
    pappus_xml xml;
    pappus_transform *to_geographic;
    pappus_error *err;
} kml_text;

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

static int put_ring(kml_text *kml, const pappus_ring *ring, const char *element)
{
    char point[PAPPUS_TEXT_SIZE];
    double *xy;
    int status = pappus_ring_placed(&xy, ring, kml->to_geographic, kml->err);
    if (status != PAPPUS_OK) return status;
    pappus_xml_start(&kml->xml, element);
    pappus_xml_start(&kml->xml, "LinearRing");
    pappus_xml_start(&kml->xml, "coordinates");
    for (size_t i = 0; i <= ring->point_count; i++) {
        snprintf(point, sizeof point, "%s%.8f,%.8f", i ? " " : "", xy[2 * i], xy[2 * i + 1]);
        pappus_xml_text(&kml->xml, point);
    }
    for (int i = 0; i < 3; i++)
        pappus_xml_end(&kml->xml);
    free(xy);
    return PAPPUS_OK;
}

static int put_geometry(kml_text *kml, const pappus_area *area)
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

static int put_area(kml_text *kml, const pappus_area *area, const char *name, const char *style,
                    bool visible)
{
    pappus_xml_start(&kml->xml, "Placemark");
    pappus_xml_element(&kml->xml, "name", "%s", name);
    pappus_xml_element(&kml->xml, "visibility", "%d", visible);
    pappus_xml_element(&kml->xml, "styleUrl", "#%s", style);
    int status = put_geometry(kml, area);
    pappus_xml_end(&kml->xml);
    return status;
}

static void put_point(kml_text *kml, const char *name, const char *description, double latitude_deg,
                      double longitude_deg)
{
    pappus_xml_start(&kml->xml, "Placemark");
    pappus_xml_element(&kml->xml, "name", "%s", name);
    pappus_xml_element(&kml->xml, "description", "%s", description);
    pappus_xml_start(&kml->xml, "Point");
    pappus_xml_element(&kml->xml, "coordinates", "%.8f,%.8f", longitude_deg, latitude_deg);
    pappus_xml_end(&kml->xml);
    pappus_xml_end(&kml->xml);
}

/* Shapes come ordered by outcome: a folder for each. */
static int put_zones(kml_text *kml, const pappus_zone_shapes *shapes)
{
    char name[2 * PAPPUS_TEXT_SIZE];
    char level[PAPPUS_TEXT_SIZE];
    int status = PAPPUS_OK;
    for (size_t i = 0; status == PAPPUS_OK && i < shapes->count; i++) {
        const pappus_zone_shape *shape = &shapes->shapes[i];
        bool all = strcmp(shape->outcome, "all") == 0;
        const char *outcome = all ? "all outcomes" : shape->outcome;
        if (i == 0 || shapes->shapes[i - 1].outcome != shape->outcome) {
            if (i > 0) pappus_xml_end(&kml->xml);
            pappus_xml_start(&kml->xml, "Folder");
            pappus_xml_element(&kml->xml, "name", "Landing zone, %s", outcome);
            pappus_xml_element(&kml->xml, "visibility", "%d", all);
        }
        pappus_format_chance(level, sizeof level, shape->level);
        snprintf(name, sizeof name, "%s, %s", level, outcome);
        status = put_area(kml, shape->shape, name, "zone", all);
    }
    if (shapes->count > 0) pappus_xml_end(&kml->xml);
    return status;
}

static int put_landing_zones(kml_text *kml, const pappus_zones *zones)
{
    pappus_zone_shapes shapes;
    int status = zones->all.contour_count > 0 ? pappus_zone_contours(&shapes, zones, kml->err)
                                              : pappus_zone_ellipses(&shapes, zones, kml->err);
    if (status == PAPPUS_OK) status = put_zones(kml, &shapes);
    pappus_zone_shapes_clear(&shapes);
    return status;
}

static int put_field(kml_text *kml, const pappus_field *field)
{
    int status = PAPPUS_OK;
    if (!field) return status;
    if (field->has_boundary)
        status = put_area(kml, &field->boundary,
                          field->boundary.name[0] ? field->boundary.name : "Field boundary",
                          "boundary", true);
    for (size_t i = 0; status == PAPPUS_OK && i < field->keep_out_count; i++)
        status = put_area(kml, &field->keep_outs[i], field->keep_outs[i].name, "keep_out", true);
    return status;
}

static void put_places(kml_text *kml, const pappus_answer *answer)
{
    char name[PAPPUS_TEXT_SIZE];
    const pappus_site *site = &answer->plan->site;
    put_point(kml, site->pad_name ? site->pad_name : "Pad", "Launch pad", site->latitude_deg,
              site->longitude_deg);
    for (size_t i = 0; answer->crews && i < answer->crews->post_count; i++) {
        const pappus_post *post = &answer->crews->posts[i];
        snprintf(name, sizeof name, "Post %zu", i + 1);
        put_point(kml, name, post->road ? post->road : "Recovery crew", post->latitude_deg,
                  post->longitude_deg);
    }
}

static int put_document(kml_text *kml, const pappus_answer *answer)
{
    pappus_xml *xml = &kml->xml;
    pappus_xml_start(xml, "kml");
    pappus_xml_attribute(xml, "xmlns", "http://www.opengis.net/kml/2.2");
    pappus_xml_start(xml, "Document");
    pappus_xml_element(xml, "name", "%s", answer->plan->title ? answer->plan->title : "");
    pappus_xml_element(xml, "description",
                       "Landing zone: a planning estimate. The range safety officer decides.");
    put_styles(xml);
    int status = put_landing_zones(kml, answer->zones);
    if (status == PAPPUS_OK) status = put_field(kml, answer->field);
    put_places(kml, answer);
    pappus_xml_end(xml);
    pappus_xml_end(xml);
    return status;
}

int pappus_write_kml(const pappus_output *output, pappus_error *err)
{
    kml_text kml = {.err = err};
    int status = pappus_output_to_geographic(&kml.to_geographic, output, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_xml_begin(&kml.xml, err);
    if (status == PAPPUS_OK) status = put_document(&kml, output->answer);
    status = pappus_xml_write(&kml.xml, status, output, "zone.kml", err);
    pappus_transform_free(kml.to_geographic);
    return status;
}
