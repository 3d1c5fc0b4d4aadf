/* SPDX-License-Identifier: GPL-3.0-or-later
 * SHA-256 (FIPS 180-4) of what is added to it, by GLib. */
#ifndef PAPPUS_BASE_DIGEST_H
#define PAPPUS_BASE_DIGEST_H

#include <pappus/status.h>

#define PAPPUS_DIGEST_SIZE 65 /* hexadecimal, with its NUL */

typedef struct pappus_digest pappus_digest;

/** NULL when out of memory. */
pappus_digest *pappus_digest_new(void);
void pappus_digest_add(pappus_digest *digest, const void *bytes, size_t size);
/** The text with its NUL, so that two texts in a row are not one. NULL is "". */
void pappus_digest_add_text(pappus_digest *digest, const char *text);
/** What it is so far; more may be added. */
void pappus_digest_text(char out[PAPPUS_DIGEST_SIZE], const pappus_digest *digest);
void pappus_digest_free(pappus_digest *digest);
/** Adds the bytes of a file; status: the code of a fault. */
int pappus_digest_add_file(pappus_digest *digest, const char *path, int status, pappus_error *err);

#endif
