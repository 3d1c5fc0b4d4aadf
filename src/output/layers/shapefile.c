/* SPDX-License-Identifier: GPL-3.0-or-later
 * Layers as shapefiles (ESRI Shapefile Technical Description, 1998; dBASE III
 * attribute tables) by shapelib, in WGS 84 or in the pad's UTM zone. Points are
 * projected block by block. Records of the attribute table are put together here as
 * fixed-point text: a call per attribute takes several times longer for a million
 * landings, and prints by the locale.
 *
 * A shapefile ends at 4 GB; that is some 30 million landings. */
#include <errno.h>
#include <limits.h>
#include <math.h>
#include <shapefil.h>
#include <stdlib.h>
#include <string.h>

#include "block_file.h"
#include "error.h"
#include "format.h"
#include "layer.h"
#include "utf8.h"

#define BLOCK 4096 /* points that are projected at once */
#define LARGEST_SCALED 9.0e17

typedef struct {
    const layer *from;
    const pappus_transform *to_crs;
    char *path; /* without an extension */
    SHPHandle shapes;
    DBFHandle table;
    SAFile files[3];
    int offsets[LAYER_MOST_COLUMNS];
    char *record;
    int record_length, record_number;
    int failure;              /* a pappus_status, sticky */
    const char *failed_field; /* whose value did not fit, NULL none */
} layer_file;

/* ------------------------------------------------------------------ records */

static int width_of(const layer_file *file, size_t column)
{
    int width = file->from->columns[column].width;
    return width > 0 ? width : file->from->text_width;
}

/* Cut at a UTF-8 boundary. */
static void put_text(layer_file *file, size_t column, const char *text)
{
    char cut[LAYER_WIDEST + 2];
    char *clean = pappus_text_clean(text);
    if (!clean) {
        file->failure = PAPPUS_E_MEMORY;
        return;
    }
    size_t length = pappus_text_cut(cut, (size_t)width_of(file, column) + 1, clean);
    memcpy(file->record + file->offsets[column], cut, length);
    free(clean);
}

static void does_not_fit(layer_file *file, size_t column)
{
    if (file->failure == PAPPUS_OK) file->failed_field = file->from->columns[column].name;
    file->failure = PAPPUS_E_OUTPUT;
}

static void put_number(layer_file *file, size_t column, double value)
{
    static const double powers[] = {1,   1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                    1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    int decimals = file->from->columns[column].decimals;
    char *start = file->record + file->offsets[column];
    char *at = start + width_of(file, column);
    if (!isfinite(value)) return;
    double scaled = round(fabs(value) * powers[decimals]);
    if (scaled > LARGEST_SCALED) {
        does_not_fit(file, column);
        return;
    }
    unsigned long long digits = (unsigned long long)scaled;
    bool minus = value < 0 && digits > 0;
    for (int place = 0; place <= decimals || digits > 0; place++) {
        if (place == decimals && place > 0 && at > start) *--at = '.';
        if (at == start) break;
        *--at = (char)('0' + digits % 10);
        digits /= 10;
    }
    if (digits > 0 || (minus && at == start))
        does_not_fit(file, column);
    else if (minus)
        *--at = '-';
}

static void put_record(layer_file *file, size_t feature, SHPObject *shape)
{
    layer_cell cells[LAYER_MOST_COLUMNS];
    memset(file->record, ' ', (size_t)file->record_length);
    file->from->fill(file->from, feature, cells);
    for (size_t i = 0; i < file->from->column_count; i++) {
        if (file->from->columns[i].kind != LAYER_TEXT)
            put_number(file, i, cells[i].number);
        else if (cells[i].text)
            put_text(file, i, cells[i].text);
    }
    if (file->failure == PAPPUS_OK &&
        (SHPWriteObject(file->shapes, -1, shape) < 0 ||
         !DBFWriteTuple(file->table, file->record_number, file->record)))
        file->failure = PAPPUS_E_OUTPUT;
    file->record_number++;
}

/* The bounds come from here: the library's own calls fail by a signal when memory is short. */
static void put_shape(layer_file *file, size_t feature, SHPObject *shape, double *x, double *y)
{
    shape->nShapeId = -1;
    shape->padfX = x;
    shape->padfY = y;
    shape->dfXMin = shape->dfYMin = INFINITY;
    shape->dfXMax = shape->dfYMax = -INFINITY;
    for (int i = 0; i < shape->nVertices; i++) {
        if (!isfinite(x[i]) || !isfinite(y[i])) file->failure = PAPPUS_E_NUMERIC;
        shape->dfXMin = fmin(shape->dfXMin, x[i]);
        shape->dfXMax = fmax(shape->dfXMax, x[i]);
        shape->dfYMin = fmin(shape->dfYMin, y[i]);
        shape->dfYMax = fmax(shape->dfYMax, y[i]);
    }
    put_record(file, feature, shape);
}

/* ------------------------------------------------------------------- points */

static void put_points(layer_file *file)
{
    const layer *from = file->from;
    double at[2 * BLOCK];
    for (size_t first = 0; first < from->count; first += BLOCK) {
        size_t count = from->count - first < BLOCK ? from->count - first : BLOCK;
        for (size_t i = 0; i < count; i++) {
            layer_shape shape = from->place(from, first + i);
            memcpy(&at[2 * i], shape.point_m, sizeof shape.point_m);
        }
        pappus_transform_run(file->to_crs, count, at);
        for (size_t i = 0; i < count; i++) {
            SHPObject point = {.nSHPType = SHPT_POINT, .nVertices = 1};
            put_shape(file, first + i, &point, &at[2 * i], &at[2 * i + 1]);
        }
    }
}

/* ---------------------------------------------------------- lines and areas */

/* Points of a line or of rings, gathered before shapelib copies them. */
typedef struct {
    size_t part_count, point_count;
    int *starts;
    double *xy, *x, *y; /* one block */
} parts;

static bool parts_begin(parts *out, size_t part_count, size_t point_count)
{
    *out = (parts){0};
    if (part_count == 0 || point_count == 0 || point_count > INT_MAX / 2) return false;
    out->starts = malloc(part_count * sizeof *out->starts);
    out->xy = malloc(4 * point_count * sizeof(double));
    if (!out->starts || !out->xy) return false;
    out->x = out->xy + 2 * point_count;
    out->y = out->x + point_count;
    return true;
}

static void parts_clear(parts *gathered)
{
    free(gathered->starts);
    free(gathered->xy);
}

static bool gather_line(parts *gathered, const pappus_road *line)
{
    if (!parts_begin(gathered, 1, line->point_count)) return false;
    memcpy(gathered->xy, line->points_m, 2 * line->point_count * sizeof(double));
    gathered->starts[0] = 0;
    gathered->part_count = 1;
    gathered->point_count = line->point_count;
    return true;
}

/* A straight edge on the pad's plane is not straight in degrees or in UTM: 0.2 m off
 * over 3 km at 42 degrees, length squared times tan(latitude) over eight Earth radii.
 * Points within an edge keep that under a millimetre, so that who counts the landings
 * inside the written outline counts the same. */
#define LONGEST_EDGE_M 100.0
#define MOST_PIECES 10000.0

/* The ring's vertices run backwards: the k-th, of which the first comes again. */
static const double *vertex_of(const pappus_ring *ring, size_t k)
{
    return &ring->points_m[2 * ((2 * ring->point_count - k) % ring->point_count)];
}

static size_t pieces_of(const double *from, const double *to)
{
    double pieces = ceil(hypot(to[0] - from[0], to[1] - from[1]) / LONGEST_EDGE_M);
    return pieces >= 1.0 ? (size_t)fmin(pieces, MOST_PIECES) : 1;
}

static size_t points_of(const pappus_ring *ring)
{
    size_t count = 1;
    for (size_t k = 0; k < ring->point_count; k++)
        count += pieces_of(vertex_of(ring, k), vertex_of(ring, k + 1));
    return count;
}

/* Closed, and turned as a shapefile wants it: shells clockwise, holes the other
 * way. On the plane shells are counter-clockwise, so every ring runs backwards. */
static void gather_ring(parts *gathered, const pappus_ring *ring)
{
    if (ring->point_count == 0) return;
    gathered->starts[gathered->part_count++] = (int)gathered->point_count;
    for (size_t k = 0; k < ring->point_count; k++) {
        const double *from = vertex_of(ring, k), *next = vertex_of(ring, k + 1);
        size_t pieces = pieces_of(from, next);
        for (size_t i = 0; i < pieces; i++) {
            double *to = &gathered->xy[2 * gathered->point_count++];
            double share = (double)i / (double)pieces;
            to[0] = from[0] + share * (next[0] - from[0]);
            to[1] = from[1] + share * (next[1] - from[1]);
        }
    }
    memcpy(&gathered->xy[2 * gathered->point_count++], vertex_of(ring, 0), 2 * sizeof(double));
}

static bool gather_area(parts *gathered, const pappus_area *area)
{
    size_t rings = 0, points = 0;
    for (size_t p = 0; p < area->polygon_count; p++) {
        rings += area->polygons[p].ring_count;
        for (size_t r = 0; r < area->polygons[p].ring_count; r++)
            points += points_of(&area->polygons[p].rings[r]);
    }
    if (!parts_begin(gathered, rings, points)) return false;
    for (size_t p = 0; p < area->polygon_count; p++)
        for (size_t r = 0; r < area->polygons[p].ring_count; r++)
            gather_ring(gathered, &area->polygons[p].rings[r]);
    return true;
}

static void put_parts(layer_file *file, size_t feature, parts *gathered, int type)
{
    pappus_transform_run(file->to_crs, gathered->point_count, gathered->xy);
    for (size_t i = 0; i < gathered->point_count; i++) {
        gathered->x[i] = gathered->xy[2 * i];
        gathered->y[i] = gathered->xy[2 * i + 1];
    }
    SHPObject shape = {.nSHPType = type,
                       .nParts = (int)gathered->part_count,
                       .panPartStart = gathered->starts,
                       .nVertices = (int)gathered->point_count};
    put_shape(file, feature, &shape, gathered->x, gathered->y);
}

static void put_outlines(layer_file *file)
{
    bool lines = file->from->kind == LAYER_LINES;
    for (size_t i = 0; i < file->from->count; i++) {
        layer_shape shape = file->from->place(file->from, i);
        parts gathered;
        if (lines ? gather_line(&gathered, shape.line) : gather_area(&gathered, shape.area))
            put_parts(file, i, &gathered, lines ? SHPT_ARC : SHPT_POLYGON);
        else
            file->failure = PAPPUS_E_MEMORY;
        parts_clear(&gathered);
    }
}

/* -------------------------------------------------------------------- files */

static bool add_fields(layer_file *file)
{
    int offset = 1; /* the first byte marks deleted records */
    for (size_t i = 0; i < file->from->column_count; i++) {
        const layer_column *column = &file->from->columns[i];
        char type = column->kind == LAYER_TEXT ? 'C' : 'N';
        if (DBFAddNativeFieldType(file->table, column->name, type, width_of(file, i),
                                  column->decimals) < 0)
            return false;
        file->offsets[i] = offset;
        offset += width_of(file, i);
    }
    file->record_length = offset;
    file->record = calloc(1, (size_t)offset);
    return file->record;
}

static bool open_files(layer_file *file)
{
    static const int types[] = {SHPT_POINT, SHPT_ARC, SHPT_POLYGON};
    SAHooks hooks = block_file_hooks;
    char *name;
    if (asprintf(&name, "%s.dbf", file->path) < 0) return false;
    file->table = DBFCreateLL(name, NULL, &hooks);
    memcpy(name + strlen(name) - 3, "shp", 3);
    if (file->table) file->shapes = SHPCreateLL(name, types[file->from->kind], &hooks);
    free(name);
    if (!file->table || !file->shapes) return false;
    file->files[0] = file->shapes->fpSHP;
    file->files[1] = file->shapes->fpSHX;
    file->files[2] = file->table->fp;
    for (size_t i = 0; i < 3; i++)
        block_file_keep(file->files[i]);
    return add_fields(file);
}

static int failure_of(const layer_file *file, const char *name, int reason, pappus_error *err)
{
    if (reason != 0)
        return pappus_fail(err, PAPPUS_E_OUTPUT, name, NULL, NULL, "cannot be written: %s",
                           strerror(reason));
    if (file->failure == PAPPUS_OK) return PAPPUS_OK;
    if (file->failure == PAPPUS_E_MEMORY) return pappus_fail_memory(err);
    return pappus_fail(err, file->failure, name, file->failed_field, NULL,
                       file->failed_field                  ? "a value is too large for its field"
                       : file->failure == PAPPUS_E_NUMERIC ? "a place cannot be given in this "
                                                             "reference system"
                                                           : "a record cannot be written");
}

/* Closes and frees; tells of any failure since the files were opened. With a status
 * other than PAPPUS_OK only closes, and returns it. */
static int close_files(layer_file *file, const char *name, int status, pappus_error *err)
{
    int reason = 0;
    if (file->table) DBFClose(file->table);
    if (file->shapes) SHPClose(file->shapes);
    for (size_t i = 0; i < 3; i++) {
        int failure = block_file_end(file->files[i]);
        if (reason == 0) reason = failure;
    }
    free(file->record);
    free(file->path);
    return status == PAPPUS_OK ? failure_of(file, name, reason, err) : status;
}

static int put_side_file(const layer_list *list, const layer *from, const char *extension,
                         const char *text, pappus_error *err)
{
    char name[64];
    snprintf(name, sizeof name, "layers/%s.%s", from->name, extension);
    return pappus_output_bytes(list->output, name, text, strlen(text), err);
}

static int put_layer(const layer_list *list, const layer *from, const pappus_transform *to_crs,
                     const char *wkt, pappus_error *err)
{
    layer_file file = {.from = from, .to_crs = to_crs};
    char name[64];
    snprintf(name, sizeof name, "layers/%s", from->name);
    int status = pappus_output_path(&file.path, list->output, name, err);
    if (status != PAPPUS_OK) return status;
    errno = 0;
    if (!open_files(&file))
        status = pappus_fail(err, PAPPUS_E_OUTPUT, name, NULL, NULL, "cannot be begun: %s",
                             strerror(errno ? errno : ENOMEM));
    if (status == PAPPUS_OK) status = put_side_file(list, from, "prj", wkt, err);
    if (status == PAPPUS_OK) status = put_side_file(list, from, "cpg", "UTF-8", err);
    if (status == PAPPUS_OK && from->kind == LAYER_POINTS) put_points(&file);
    if (status == PAPPUS_OK && from->kind != LAYER_POINTS) put_outlines(&file);
    return close_files(&file, name, status, err);
}

static int find_crs(pappus_transform **to_crs, char **wkt, const pappus_output *output,
                    pappus_error *err)
{
    const pappus_site *site = &output->answer->plan->site;
    int epsg = PAPPUS_EPSG_WGS84;
    if (output->options->crs == PAPPUS_CRS_UTM)
        epsg = pappus_utm_epsg(site->latitude_deg, site->longitude_deg);
    if (epsg == 0)
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, "site.latitude", NULL,
                           "UTM ends at 84 degrees north and 80 south; write the layers in WGS 84");
    int status = pappus_crs_wkt(wkt, epsg, err);
    if (status == PAPPUS_OK)
        status =
            pappus_transform_from_local(to_crs, site->latitude_deg, site->longitude_deg, epsg, err);
    return status;
}

int layers_put_shapefiles(const layer_list *list, pappus_error *err)
{
    pappus_transform *to_crs = NULL;
    char *wkt = NULL;
    int status = find_crs(&to_crs, &wkt, list->output, err);
    for (size_t i = 0; status == PAPPUS_OK && i < list->count; i++)
        if (list->layers[i].formats & LAYER_SHAPEFILE)
            status = put_layer(list, &list->layers[i], to_crs, wkt, err);
    pappus_transform_free(to_crs);
    free(wkt);
    return status;
}
