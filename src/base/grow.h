/* SPDX-License-Identifier: GPL-3.0-or-later
 * Arrays that grow. */
#ifndef PAPPUS_BASE_GROW_H
#define PAPPUS_BASE_GROW_H

#include <stdbool.h>
#include <stddef.h>

/** Room for `needed` elements of `size` bytes in the array whose pointer is at *array (NULL
 * when it has none yet). *capacity doubles; NULL: exactly `needed`. False when memory is
 * short: the array is as it was. Use PAPPUS_GROW. */
bool pappus_grow(void *array, size_t *capacity, size_t needed, size_t size);

#define PAPPUS_GROW(array, capacity, needed)                                                       \
    pappus_grow(&(array), capacity, needed, sizeof *(array))

#endif
