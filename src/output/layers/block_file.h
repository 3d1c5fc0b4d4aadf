/* SPDX-License-Identifier: GPL-3.0-or-later
 * Files that shapelib writes, in blocks. */
#ifndef PAPPUS_OUTPUT_BLOCK_FILE_H
#define PAPPUS_OUTPUT_BLOCK_FILE_H

#include <shapefil.h>

/** For shapelib's calls that take hooks; it copies them. */
extern const SAHooks block_file_hooks;

/** The file outlives shapelib's close, to be asked how it went, and is then the caller's. */
void block_file_keep(SAFile file);
/** errno of the first failure, 0 none; frees a file that was kept, and closed. NULL: 0. */
int block_file_end(SAFile file);

#endif
