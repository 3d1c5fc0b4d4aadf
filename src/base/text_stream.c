/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "text_stream.h"

#include "error.h"

#include <stdlib.h>
#include <string.h>

#define LEAST_CAPACITY 256

/* What the stream writes; short of memory it is told so, and it is remembered. */
static ssize_t take(void *cookie, const char *from, size_t size)
{
    pappus_text *text = cookie;
    size_t capacity = text->capacity;
    while (capacity < text->size + size + 1)
        capacity *= 2;
    char *bytes = capacity > text->capacity ? realloc(text->bytes, capacity) : text->bytes;
    if (!bytes) {
        text->failed = true;
        return 0;
    }
    text->bytes = bytes;
    text->capacity = capacity;
    memcpy(bytes + text->size, from, size);
    text->size += size;
    bytes[text->size] = '\0';
    return (ssize_t)size;
}

int pappus_text_begin(pappus_text *text, pappus_error *err)
{
    *text = (pappus_text){.bytes = calloc(1, LEAST_CAPACITY), .capacity = LEAST_CAPACITY};
    if (text->bytes) text->stream = fopencookie(text, "w", (cookie_io_functions_t){.write = take});
    if (text->stream) return PAPPUS_OK;
    free(text->bytes);
    *text = (pappus_text){0};
    return pappus_fail_memory(err);
}

int pappus_text_finish(pappus_text *text, pappus_error *err)
{
    bool failed = ferror(text->stream);
    failed |= fclose(text->stream) != 0;
    failed |= text->failed;
    text->stream = NULL;
    if (!failed) return PAPPUS_OK;
    free(text->bytes);
    *text = (pappus_text){0};
    return pappus_fail_memory(err);
}
