/* SPDX-License-Identifier: GPL-3.0-or-later
 * A fuzz target without a fuzzer: each file of the command line as it is, behind the bytes 0
 * and 1 (which some targets choose by), and changed at random a number of times, from a fixed
 * seed. What a fuzzer found once is kept as a file and tried for ever.
 *
 *     replay_plan CHANGES FILE... */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SIZE_MOST ((size_t)1 << 20)
#define EDITS_MOST 6

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerInitialize(int *count, char ***arguments) __attribute__((weak));

static uint64_t state = 0x9E3779B97F4A7C15u; /* xorshift64 (Marsaglia 2003) */

static size_t below(size_t n)
{
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return n ? (size_t)(state % n) : 0;
}

/* One edit: a byte, a stretch taken out, a stretch said twice, or a word that is often one
 * too much. */
static size_t edit(uint8_t *bytes, size_t size)
{
    static const char *const words[] = {"-9999",         "1e999", "NaN", "\"", "[[", "{}",
                                        "\xFF\xFE",      "0",     "\n",  ",,", "-",  "\0",
                                        "99999999999999"};
    size_t at = below(size + 1), length = 1 + below(16);
    if (at + length > size) length = size - at;
    switch (below(4)) {
    case 0:
        if (at < size) bytes[at] = (uint8_t)below(256);
        return size;
    case 1:
        memmove(bytes + at, bytes + at + length, size - at - length);
        return size - length;
    case 2:
        if (size + length > SIZE_MOST) return size;
        memmove(bytes + at + length, bytes + at, size - at);
        return size + length;
    default: {
        const char *word = words[below(sizeof words / sizeof *words)];
        size_t n = strlen(word);
        if (at + n > size) return size;
        memcpy(bytes + at, word, n);
        return size;
    }
    }
}

static void try_exactly(const uint8_t *bytes, size_t size)
{
    uint8_t *copy = malloc(size ? size : 1); /* so that a byte past the end is seen */
    if (!copy) abort();
    memcpy(copy, bytes, size);
    LLVMFuzzerTestOneInput(copy, size);
    free(copy);
}

static size_t replay(const char *path, size_t changes)
{
    uint8_t *seed = malloc(SIZE_MOST + 1), *changed = malloc(SIZE_MOST + 1);
    FILE *file = fopen(path, "rb");
    if (!seed || !changed || !file) {
        fprintf(stderr, "%s: cannot be read\n", path);
        exit(2);
    }
    size_t size = fread(seed + 1, 1, SIZE_MOST, file);
    fclose(file);
    try_exactly(seed + 1, size);
    for (uint8_t chosen = 0; chosen < 2; chosen++) {
        seed[0] = chosen;
        try_exactly(seed, size + 1);
    }
    for (size_t i = 0; i < changes; i++) {
        size_t prefix = i % 3 == 0, n = size + prefix;
        seed[0] = (uint8_t)(i / 3 % 2);
        memcpy(changed, seed + 1 - prefix, n);
        for (size_t edits = 1 + below(EDITS_MOST); edits > 0; edits--)
            n = edit(changed, n);
        try_exactly(changed, n);
    }
    free(seed);
    free(changed);
    return changes + 3;
}

int main(int count, char **arguments)
{
    size_t tried = 0;
    if (count < 3) return 2;
    if (LLVMFuzzerInitialize) LLVMFuzzerInitialize(&count, &arguments);
    for (int i = 2; i < count; i++)
        tried += replay(arguments[i], (size_t)strtoul(arguments[1], NULL, 10));
    printf("%zu inputs\n", tried);
    return 0;
}
