/* SPDX-License-Identifier: GPL-3.0-or-later
 * SVG to PNG by librsvg, cairo and libpng, without threads: the same bytes from the same
 * drawing, as long as the libraries and the font are the same. In a process of its own:
 * these libraries end the process they are in when memory or threads are short. */
#include <librsvg/rsvg.h>
#include <png.h>

#include "drawing.h"
#include "error.h"
#include "isolate.h"

#define COMPRESSION 3

static void put(png_structp png, png_bytep data, size_t length)
{
    if (!pappus_reply_add(png_get_io_ptr(png), data, length)) png_error(png, "out of memory");
}

/* Flat colours need no filter: with cairo's own settings the file is a fifth larger, and takes
 * four times as long. */
static int encode(pappus_reply *out, cairo_surface_t *surface, pappus_error *err)
{
    int width = cairo_image_surface_get_width(surface);
    int height = cairo_image_surface_get_height(surface);
    const unsigned char *pixels = cairo_image_surface_get_data(surface);
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png ? png_create_info_struct(png) : NULL;
    if (!info) {
        png_destroy_write_struct(&png, NULL);
        return pappus_fail_memory(err);
    }
    png_set_write_fn(png, out, put, NULL);
    png_set_compression_level(png, COMPRESSION);
    png_set_filter(png, PNG_FILTER_TYPE_BASE, PNG_FILTER_NONE);
    png_set_IHDR(png, info, (png_uint_32)width, (png_uint_32)height, 8, PNG_COLOR_TYPE_RGB,
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_BASE, PNG_FILTER_TYPE_BASE);
    png_write_info(png, info);
    png_set_bgr(png);
    png_set_filler(png, 0, PNG_FILLER_AFTER);
    for (int y = 0; y < height; y++)
        png_write_row(png, pixels + (size_t)y * (size_t)cairo_image_surface_get_stride(surface));
    png_write_end(png, info);
    png_destroy_write_struct(&png, &info);
    return PAPPUS_OK;
}

static int fail(pappus_error *err, const char *what)
{
    return pappus_fail(err, PAPPUS_E_OUTPUT, "map.png", NULL, NULL, "could not be drawn: %s", what);
}

static int paint(pappus_reply *out, RsvgHandle *handle, int width, int height, pappus_error *err)
{
    RsvgRectangle whole = {0, 0, width, height};
    GError *fault = NULL;
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    cairo_t *cairo = cairo_create(surface);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_paint(cairo);
    bool drawn = rsvg_handle_render_document(handle, cairo, &whole, &fault);
    int status = drawn ? PAPPUS_OK : fail(err, fault ? fault->message : "librsvg failed");
    g_clear_error(&fault);
    cairo_destroy(cairo);
    cairo_surface_flush(surface);
    cairo_status_t painted = cairo_surface_status(surface);
    if (painted != CAIRO_STATUS_SUCCESS) status = fail(err, cairo_status_to_string(painted));
    if (status == PAPPUS_OK) status = encode(out, surface, err);
    cairo_surface_destroy(surface);
    return status;
}

static int render(pappus_reply *out, RsvgHandle *handle, int width, pappus_error *err)
{
    double natural_width, natural_height;
    if (!rsvg_handle_get_intrinsic_size_in_pixels(handle, &natural_width, &natural_height))
        return fail(err, "the drawing has no size");
    return paint(out, handle, width, (int)((double)width * natural_height / natural_width + 0.5),
                 err);
}

typedef struct {
    const char *svg;
    size_t size;
    int width;
} png_work;

static int draw(pappus_reply *png, void *context, pappus_error *err)
{
    const png_work *work = context;
    GError *fault = NULL;
    RsvgHandle *handle = rsvg_handle_new_from_data((const guint8 *)work->svg, work->size, &fault);
    int status = handle ? render(png, handle, work->width, err)
                        : fail(err, fault ? fault->message : "librsvg failed");
    g_clear_error(&fault);
    if (handle) g_object_unref(handle);
    return status;
}

int drawing_png_start(pappus_isolation *self, const char *svg, size_t size, int width,
                      pappus_error *err)
{
    png_work work = {svg, size, width};
    return pappus_isolate_start(self, draw, &work, "map.png", PAPPUS_E_OUTPUT, NULL, err);
}

int drawing_png_finish(unsigned char **out, size_t *out_size, pappus_isolation *self,
                       pappus_error *err)
{
    pappus_reply png = {0};
    *out = NULL;
    int status = pappus_isolate_finish(&png, self, err);
    if (status != PAPPUS_OK) return status;
    *out = (unsigned char *)png.bytes;
    *out_size = png.length;
    return PAPPUS_OK;
}
