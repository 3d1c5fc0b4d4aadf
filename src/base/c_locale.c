/* SPDX-License-Identifier: GPL-3.0-or-later
 * The "C" locale for one thread while it works (POSIX.1-2008 uselocale). The
 * host's LC_CTYPE and messages are replaced too: our texts are UTF-8 bytes and
 * English. */
#include "c_locale.h"

int pappus_locale_enter(pappus_locale *out)
{
    out->numbers = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    if (out->numbers == (locale_t)0) return 0;
    out->before = uselocale(out->numbers);
    return 1;
}

void pappus_locale_leave(pappus_locale *locale)
{
    uselocale(locale->before);
    freelocale(locale->numbers);
}
