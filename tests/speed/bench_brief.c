/* SPDX-License-Identifier: GPL-3.0-or-later
 * What each stage of a brief costs, as parts of the processor time of sampling its landings
 * once (within one run, so that machines compare), and how soon a first look stands after a
 * changed reading. Prints JSON.
 *
 *   bench_brief PLAN [RUNS]
 *
 * The least of the runs counts. A stage's cost is processor time of all threads: it does not
 * depend on how busy the machine is, but for its caches. */
#include <pappus/pappus.h>

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define STAGES_MOST 16
#define PATH_ROOM 512

typedef struct {
    const char *name[STAGES_MOST];
    double least_s[STAGES_MOST];
    size_t count, at;
    double began_s;
} stage_times;

static double clock_s(clockid_t clock)
{
    struct timespec now;
    clock_gettime(clock, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static double spent_s(void)
{
    return clock_s(CLOCK_PROCESS_CPUTIME_ID);
}

static void stop(const char *what, const char *why)
{
    fprintf(stderr, "bench_brief: %s: %s\n", what, why);
    exit(EXIT_FAILURE);
}

static void end_stage(stage_times *times)
{
    if (times->at == 0) return;
    double spent = spent_s() - times->began_s, *least = &times->least_s[times->at - 1];
    if (spent < *least) *least = spent;
}

static void begin_stage(void *context, const char *name)
{
    stage_times *times = context;
    end_stage(times);
    times->at++;
    if (times->at > STAGES_MOST) stop(name, "one stage too many");
    if (times->at > times->count) {
        times->name[times->count] = name;
        times->least_s[times->count++] = 1e9;
    }
    times->began_s = spent_s();
}

static int remove_entry(const char *path, const struct stat *status, int type, struct FTW *where)
{
    (void)status, (void)type, (void)where;
    return remove(path);
}

static pappus_situation *opened(const char *plan)
{
    pappus_situation *situation;
    pappus_log log = {0};
    if (pappus_situation_open(&situation, plan, NULL, NULL, &log) != PAPPUS_OK)
        stop(plan, log.count > 0 ? log.entries[0].error.message : "failed");
    return situation;
}

static void brief_once(stage_times *times, const pappus_situation *situation, const char *folder)
{
    pappus_brief_options options = PAPPUS_BRIEF_OPTIONS_INIT;
    pappus_answer *answer;
    pappus_error error = {0};
    pappus_log log = {0};
    options.run.stage = begin_stage;
    options.run.stage_context = times;
    times->at = 0;
    if (pappus_brief(&answer, situation, &options, &log) != PAPPUS_OK) stop("brief", "failed");
    begin_stage(times, "writing");
    if (pappus_answer_write(answer, folder, NULL, &error) != PAPPUS_OK) stop(folder, error.message);
    end_stage(times);
    pappus_answer_free(answer);
}

/* Processor time and wall time from a changed reading to decision and contours. */
static void first_look(double *spent, double *wall, pappus_situation *situation, int run)
{
    pappus_brief_options options = PAPPUS_BRIEF_OPTIONS_INIT;
    pappus_answer *answer;
    pappus_log log = {0};
    char speed[32];
    options.parts = PAPPUS_PART_DECISION | PAPPUS_PART_CONTOURS | PAPPUS_PART_QUICK;
    options.run.landings = PAPPUS_QUICK_LANDINGS;
    snprintf(speed, sizeof speed, "%d mph", 6 + run);
    double began = clock_s(CLOCK_MONOTONIC), began_spent = spent_s();
    if (pappus_situation_set(situation, "wind.surface.speed", speed, &log) != PAPPUS_OK ||
        pappus_brief(&answer, situation, &options, &log) != PAPPUS_OK)
        stop("first look", "failed");
    double took = clock_s(CLOCK_MONOTONIC) - began, cost = spent_s() - began_spent;
    if (took < *wall) *wall = took;
    if (cost < *spent) *spent = cost;
    pappus_answer_free(answer);
}

/* Sampling alone, with the landings of the plan. */
static double sampling_s(const pappus_situation *situation)
{
    pappus_givens given = pappus_situation_givens(situation);
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_cloud *cloud;
    options.run.threads = 1;
    double began = spent_s();
    if (pappus_scatter(&cloud, given.plan, given.air, &options, NULL) != PAPPUS_OK)
        stop("scatter", "failed");
    double spent = spent_s() - began;
    pappus_cloud_free(cloud);
    return spent;
}

int main(int argc, char **argv)
{
    char folder[PATH_ROOM], out[PATH_ROOM + 8];
    const char *base = getenv("TMPDIR");
    int runs = argc > 2 ? (int)strtol(argv[2], NULL, 10) : 5;
    stage_times times = {.count = 0};
    double unit = 1e9, look_s = 1e9, look_wall_s = 1e9, sum = 0.0;
    if (argc < 2 || runs < 1) stop("usage", "bench_brief PLAN [RUNS]");
    if (snprintf(folder, sizeof folder, "%s/pappus-bench-XXXXXX", base ? base : "/tmp") >=
        PATH_ROOM)
        stop("TMPDIR", "too long");
    if (!mkdtemp(folder)) stop(folder, "cannot be made");
    snprintf(out, sizeof out, "%s/brief", folder);
    pappus_quiet_dependencies();
    pappus_situation *situation = opened(argv[1]);
    for (int run = 0; run < runs; run++) {
        double one = sampling_s(situation);
        if (one < unit) unit = one;
        brief_once(&times, situation, out);
    }
    for (int run = 0; run < runs; run++)
        first_look(&look_s, &look_wall_s, situation, run);
    pappus_situation_free(situation);
    nftw(folder, remove_entry, 8, FTW_DEPTH | FTW_PHYS);
    printf("{\"sampling_s\": %.4f, \"stages\": {", unit);
    for (size_t i = 0; i < times.count; i++) {
        printf("%s\"%s\": %.3f", i ? ", " : "", times.name[i], times.least_s[i] / unit);
        sum += times.least_s[i];
    }
    printf("}, \"whole\": %.3f, \"whole_cpu_s\": %.3f, \"first_look\": %.3f, "
           "\"first_look_cpu_s\": %.4f, \"first_look_wall_s\": %.4f}\n",
           sum / unit, sum, look_s / unit, look_s, look_wall_s);
    return EXIT_SUCCESS;
}
