/* SPDX-License-Identifier: GPL-3.0-or-later
 * One shapefile layer by shapelib.
 *
 * shapelib's closing calls write headers and return nothing, and its hooks get
 * no context. So the files that it opens through our hooks keep a sticky error,
 * and once it has handed them over in its handle they outlive its close, to be
 * asked how it went. A seek to where the file stands already is skipped: it
 * would flush the buffer at each record. Records of the attribute table are
 * put together here as fixed-point text: a call per attribute takes several
 * times longer for a million landings, and prints by the locale.
 *
 * A shapefile ends at 4 GB; that is some 30 million landings. */
#include "layer_file.h"

#include <errno.h>
#include <limits.h>
#include <math.h>
#include <shapefil.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "format.h"
#include "utf8.h"

#define BUFFER_BYTES 65536
#define LARGEST_SCALED 9.0e17

typedef struct {
    FILE *file;
    bool owned;   /* by the layer: outlives shapelib's close */
    bool writing; /* the last call wrote, position is where the file stands */
    unsigned long position;
    int failure; /* errno of the first failure, 0 none */
    char buffer[BUFFER_BYTES];
} hooked_file;

struct pappus_layer {
    SHPHandle shapes;
    DBFHandle table;
    hooked_file *files[3];
    SHPObject *point;
    const pappus_transform *to_crs;
    const pappus_layer_field *fields;
    size_t field_count;
    int offsets[16];
    char *record;
    int record_length, record_number;
    int failure;              /* a pappus_status, sticky */
    const char *failed_field; /* whose value did not fit, NULL none */
    char *path;
    const char *name; /* its end, for messages */
};

static hooked_file *hooked(SAFile file)
{
    return (hooked_file *)(void *)file;
}

static void fail_file(hooked_file *file)
{
    if (file->failure == 0) file->failure = errno ? errno : EIO;
}

static SAFile hook_open(const char *path, const char *access)
{
    hooked_file *file = calloc(1, sizeof *file);
    if (!file) return NULL;
    file->file = fopen(path, access);
    if (!file->file || setvbuf(file->file, file->buffer, _IOFBF, BUFFER_BYTES) != 0) {
        if (file->file) fclose(file->file);
        free(file);
        return NULL;
    }
    return (SAFile)(void *)file;
}

static SAOffset hook_read(void *out, SAOffset size, SAOffset count, SAFile handle)
{
    hooked(handle)->writing = false;
    return fread(out, size, count, hooked(handle)->file);
}

static SAOffset hook_write(void *from, SAOffset size, SAOffset count, SAFile handle)
{
    hooked_file *file = hooked(handle);
    SAOffset written = fwrite(from, size, count, file->file);
    if (written != count) fail_file(file);
    if (file->writing) file->position += size * count;
    return written;
}

static SAOffset hook_seek(SAFile handle, SAOffset offset, int whence)
{
    hooked_file *file = hooked(handle);
    if (file->writing && whence == SEEK_SET && file->position == offset) return 0;
    if (fseek(file->file, (long)offset, whence) != 0) {
        fail_file(file);
        return (SAOffset)-1;
    }
    file->writing = whence == SEEK_SET;
    file->position = offset;
    return 0;
}

static SAOffset hook_tell(SAFile handle)
{
    return (SAOffset)ftell(hooked(handle)->file);
}

static int hook_flush(SAFile handle)
{
    int status = fflush(hooked(handle)->file);
    if (status != 0) fail_file(hooked(handle));
    return status;
}

static int hook_close(SAFile handle)
{
    hooked_file *file = hooked(handle);
    int status = fclose(file->file);
    if (status != 0) fail_file(file);
    if (!file->owned) free(file);
    return status;
}

static void hook_error(const char *message)
{
    (void)message; /* what failed is known from the file and the returned value */
}

/* shapelib asks for it, to read numbers, which no writer does. The caller stands
 * in the C locale. */
static double hook_number(const char *text)
{
    return strtod(text, NULL);
}

static const SAHooks hooks = {hook_open,  hook_read,  hook_write, hook_seek,  hook_tell,
                              hook_flush, hook_close, remove,     hook_error, hook_number};

static int write_side_file(const pappus_layer *layer, const char *extension, const char *text,
                           pappus_error *err)
{
    char *path;
    if (asprintf(&path, "%s%s", layer->path, extension) < 0) return pappus_fail_memory(err);
    FILE *file = fopen(path, "wb");
    bool good = file && fputs(text, file) >= 0;
    if (file && fclose(file) != 0) good = false;
    int status = good ? PAPPUS_OK
                      : pappus_fail(err, PAPPUS_E_OUTPUT, layer->name, extension, NULL,
                                    "cannot be written: %s", strerror(errno));
    free(path);
    return status;
}

static void own_files(pappus_layer *layer)
{
    layer->files[0] = hooked(layer->shapes->fpSHP);
    layer->files[1] = hooked(layer->shapes->fpSHX);
    layer->files[2] = hooked(layer->table->fp);
    for (size_t i = 0; i < 3; i++)
        layer->files[i]->owned = true;
}

static bool add_fields(pappus_layer *layer)
{
    int offset = 1; /* the first byte marks deleted records */
    for (size_t i = 0; i < layer->field_count; i++) {
        const pappus_layer_field *field = &layer->fields[i];
        if (DBFAddNativeFieldType(layer->table, field->name, field->type, field->width,
                                  field->decimals) < 0)
            return false;
        layer->offsets[i] = offset;
        offset += field->width;
    }
    layer->record_length = offset;
    layer->record = malloc((size_t)offset);
    if (layer->record) memset(layer->record, ' ', (size_t)offset);
    return layer->record != NULL;
}

static bool open_files(pappus_layer *layer, pappus_layer_kind kind)
{
    static const int types[] = {SHPT_POINT, SHPT_ARC, SHPT_POLYGON};
    SAHooks own = hooks;
    char *name;
    if (asprintf(&name, "%s.dbf", layer->path) < 0) return false;
    layer->table = DBFCreateLL(name, NULL, &own);
    memcpy(name + strlen(name) - 3, "shp", 3);
    if (layer->table) layer->shapes = SHPCreateLL(name, types[kind], &own);
    free(name);
    if (layer->table && !layer->shapes) {
        DBFClose(layer->table);
        layer->table = NULL;
    }
    if (!layer->table) return false;
    double zero = 0;
    layer->point = SHPCreateSimpleObject(SHPT_POINT, 1, &zero, &zero, NULL);
    own_files(layer);
    return layer->point && add_fields(layer);
}

int pappus_layer_open(pappus_layer **out, const char *folder, const char *name,
                      pappus_layer_kind kind, const pappus_layer_field *fields, size_t field_count,
                      const pappus_transform *to_crs, const char *wkt, pappus_error *err)
{
    pappus_layer *layer = calloc(1, sizeof *layer);
    *out = NULL;
    if (!layer) return pappus_fail_memory(err);
    layer->to_crs = to_crs;
    layer->fields = fields;
    layer->field_count = field_count;
    if (asprintf(&layer->path, "%s/%s", folder, name) < 0) {
        free(layer);
        return pappus_fail_memory(err);
    }
    layer->name = layer->path + strlen(folder) + 1;
    errno = 0;
    int status = PAPPUS_OK;
    if (!open_files(layer, kind))
        status = pappus_fail(err, PAPPUS_E_OUTPUT, name, NULL, NULL, "cannot be begun: %s",
                             strerror(errno ? errno : ENOMEM));
    if (status == PAPPUS_OK) status = write_side_file(layer, ".prj", wkt, err);
    if (status == PAPPUS_OK) status = write_side_file(layer, ".cpg", "UTF-8", err);
    if (status != PAPPUS_OK) return pappus_layer_close(layer, status, err);
    *out = layer;
    return PAPPUS_OK;
}

void pappus_layer_text(pappus_layer *layer, size_t field, const char *text)
{
    char cut[256];
    char *clean = pappus_text_clean(text);
    if (!clean) {
        layer->failure = PAPPUS_E_MEMORY;
        return;
    }
    size_t length = pappus_text_cut(cut, (size_t)layer->fields[field].width + 1, clean);
    memcpy(layer->record + layer->offsets[field], cut, length);
    free(clean);
}

static void does_not_fit(pappus_layer *layer, size_t field)
{
    if (layer->failure == PAPPUS_OK) layer->failed_field = layer->fields[field].name;
    layer->failure = PAPPUS_E_OUTPUT;
}

void pappus_layer_number(pappus_layer *layer, size_t field, double value)
{
    static const double powers[] = {1,   1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                    1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    const pappus_layer_field *shape = &layer->fields[field];
    char *start = layer->record + layer->offsets[field];
    char *at = start + shape->width;
    if (!isfinite(value)) return;
    double scaled = round(fabs(value) * powers[shape->decimals]);
    if (scaled > LARGEST_SCALED) {
        does_not_fit(layer, field);
        return;
    }
    unsigned long long digits = (unsigned long long)scaled;
    bool minus = value < 0 && digits > 0;
    for (int place = 0; place <= shape->decimals || digits > 0; place++) {
        if (place == shape->decimals && place > 0 && at > start) *--at = '.';
        if (at == start) break;
        *--at = (char)('0' + digits % 10);
        digits /= 10;
    }
    if (digits > 0 || (minus && at == start))
        does_not_fit(layer, field);
    else if (minus)
        *--at = '-';
}

/* The record that was put together goes to the table, and a blank one follows. */
static void end_record(pappus_layer *layer, SHPObject *shape)
{
    if (layer->failure == PAPPUS_OK &&
        (!shape || SHPWriteObject(layer->shapes, -1, shape) < 0 ||
         !DBFWriteTuple(layer->table, layer->record_number, layer->record)))
        layer->failure = PAPPUS_E_OUTPUT;
    layer->record_number++;
    memset(layer->record, ' ', (size_t)layer->record_length);
}

void pappus_layer_add_placed(pappus_layer *layer, double x, double y)
{
    SHPObject *point = layer->point;
    if (!isfinite(x) || !isfinite(y)) layer->failure = PAPPUS_E_NUMERIC;
    point->padfX[0] = point->dfXMin = point->dfXMax = x;
    point->padfY[0] = point->dfYMin = point->dfYMax = y;
    end_record(layer, point);
}

void pappus_layer_add_point(pappus_layer *layer, double east_m, double north_m)
{
    double at[2] = {east_m, north_m};
    pappus_transform_run(layer->to_crs, 1, at);
    pappus_layer_add_placed(layer, at[0], at[1]);
}

/* Points of a line or of rings, gathered before shapelib copies them. */
typedef struct {
    size_t part_count, point_count;
    int *starts;
    double *xy, *x, *y;
} parts;

static bool parts_begin(parts *out, size_t part_count, size_t point_count)
{
    *out = (parts){0};
    if (part_count == 0 || point_count == 0 || point_count > INT_MAX / 2) return false;
    out->starts = malloc(part_count * sizeof *out->starts);
    out->xy = malloc(2 * point_count * sizeof(double));
    out->x = malloc(point_count * sizeof(double));
    out->y = malloc(point_count * sizeof(double));
    return out->starts && out->xy && out->x && out->y;
}

static void parts_clear(parts *gathered)
{
    free(gathered->starts);
    free(gathered->xy);
    free(gathered->x);
    free(gathered->y);
}

static void add_parts(pappus_layer *layer, parts *gathered, int type)
{
    pappus_transform_run(layer->to_crs, gathered->point_count, gathered->xy);
    for (size_t i = 0; i < gathered->point_count; i++) {
        gathered->x[i] = gathered->xy[2 * i];
        gathered->y[i] = gathered->xy[2 * i + 1];
        if (!isfinite(gathered->x[i]) || !isfinite(gathered->y[i]))
            layer->failure = PAPPUS_E_NUMERIC;
    }
    SHPObject *shape =
        SHPCreateObject(type, -1, (int)gathered->part_count, gathered->starts, NULL,
                        (int)gathered->point_count, gathered->x, gathered->y, NULL, NULL);
    end_record(layer, shape);
    if (shape) SHPDestroyObject(shape);
}

void pappus_layer_add_line(pappus_layer *layer, size_t count, const double *points_m)
{
    parts gathered;
    if (parts_begin(&gathered, 1, count)) {
        memcpy(gathered.xy, points_m, 2 * count * sizeof(double));
        gathered.starts[0] = 0;
        gathered.part_count = 1;
        gathered.point_count = count;
        add_parts(layer, &gathered, SHPT_ARC);
    } else {
        layer->failure = PAPPUS_E_MEMORY;
    }
    parts_clear(&gathered);
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

void pappus_layer_add_area(pappus_layer *layer, const pappus_area *area)
{
    size_t rings = 0, points = 0;
    for (size_t p = 0; p < area->polygon_count; p++) {
        rings += area->polygons[p].ring_count;
        for (size_t r = 0; r < area->polygons[p].ring_count; r++)
            points += points_of(&area->polygons[p].rings[r]);
    }
    parts gathered;
    if (parts_begin(&gathered, rings, points)) {
        for (size_t p = 0; p < area->polygon_count; p++)
            for (size_t r = 0; r < area->polygons[p].ring_count; r++)
                gather_ring(&gathered, &area->polygons[p].rings[r]);
        add_parts(layer, &gathered, SHPT_POLYGON);
    } else {
        layer->failure = PAPPUS_E_MEMORY;
    }
    parts_clear(&gathered);
}

static int failure_of(const pappus_layer *layer, int reason, pappus_error *err)
{
    if (reason != 0)
        return pappus_fail(err, PAPPUS_E_OUTPUT, layer->name, NULL, NULL, "cannot be written: %s",
                           strerror(reason));
    if (layer->failed_field)
        return pappus_fail(err, PAPPUS_E_OUTPUT, layer->name, layer->failed_field, NULL,
                           "a value is too large for its field");
    if (layer->failure == PAPPUS_E_MEMORY) return pappus_fail_memory(err);
    if (layer->failure == PAPPUS_E_NUMERIC)
        return pappus_fail(err, PAPPUS_E_NUMERIC, layer->name, NULL, NULL,
                           "a place cannot be given in this reference system");
    if (layer->failure != PAPPUS_OK)
        return pappus_fail(err, PAPPUS_E_OUTPUT, layer->name, NULL, NULL,
                           "a record cannot be written");
    return PAPPUS_OK;
}

int pappus_layer_close(pappus_layer *layer, int status, pappus_error *err)
{
    int reason = 0;
    if (layer->table) DBFClose(layer->table);
    if (layer->shapes) SHPClose(layer->shapes);
    for (size_t i = 0; i < 3; i++) {
        if (layer->files[i] && reason == 0) reason = layer->files[i]->failure;
        free(layer->files[i]);
    }
    if (layer->point) SHPDestroyObject(layer->point);
    if (status == PAPPUS_OK) status = failure_of(layer, reason, err);
    free(layer->record);
    free(layer->path);
    free(layer);
    return status;
}
