/* SPDX-License-Identifier: GPL-3.0-or-later
 * Numbers with a point whatever the host's locale: public calls that read or
 * print numbers run between these two. Affects the calling thread alone. */
#ifndef PAPPUS_BASE_C_LOCALE_H
#define PAPPUS_BASE_C_LOCALE_H

#include <locale.h>

typedef struct {
    locale_t numbers, before;
} pappus_locale;

/** False when the system has no memory for it; nothing is changed then. */
int pappus_locale_enter(pappus_locale *out);
void pappus_locale_leave(pappus_locale *locale);

#endif
