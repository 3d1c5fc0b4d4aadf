/* SPDX-License-Identifier: GPL-3.0-or-later
 * Names given so far, in a balanced tree (POSIX tsearch), each with the number that its next
 * namesake tries first, so that a thousand of one name do not count from 2 every time. */
#include "area_names.h"

#include <search.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    char *name;
    size_t next;
} taken_name;

static int by_name(const void *a, const void *b)
{
    return strcmp(((const taken_name *)a)->name, ((const taken_name *)b)->name);
}

static void free_name(void *name)
{
    free(((taken_name *)name)->name);
    free(name);
}

static taken_name *find(const area_names *names, const char *name)
{
    taken_name key = {.name = (char *)(size_t)name};
    taken_name *const *found = tfind(&key, &names->tree, by_name);
    return found ? *found : NULL;
}

static int take(area_names *names, const char *name)
{
    taken_name *taken = calloc(1, sizeof *taken);
    if (taken) {
        *taken = (taken_name){strdup(name), 2};
        if (taken->name && tsearch(taken, &names->tree, by_name)) {
            names->count++;
            return 0;
        }
        free_name(taken);
    }
    return -1;
}

char *area_name_apart(area_names *names, const char *name)
{
    taken_name *first = name ? find(names, name) : NULL;
    char *out = NULL;
    size_t k = first ? first->next : names->count + 1;
    if (name && !first) {
        out = strdup(name);
    } else {
        for (;; k++) {
            int length =
                name ? asprintf(&out, "%s (%zu)", name, k) : asprintf(&out, "keep-out %zu", k);
            if (length < 0) return NULL;
            if (!find(names, out)) break;
            free(out);
        }
        if (first) first->next = k + 1;
    }
    if (out && take(names, out) != 0) {
        free(out);
        return NULL;
    }
    return out;
}

void area_names_clear(area_names *names)
{
    tdestroy(names->tree, free_name);
    *names = (area_names){0};
}
