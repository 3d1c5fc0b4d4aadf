/* SPDX-License-Identifier: GPL-3.0-or-later
 * How to run: the options of everything that samples. Conventions: pappus.h. */
#ifndef PAPPUS_RUN_H
#define PAPPUS_RUN_H

#include <pappus/status.h>

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define PAPPUS_PLAN_SEED UINT64_MAX /**< no seed of a plan is so large */

typedef struct {
    size_t landings;          /**< 0: the plan's */
    uint64_t seed;            /**< PAPPUS_PLAN_SEED: the plan's */
    int threads;              /**< 0: all; results do not depend on it */
    pappus_progress progress; /**< may be NULL */
    void *progress_context;
    void (*stage)(void *context, const char *name); /**< told as each stage begins; may be NULL */
    void *stage_context;
    double stratum_minimum; /**< least landings of an outcome in the trade; 0: the usual 2000 */
} pappus_run;
#define PAPPUS_RUN_INIT                                                                            \
    {                                                                                              \
        0, PAPPUS_PLAN_SEED, 0, NULL, NULL, NULL, NULL, 0.0                                        \
    }

#ifdef __cplusplus
}
#endif
#endif
