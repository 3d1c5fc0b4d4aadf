/* SPDX-License-Identifier: GPL-3.0-or-later
 * What every writer of the output folder has in common. A writer takes the
 * answer and puts its file, or files, into the folder being made; the table of
 * writers is in write.c. A writer that has nothing to say (no posts, no field)
 * writes no file. */
#ifndef PAPPUS_OUTPUT_WRITER_H
#define PAPPUS_OUTPUT_WRITER_H

#include <pappus/output.h>

#include "text_stream.h"

typedef struct {
    const pappus_answer *answer;
    const char *folder; /**< being made; there already, with "layers" in it */
    const pappus_write_options *options;
    const pappus_decision *flight; /**< of all parts together; NULL: this is the flight */
    bool answer_alone;             /**< a page without the wind's profile and the outcomes */
} pappus_output;

typedef int pappus_writer(const pappus_output *output, pappus_error *err);

/** "folder/name"; the caller frees it. */
int pappus_output_path(char **out, const pappus_output *output, const char *name,
                       pappus_error *err);
/** Writes a whole file ("layers/posts.geojson") of `size` bytes, checked. */
int pappus_output_bytes(const pappus_output *output, const char *name, const char *bytes,
                        size_t size, pappus_error *err);
/** Ends the text and writes it to a file of the folder; status is what the
 * caller has so far: when not PAPPUS_OK nothing is written and it is returned. */
int pappus_text_write(pappus_text *text, int status, const pappus_output *output, const char *name,
                      pappus_error *err);

#endif
