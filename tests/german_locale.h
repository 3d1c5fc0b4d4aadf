/* SPDX-License-Identifier: GPL-3.0-or-later
 * A locale with a decimal comma for tests: the system's de_DE, else one built with
 * localedef into a folder of its own. */
#ifndef PAPPUS_TESTS_GERMAN_LOCALE_H
#define PAPPUS_TESTS_GERMAN_LOCALE_H

#include <locale.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

static inline bool set_installed_german(void)
{
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "de_DE"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (setlocale(LC_ALL, names[i]) && localeconv()->decimal_point[0] == ',') return true;
    }
    return false;
}

/** Sets it for the process; false, and says so, when it cannot be had. */
static inline bool set_german_locale(void)
{
    char folder[] = "/tmp/pappus-locale-XXXXXX", command[200];
    bool found = set_installed_german();
    if (!found && mkdtemp(folder)) {
        snprintf(command, sizeof command,
                 "localedef -i de_DE -f UTF-8 %s/de_DE.UTF-8 >/dev/null 2>&1", folder);
        /* localedef also ends with 1 for a mere warning, so its status says nothing. */
        if (system(command) != -1 && setenv("LOCPATH", folder, 1) == 0) {
            found = set_installed_german();
        }
        /* A locale that is set stays in memory. */
        snprintf(command, sizeof command, "rm -r %s", folder);
        if (system(command) != 0) printf("%s could not be removed\n", folder);
    }
    if (!found) printf("SKIPPED: no de_DE locale here, the decimal comma is not tested\n");
    return found;
}

#endif
