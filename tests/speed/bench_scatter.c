/* SPDX-License-Identifier: GPL-3.0-or-later
 * A whole scatter (plan read, landings, zones, contours, folder with layers)
 * against the time of nothing but writing its landings layer, record by record,
 * with shapelib. Prints one line of JSON.
 *
 *   bench_scatter PLAN [LANDINGS [RUNS]]
 *
 * The least time of the runs counts. Files go to a new folder below TMPDIR, which
 * is removed. */
#include <pappus/pappus.h>

#include <ftw.h>
#include <shapefil.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define PATH_ROOM 512

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void stop(const char *what, const char *why)
{
    fprintf(stderr, "bench_scatter: %s: %s\n", what, why);
    exit(EXIT_FAILURE);
}

static int remove_entry(const char *path, const struct stat *status, int type, struct FTW *where)
{
    (void)status, (void)type, (void)where;
    return remove(path);
}

static pappus_answer *whole_scatter(const char *plan, size_t landings, const char *folder)
{
    pappus_brief_options options = PAPPUS_BRIEF_OPTIONS_INIT;
    const pappus_write_options write = {.layers_only = true};
    pappus_situation *situation;
    pappus_answer *answer;
    pappus_log log = {0};
    pappus_error error = {0};
    options.run.landings = landings;
    options.parts = PAPPUS_PART_CONTOURS;
    if (pappus_situation_open(&situation, plan, NULL, NULL, &log) != PAPPUS_OK ||
        pappus_brief(&answer, situation, &options, &log) != PAPPUS_OK)
        stop(plan, log.count > 0 ? log.entries[0].error.message : "failed");
    pappus_situation_free(situation);
    if (pappus_answer_write(answer, folder, &write, &error) != PAPPUS_OK)
        stop(folder, error.message);
    return answer;
}

static double *placed(const pappus_answer *answer)
{
    const pappus_cloud *cloud = answer->cloud;
    const pappus_site *site = &answer->plan->site;
    double *at = malloc(2 * cloud->count * sizeof *at);
    pappus_frame *frame;
    if (!at || pappus_frame_new(&frame, site->latitude_deg, site->longitude_deg, NULL) != PAPPUS_OK)
        stop("frame", "failed");
    for (size_t i = 0; i < cloud->count; i++) {
        at[2 * i] = cloud->east_m[i];
        at[2 * i + 1] = cloud->north_m[i];
    }
    if (pappus_frame_to_geographic(frame, cloud->count, at, at, NULL) != PAPPUS_OK)
        stop("frame", "failed");
    pappus_frame_free(frame);
    return at;
}

/* The fields of the landings layer, as the output folder has them. */
static void add_fields(DBFHandle table)
{
    static const struct {
        const char *name;
        DBFFieldType type;
        int width, decimals;
    } fields[] = {
        {"id", FTInteger, 10, 0},      {"outcome", FTString, 16, 0},  {"weight", FTDouble, 18, 15},
        {"east_m", FTDouble, 12, 2},   {"north_m", FTDouble, 12, 2},  {"time_s", FTDouble, 9, 2},
        {"speed_mps", FTDouble, 9, 3}, {"vz_mps", FTDouble, 9, 3},    {"energy_j", FTDouble, 14, 2},
        {"inside", FTInteger, 1, 0},   {"keep_out", FTString, 32, 0}, {"main_m", FTDouble, 9, 2}};
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++)
        DBFAddField(table, fields[i].name, fields[i].type, fields[i].width, fields[i].decimals);
}

static void write_record(DBFHandle table, const pappus_answer *answer, size_t i)
{
    const pappus_cloud *cloud = answer->cloud;
    const pappus_hits *hits = answer->hits;
    int row = (int)i;
    double vz = (double)cloud->vz_mps[i], mass = answer->plan->rocket.mass_kg.mean;
    DBFWriteIntegerAttribute(table, row, 0, row);
    DBFWriteStringAttribute(table, row, 1, pappus_outcome_text((pappus_outcome)cloud->outcome[i]));
    DBFWriteDoubleAttribute(table, row, 2, pappus_cloud_weight(cloud, i));
    DBFWriteDoubleAttribute(table, row, 3, cloud->east_m[i]);
    DBFWriteDoubleAttribute(table, row, 4, cloud->north_m[i]);
    DBFWriteDoubleAttribute(table, row, 5, (double)cloud->time_s[i]);
    DBFWriteDoubleAttribute(table, row, 6, (double)cloud->speed_mps[i]);
    DBFWriteDoubleAttribute(table, row, 7, vz);
    DBFWriteDoubleAttribute(table, row, 8, 0.5 * mass * vz * vz);
    if (hits->inside_of) DBFWriteIntegerAttribute(table, row, 9, hits->inside_of[i]);
    if (hits->first_keep_out[i] >= 0)
        DBFWriteStringAttribute(table, row, 10,
                                answer->field->keep_outs[hits->first_keep_out[i]].name);
    DBFWriteDoubleAttribute(table, row, 11, (double)cloud->main_full_open_m[i]);
}

static void write_layer(const pappus_answer *answer, const double *at, const char *path)
{
    SHPHandle shapes = SHPCreate(path, SHPT_POINT);
    DBFHandle table = DBFCreate(path);
    if (!shapes || !table) stop(path, "cannot be made");
    add_fields(table);
    for (size_t i = 0; i < answer->cloud->count; i++) {
        double x = at[2 * i + 1], y = at[2 * i];
        SHPObject *point = SHPCreateSimpleObject(SHPT_POINT, 1, &x, &y, NULL);
        SHPWriteObject(shapes, -1, point);
        SHPDestroyObject(point);
        write_record(table, answer, i);
    }
    DBFClose(table);
    SHPClose(shapes);
}

static void path_in(char out[PATH_ROOM], const char *folder, const char *name)
{
    if (snprintf(out, PATH_ROOM, "%s/%s", folder, name) >= PATH_ROOM) stop(folder, "too long");
}

static double lesser(double a, double b)
{
    return a < b ? a : b;
}

int main(int argc, char **argv)
{
    char folder[PATH_ROOM], scatter[PATH_ROOM], layer[PATH_ROOM];
    const char *base = getenv("TMPDIR");
    size_t landings = argc > 2 ? strtoul(argv[2], NULL, 10) : 1000000;
    int runs = argc > 3 ? (int)strtol(argv[3], NULL, 10) : 2;
    double whole_s = 1e9, layer_s = 1e9;
    if (argc < 2) stop("usage", "bench_scatter PLAN [LANDINGS [RUNS]]");
    path_in(folder, base ? base : "/tmp", "pappus-bench-XXXXXX");
    if (!mkdtemp(folder)) stop(folder, "cannot be made");
    path_in(scatter, folder, "scatter");
    path_in(layer, folder, "landings");
    pappus_quiet_dependencies();
    for (int run = 0; run < runs; run++) {
        double start_s = now_s();
        pappus_answer *answer = whole_scatter(argv[1], landings, scatter);
        whole_s = lesser(whole_s, now_s() - start_s);
        landings = answer->cloud->count;
        double *at = placed(answer);
        start_s = now_s();
        write_layer(answer, at, layer);
        layer_s = lesser(layer_s, now_s() - start_s);
        free(at);
        pappus_answer_free(answer);
    }
    nftw(folder, remove_entry, 8, FTW_DEPTH | FTW_PHYS);
    printf("{\"landings\": %zu, \"scatter_s\": %.3f, \"layer_s\": %.3f, \"ratio\": %.3f}\n",
           landings, whole_s, layer_s, whole_s / layer_s);
    return EXIT_SUCCESS;
}
