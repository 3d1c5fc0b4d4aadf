/* SPDX-License-Identifier: GPL-3.0-or-later
 * Pages are files (*.html, *.css, *.js beside this one) embedded at build, and filled
 * from a tree of values:
 *
 *   {{key}}           the text of a key, escaped; {{.}} the value itself
 *   {{key form}}      a number in a form of page_value.h: {{walk_m both distance}}
 *   {{#key}}...{{/key}}           repeated over an array, or once when there is something
 *   {{#key=word}}...{{/key=word}} when the text is this word
 *   {{^key}}...{{/key}}           when there is nothing: null, false, "" or no element
 *   {{>file}}         another file; its placeholders too when it is HTML
 *   {{{key}}}         as it is: a drawing of our own, whose key ends in "svg"
 *   {{!...}}          a remark
 *
 * A key is looked for from the innermost object outwards. One that is not there is an
 * error, so that a page and its tree cannot drift apart: what may be missing is null. */
#ifndef PAPPUS_OUTPUT_PAGE_FILL_H
#define PAPPUS_OUTPUT_PAGE_FILL_H

#include <cjson/cJSON.h>

#include "writer.h"

typedef struct {
    const char *name, *text;
} page_file;
/** Every embedded file; the last has no name. */
extern const page_file page_files[];
/** The text of an embedded file, NULL when there is none of this name. */
const char *page_file_text(const char *name);

#define PAGE_VALUE_SIZE 512
/** Writes a value in a form ("both height"); false when it knows no such form or the
 * value has none. context: what the caller gave to page_fill. */
typedef bool page_form(char out[PAGE_VALUE_SIZE], const cJSON *value, const char *form,
                       const void *context);

/** Fills the text of a page called `name` in messages; *out, of *size bytes and
 * terminated, is the caller's to free. PAPPUS_E_OUTPUT tells the placeholder at fault. */
int page_fill(char **out, size_t *size, const char *name, const char *text, const cJSON *tree,
              page_form *form, const void *context, pappus_error *err);

#endif
