/* SPDX-License-Identifier: GPL-3.0-or-later
 * SHA-256 by GLib's GChecksum. */
#include "digest.h"

#include "error.h"

#include <errno.h>
#include <glib.h>
#include <stdio.h>
#include <string.h>

#define AT_ONCE ((size_t)1 << 16)

pappus_digest *pappus_digest_new(void)
{
    return (pappus_digest *)g_checksum_new(G_CHECKSUM_SHA256);
}

void pappus_digest_add(pappus_digest *digest, const void *bytes, size_t size)
{
    g_checksum_update((GChecksum *)digest, bytes, (gssize)size);
}

void pappus_digest_add_text(pappus_digest *digest, const char *text)
{
    if (!text) text = "";
    pappus_digest_add(digest, text, strlen(text) + 1);
}

void pappus_digest_text(char out[PAPPUS_DIGEST_SIZE], const pappus_digest *digest)
{
    GChecksum *copy = g_checksum_copy((const GChecksum *)digest);
    snprintf(out, PAPPUS_DIGEST_SIZE, "%s", g_checksum_get_string(copy));
    g_checksum_free(copy);
}

void pappus_digest_free(pappus_digest *digest)
{
    if (digest) g_checksum_free((GChecksum *)digest);
}

int pappus_digest_add_file(pappus_digest *digest, const char *path, int status, pappus_error *err)
{
    static _Thread_local char bytes[AT_ONCE];
    size_t size;
    FILE *file = fopen(path, "rb");
    if (!file)
        return pappus_fail(err, status, path, NULL, NULL, "cannot be opened: %s", strerror(errno));
    while ((size = fread(bytes, 1, sizeof bytes, file)) > 0)
        pappus_digest_add(digest, bytes, size);
    bool failed = ferror(file);
    fclose(file);
    return failed ? pappus_fail(err, status, path, NULL, NULL, "cannot be read") : PAPPUS_OK;
}
