/* SPDX-License-Identifier: GPL-3.0-or-later
 * Arrays that grow by doubling from eight elements on, so that n appends copy O(n). */
#include "grow.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_CAPACITY 8

bool pappus_grow(void *array, size_t *capacity, size_t needed, size_t size)
{
    size_t room = capacity ? *capacity : 0;
    void *items;
    if (capacity && needed <= room) return true;
    if (needed > SIZE_MAX / 2 / size) return false;
    if (capacity)
        for (room = room ? room : FIRST_CAPACITY; room < needed;)
            room *= 2;
    else
        room = needed;
    memcpy(&items, array, sizeof items); /* whatever it points to */
    items = realloc(items, room * size);
    if (!items) return false;
    memcpy(array, &items, sizeof items);
    if (capacity) *capacity = room;
    return true;
}
