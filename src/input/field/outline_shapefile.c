/* SPDX-License-Identifier: GPL-3.0-or-later
 * Outlines from shapefiles (ESRI Shapefile Technical Description, 1998) by
 * shapelib, brought to longitude and latitude on WGS 84 by PROJ from the reference
 * system in the .prj. Polygons and lines, with or without Z and M; null shapes and
 * deleted records are passed over. Names from the attribute `name`: UTF-8 when the
 * .cpg says so or the bytes are, else ISO 8859-1. */
#include "outline.h"
#include "error.h"
#include "file.h"
#include "geodesy.h"
#include "json.h"
#include "utf8.h"

#include <errno.h>
#include <shapefil.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#define PATH_SIZE 4096
#define PRJ_SIZE 16384

static void ignore_message(const char *message)
{
    (void)message;
}

/* Where a file cannot be opened the library tries its other name: why it could not stays known. */
static SAFile open_keeping_reason(const char *path, const char *access)
{
    int reason = errno;
    FILE *file = fopen(path, access);
    if (!file && errno == ENOENT) errno = reason;
    return (SAFile)file;
}

static SAHooks hooks_quiet(void)
{
    SAHooks hooks;
    SASetupDefaultHooks(&hooks);
    hooks.FOpen = open_keeping_reason;
    hooks.Error = ignore_message;
    return hooks;
}

/* A file that had no memory or handle to be read with only looks damaged. */
static void cannot_read(pappus_outline *outline, size_t feature, const char *message)
{
    if (pappus_file_code(errno, PAPPUS_E_FIELD) == PAPPUS_E_FIELD) {
        pappus_outline_fault(outline, feature, NULL, "%s", message);
        return;
    }
    outline->fault_count++;
    pappus_log_add(outline->log, PAPPUS_FAULT, PAPPUS_E_SYSTEM, outline->file, NULL, NULL,
                   "cannot be read: %s", strerror(errno));
}

/* The file beside the .shp with another extension, in lower or upper case. */
static bool sibling(char out[PATH_SIZE], const char *path, const char *lower, const char *upper)
{
    struct stat status;
    const char *const extensions[] = {lower, upper};
    int stem = (int)strlen(path) - 4;
    for (int i = 0; i < 2; i++) {
        int length = snprintf(out, PATH_SIZE, "%.*s.%s", stem, path, extensions[i]);
        if (length > 0 && length < PATH_SIZE && stat(out, &status) == 0) return true;
    }
    return false;
}

/* The length in the header (of .shp and .shx alike), in 16-bit words at byte 24,
 * against the file's own. */
static bool is_whole(const char *path)
{
    unsigned char header[100];
    FILE *file = fopen(path, "rb");
    if (!file) return false;
    bool ok = fread(header, sizeof header, 1, file) == 1 && fseek(file, 0, SEEK_END) == 0;
    long size = ok ? ftell(file) : -1;
    fclose(file);
    if (size < 0) return false;
    unsigned long words = (unsigned long)header[24] << 24 | (unsigned long)header[25] << 16 |
                          (unsigned long)header[26] << 8 | (unsigned long)header[27];
    return words >= 50 && 2 * words <= (unsigned long)size;
}

/* True when .shp and .shx are there and whole. */
static bool check_files(pappus_outline *outline, const char *path)
{
    char index[PATH_SIZE];
    if (strlen(path) < 5 || strcasecmp(path + strlen(path) - 4, ".shp") != 0) {
        pappus_outline_fault(outline, 0, NULL,
                             "is a part of a shapefile: name the .shp, with .shx, .dbf and .prj "
                             "beside it");
    } else if (!sibling(index, path, "shx", "SHX")) {
        pappus_outline_fault(outline, 0, NULL,
                             "its .shx is missing: copy .shp, .shx, .dbf and .prj together");
    } else if (!is_whole(path) || !is_whole(index)) {
        cannot_read(outline, 0, "the shapefile is truncated: copy .shp and .shx again");
    } else {
        return true;
    }
    return false;
}

/* -------------------------------------------------------------------- .prj */

static bool read_prj(pappus_outline *outline, const char *path, char text[PRJ_SIZE])
{
    char name[PATH_SIZE];
    if (!sibling(name, path, "prj", "PRJ")) {
        pappus_outline_fault(outline, 0, NULL,
                             "its .prj is missing, so nobody knows what its coordinates mean: "
                             "copy it along, or export the layer again");
        return false;
    }
    FILE *file = NULL;
    pappus_file_open(&file, name, PAPPUS_E_FIELD, NULL);
    size_t length = file ? fread(text, 1, PRJ_SIZE - 1, file) : 0;
    if (file) fclose(file);
    text[length] = '\0';
    /* A .prj is WKT; PROJ would take its own strings and file names as well. */
    if (strchr(text, '[')) return true;
    cannot_read(outline, 0, "its .prj holds no reference system (WKT): export the layer again");
    return false;
}

static int to_geographic(pappus_outline *outline, const char *prj)
{
    pappus_transform *transform;
    pappus_error err = {0};
    int status = pappus_transform_new(&transform, prj, "EPSG:4326", &err);
    if (status == PAPPUS_E_MEMORY) return status;
    if (pappus_is_of_machine(status)) {
        outline->fault_count++;
        return pappus_log_error(outline->log, &err);
    }
    if (status != PAPPUS_OK) {
        pappus_outline_fault(outline, 0, prj,
                             "its .prj is no reference system that PROJ can bring to longitude "
                             "and latitude: export the layer again in EPSG:4326");
        return PAPPUS_OK;
    }
    pappus_transform_run(transform, outline->point_count, outline->xy);
    pappus_transform_free(transform);
    return PAPPUS_OK;
}

/* -------------------------------------------------------------------- .dbf */

/* ISO 8859-1 to UTF-8: each byte is its own code point. */
static char *from_latin1(const unsigned char *text)
{
    char *out = malloc(2 * strlen((const char *)text) + 1), *at = out;
    if (!out) return NULL;
    for (; *text; text++) {
        if (*text >= 0x80) *at++ = (char)(0xC0 | *text >> 6);
        *at++ = (char)(*text >= 0x80 ? 0x80 | (*text & 0x3F) : *text);
    }
    *at = '\0';
    return out;
}

static bool says_utf8(DBFHandle table)
{
    const char *page = DBFGetCodePage(table);
    return page && (strcasestr(page, "UTF-8") || strcasestr(page, "UTF8") || strstr(page, "65001"));
}

/* *out stays NULL when the record has no name. */
static int read_name(char **out, pappus_outline *outline, DBFHandle table, int record)
{
    int field = table ? DBFGetFieldIndex(table, "name") : -1;
    size_t at;
    *out = NULL;
    if (field < 0 || record >= DBFGetRecordCount(table) || DBFIsAttributeNULL(table, record, field))
        return PAPPUS_OK;
    const char *text = DBFReadStringAttribute(table, record, field);
    if (!text) return PAPPUS_OK;
    bool utf8 = pappus_utf8_is_valid(text, strlen(text), &at);
    if (!utf8 && says_utf8(table)) {
        pappus_outline_fault(outline, (size_t)record + 1, NULL,
                             "its name is not UTF-8 though the .cpg says so: correct the .cpg or "
                             "export the layer again");
        return PAPPUS_OK;
    }
    *out = utf8 ? strdup(text) : from_latin1((const unsigned char *)text);
    return *out ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

static void read_numbers(pappus_outline *outline, DBFHandle table, int record)
{
    for (int i = 0; i < PAPPUS_OUTLINE_NUMBERS; i++) {
        int field = table ? DBFGetFieldIndex(table, pappus_outline_numbers[i]) : -1;
        if (field < 0 || record >= DBFGetRecordCount(table) ||
            DBFIsAttributeNULL(table, record, field))
            continue;
        const char *text = DBFReadStringAttribute(table, record, field);
        if (text) pappus_outline_feature_number(outline, i, text);
    }
}

/* -------------------------------------------------------------------- .shp */

static bool type_is_wanted(const pappus_outline *outline, int type)
{
    if (outline->lines) return type == SHPT_ARC || type == SHPT_ARCZ || type == SHPT_ARCM;
    return type == SHPT_POLYGON || type == SHPT_POLYGONZ || type == SHPT_POLYGONM;
}

static int read_parts(pappus_outline *outline, const SHPObject *shape)
{
    pappus_outline_kind kind = outline->lines ? PAPPUS_OUTLINE_LINE : PAPPUS_OUTLINE_RING;
    int status = PAPPUS_OK;
    for (int part = 0; status == PAPPUS_OK && part < shape->nParts; part++) {
        int first = shape->panPartStart[part];
        int end = part + 1 < shape->nParts ? shape->panPartStart[part + 1] : shape->nVertices;
        status = pappus_outline_part_begin(outline, kind);
        for (int i = first; status == PAPPUS_OK && i < end; i++)
            status = pappus_outline_point(outline, shape->padfX[i], shape->padfY[i]);
        if (status == PAPPUS_OK) pappus_outline_part_end(outline);
    }
    return status;
}

static int read_shape(pappus_outline *outline, const SHPObject *shape, DBFHandle table, int record)
{
    char *name;
    if (shape->nSHPType == SHPT_NULL) return PAPPUS_OK;
    if (!type_is_wanted(outline, shape->nSHPType)) {
        pappus_outline_fault(outline, (size_t)record + 1, SHPTypeName(shape->nSHPType),
                             "a %s takes %s", outline->what, outline->lines ? "lines" : "polygons");
        return PAPPUS_OK;
    }
    int status = read_name(&name, outline, table, record);
    if (status == PAPPUS_OK)
        status = pappus_outline_feature_begin(outline, (size_t)record + 1, name);
    free(name);
    if (status == PAPPUS_OK) read_numbers(outline, table, record);
    return status == PAPPUS_OK ? read_parts(outline, shape) : status;
}

static int read_shapes(pappus_outline *outline, SHPHandle shapes, DBFHandle table)
{
    int count, type, status = PAPPUS_OK;
    SHPGetInfo(shapes, &count, &type, NULL, NULL);
    for (int i = 0; status == PAPPUS_OK && i < count; i++) {
        if (table && i < DBFGetRecordCount(table) && DBFIsRecordDeleted(table, i)) continue;
        SHPObject *shape = SHPReadObject(shapes, i);
        if (!shape) {
            cannot_read(outline, (size_t)i + 1, "the shape cannot be read: the .shp is damaged");
            continue;
        }
        status = read_shape(outline, shape, table, i);
        SHPDestroyObject(shape);
    }
    return status;
}

int pappus_outline_read_shapefile(pappus_outline *outline, const char *path)
{
    char prj[PRJ_SIZE], attributes[PATH_SIZE];
    SAHooks hooks = hooks_quiet();
    outline->hint = "does the .prj belong to this shapefile?";
    errno = 0;
    if (!check_files(outline, path) || !read_prj(outline, path, prj)) return PAPPUS_OK;
    SHPHandle shapes = SHPOpenLL(path, "rb", &hooks);
    if (!shapes) {
        cannot_read(outline, 0, "the shapefile cannot be read: it is damaged");
        return PAPPUS_OK;
    }
    bool named = sibling(attributes, path, "dbf", "DBF");
    DBFHandle table = named ? DBFOpenLL(attributes, "rb", &hooks) : NULL;
    if (named && !table) cannot_read(outline, 0, "its .dbf cannot be read: it is damaged");
    int status = read_shapes(outline, shapes, table);
    if (table) DBFClose(table);
    SHPClose(shapes);
    return status == PAPPUS_OK ? to_geographic(outline, prj) : status;
}
