/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a part of a season. The digest in the last line is made right first, or nothing
 * behind it would ever be tried. */
#include "digest.h"
#include "part.h"

#include "fuzz_file.h"

#define KEY "\"sha256\":\""

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void mend(char *text, size_t size)
{
    char hex[PAPPUS_DIGEST_SIZE];
    char *end = size > 1 ? memrchr(text, '\n', size - 1) : NULL;
    if (!end) return;
    size_t before = (size_t)(end - text) + 1;
    char *at = memmem(end, size - before + 1, KEY, sizeof KEY - 1);
    if (!at || (size_t)(text + size - at) < sizeof KEY + sizeof hex) return;
    pappus_digest *digest = pappus_digest_new();
    if (!digest) abort();
    pappus_digest_add(digest, text, before);
    pappus_digest_text(hex, digest);
    pappus_digest_free(digest);
    memcpy(at + sizeof KEY - 1, hex, strlen(hex));
}

static int see_day(void *context, const pappus_season_day *day, pappus_error *err)
{
    (void)err;
    *(size_t *)context += day != NULL;
    return PAPPUS_OK;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    part_file part = {0};
    pappus_season_head head = {0};
    pappus_error error = {0};
    size_t days = 0;
    char *text = malloc(size + 1);
    if (!text) abort();
    memcpy(text, data, size);
    mend(text, size);
    int status = part_open(&part, fuzz_file("season.part", text, size), &error);
    if (status == PAPPUS_OK) {
        status = part_head_read(&head, &part, &error);
        if (status == PAPPUS_OK) status = part_read(&part, &head, see_day, &days, NULL, &error);
        if (status == PAPPUS_OK && days != part.done) abort();
        season_head_clear(&head);
        part_clear(&part);
    }
    if (status != PAPPUS_OK && error.message[0] == '\0') abort();
    free(text);
    return 0;
}
