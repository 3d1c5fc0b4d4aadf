/* SPDX-License-Identifier: GPL-3.0-or-later
 * A locale with a decimal comma for tests: the system's de_DE, else one built with
 * localedef into a folder of its own. */
#ifndef PAPPUS_TESTS_GERMAN_LOCALE_H
#define PAPPUS_TESTS_GERMAN_LOCALE_H

#include <locale.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

/** Sets it for the process; false, and says so, when it cannot be had. */
static inline bool set_german_locale(void)
{
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "de_DE"};
    for (int built = 0; built < 2; built++) {
        for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
            if (setlocale(LC_ALL, names[i]) && localeconv()->decimal_point[0] == ',') return true;
        }
        char folder[] = "/tmp/pappus-locale-XXXXXX", command[200];
        if (built || !mkdtemp(folder)) break;
        snprintf(command, sizeof command,
                 "localedef -i de_DE -f UTF-8 %s/de_DE.UTF-8 >/dev/null 2>&1", folder);
        if (system(command) != 0) break;
        setenv("LOCPATH", folder, 1);
    }
    printf("SKIPPED: no de_DE locale on this machine, the decimal comma is not tested\n");
    return false;
}

#endif
