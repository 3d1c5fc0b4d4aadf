/* SPDX-License-Identifier: GPL-3.0-or-later
 * The profiles of an archive of any size, one at a time in the order of the file. */
#ifndef PAPPUS_INPUT_WIND_STREAM_H
#define PAPPUS_INPUT_WIND_STREAM_H

#include "wind_format.h"

typedef struct pappus_wind_stream pappus_wind_stream;

/** Opens the file of a source. Faults are told as of a file that is read whole. */
int pappus_wind_stream_open(pappus_wind_stream **out, const pappus_profile_source *source,
                            pappus_wind_wanted wanted, pappus_log *log);

/** The next profile into *out, which the caller clears (pappus_wind_profile_clear); *more
 * false at the end, *out is empty then. A part of an archive that is damaged or has no wind
 * is skipped and counted; how many and why the first is told as a warning at the end. Notes
 * on single levels are not told. */
int pappus_wind_stream_next(pappus_wind_stream *stream, pappus_wind_profile *out, bool *more);

/** Parts skipped so far. */
size_t pappus_wind_stream_skipped(const pappus_wind_stream *stream);

void pappus_wind_stream_close(pappus_wind_stream *stream);

#endif
