/* SPDX-License-Identifier: GPL-3.0-or-later
 * What an output folder holds, and what its marker says that it holds. */
#ifndef PAPPUS_OUTPUT_FOLDER_FILES_H
#define PAPPUS_OUTPUT_FOLDER_FILES_H

#include <pappus/status.h>

#include <fcntl.h>

#define FOLDER_FLAGS (O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC)

int folder_refuse(pappus_error *err, const char *folder, const char *reason);
/** reason: an errno. */
int folder_fail(pappus_error *err, const char *folder, const char *what, int reason);
/** Fails unless each file of the folder is in its marker. */
int folder_check(const char *folder, pappus_error *err);
/** Writes the marker of a folder; 0 or an errno. */
int folder_mark(const char *folder);

#endif
