/* SPDX-License-Identifier: GPL-3.0-or-later
 * Work of a library in a process of its own, with limits: what a damaged file does to one
 * that reads it, or want of memory to one that draws, costs an error and nothing else. */
#ifndef PAPPUS_BASE_ISOLATE_H
#define PAPPUS_BASE_ISOLATE_H

#include <pappus/status.h>

/** What the work answers, in memory of its own. */
typedef struct {
    char *bytes;
    size_t length, capacity;
} pappus_reply;

/** Appends to a reply; false when memory is short. */
bool pappus_reply_add(pappus_reply *reply, const void *bytes, size_t length);
void pappus_reply_clear(pappus_reply *reply);

typedef struct {
    size_t memory_bytes; /**< of data, over what the caller has at the fork */
    double seconds;      /**< of wall clock, and of processor */
} pappus_isolate_limits;
#define PAPPUS_ISOLATE_LIMITS_INIT                                                                 \
    {                                                                                              \
        (size_t)448 << 20, 60.0                                                                    \
    }

/** Runs in the child: fills the reply, or *err with a status that is not OK. It has no
 * standard streams, writes no file, and only the thread that it runs in. */
typedef int (*pappus_isolated)(pappus_reply *reply, void *context, pappus_error *err);

/** A work under way. */
typedef struct {
    int child, from; /**< process; the pipe's end */
    const char *file;
    int code;
    pappus_isolate_limits limits;
} pappus_isolation;

/** Starts the work in a child and goes on; the arguments as below. The child has a copy of all
 * memory as it is now. What is started is to be finished. */
int pappus_isolate_start(pappus_isolation *self, pappus_isolated work, void *context,
                         const char *file, int code, const pappus_isolate_limits *limits,
                         pappus_error *err);
/** Waits for the reply, from now on for as long as the limits allow. */
int pappus_isolate_finish(pappus_reply *reply, pappus_isolation *self, pappus_error *err);

/** Runs the work on `file` (named in messages) in a child process and hands over its
 * reply (the caller clears it) or its fault. A child that dies, needs more than the limits
 * or answers nonsense gives `code` and one message. limits NULL: the defaults. */
int pappus_isolate(pappus_reply *reply, pappus_isolated work, void *context, const char *file,
                   int code, const pappus_isolate_limits *limits, pappus_error *err);

#endif
