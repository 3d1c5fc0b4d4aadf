/* SPDX-License-Identifier: GPL-3.0-or-later
 * A part of a season as a file: what is written reads back to the same bits; what is put down
 * in the middle and gone on with ends in the same bytes; every value of a part made by hand is
 * looked at, its checksum right or not; memory that runs out is told. */
#include "failing_allocator.h"
#include "part.h"
#include "suite.h"
#include "test_folder.h"

#include <math.h>
#include <string.h>

static char path[200], text[] = "x", zone[] = "Europe/Vienna", name[] = "windy";
static double heights[] = {100.0 / 3.0, 213.36, 304.8};
static double ring_m[] = {-0.1, -1.0 / 3.0, 500, -300, 400, 700.123456789012};
static pappus_ring ring = {3, ring_m};
static pappus_polygon polygon = {1, &ring};
static pappus_field field = {.has_boundary = true, .boundary = {text, 1, &polygon}};
static pappus_season_plan plan = {name, text, text, 213.36, 1584.96, 3, heights};
static pappus_season_head head = {.version = text,
                                  .archive = text,
                                  .station = text,
                                  .day_count = 40,
                                  .landings = 2000,
                                  .seed = PAPPUS_PLAN_SEED,
                                  .age_s = 6 * 3600.0,
                                  .reading = true,
                                  .latitude_deg = 48.1 / 3,
                                  .longitude_deg = -16.35,
                                  .elevation_msl_m = 200.0,
                                  .declination_deg = NAN,
                                  .time_zone = zone,
                                  .units = PAPPUS_UNITS_SI,
                                  .cell_m = 20.0,
                                  .plan_count = 1,
                                  .plans = &plan,
                                  .field = &field};

static void set_path(void)
{
    make_folder();
    snprintf(path, sizeof path, "%s/season-1-of-1.part", test_folder);
}

/* X: numbers that need all their digits, and some that are not there. */
static pappus_season_day a_day(size_t number, pappus_season_row *row, pappus_verdict verdicts[3])
{
    double third = (double)(number + 1) / 3.0;
    for (size_t i = 0; i < 3; i++)
        verdicts[i] = (pappus_verdict)((number + i) % 3);
    *row = (pappus_season_row){.why = number % 5 == 4 ? text : NULL,
                               .verdict = (pappus_verdict)(number % 3),
                               .unmet = (unsigned)(number % 7) << 1,
                               .limit = PAPPUS_LIMIT_KEEP_OUT,
                               .use = number % 2 ? NAN : third,
                               .inside_field = 1.0 / (third + 1.0),
                               .keep_out = NAN,
                               .mean_east_m = -third * 1e3,
                               .mean_north_m = third * 1e-5,
                               .drift_m = {third, 2 * third, 3e3 * third},
                               .seed = UINT64_C(9007199254740991) - number,
                               .recommended_m = number % 3 ? heights[0] : NAN,
                               .height_count = 3,
                               .heights = verdicts};
    return (pappus_season_day){.number = number,
                               .valid_utc_s = 1.4e9 + 43200.0 * (double)number + 1.0 / 7.0,
                               .surface_wind_mps = third,
                               .surface_from_deg = number == 3 ? NAN : 359.9 - third,
                               .reading = number % 2 == 0,
                               .row_count = 1,
                               .rows = row};
}

static season_sums *sums_of(size_t days)
{
    season_sums *sums = calloc(1, sizeof *sums);
    ck_assert_ptr_nonnull(sums);
    for (size_t d = 0; d < days; d++) {
        sums->cells[7 * d % SEASON_CELLS][11 * d % SEASON_CELLS] += UINT64_C(1) << (d % 50);
        sums->drift[d % 12][13 * d % SEASON_DRIFTS] += 3 * d + 1;
        sums->beyond += d;
    }
    return sums;
}

static void add_days(part_maker *part, size_t from, size_t to)
{
    pappus_error error = {0};
    pappus_season_row row;
    pappus_verdict verdicts[3];
    for (size_t d = from; d < to; d++) {
        pappus_season_day day = a_day(d, &row, verdicts);
        ck_assert_int_eq(part_add_day(part, &day, &error), PAPPUS_OK);
    }
}

static void begin(part_maker *part)
{
    pappus_error error = {0};
    char *line = NULL;
    ck_assert_int_eq(part_head_text(&line, &head, &error), PAPPUS_OK);
    ck_assert_int_eq(part_begin(part, path, line, 1, 1, 0, 40, &error), PAPPUS_OK);
}

/* Days 0 to `days` of 40, with the sums of so many. */
static void write_part(size_t days)
{
    part_maker part;
    pappus_error error = {0};
    season_sums *sums = sums_of(days);
    begin(&part);
    add_days(&part, 0, days);
    ck_assert_int_eq(part_put(&part, sums, 1, &error), PAPPUS_OK);
    part_end(&part);
    free(sums);
}

static char *slurp(size_t *size)
{
    FILE *file = fopen(path, "rb");
    char *bytes = calloc(1, 1 << 20);
    ck_assert_ptr_nonnull(file);
    ck_assert_ptr_nonnull(bytes);
    *size = fread(bytes, 1, (1 << 20) - 1, file);
    fclose(file);
    return bytes;
}

static bool same(double a, double b)
{
    return memcmp(&a, &b, sizeof a) == 0 || (isnan(a) && isnan(b));
}

static int compare_day(void *context, const pappus_season_day *day, pappus_error *err)
{
    size_t *next = context;
    pappus_season_row meant_row;
    pappus_verdict verdicts[3];
    pappus_season_day meant = a_day((*next)++, &meant_row, verdicts);
    const pappus_season_row *row = &day->rows[0];
    (void)err;
    ck_assert_uint_eq(day->number, meant.number);
    ck_assert(same(day->valid_utc_s, meant.valid_utc_s));
    ck_assert(same(day->surface_wind_mps, meant.surface_wind_mps));
    ck_assert(same(day->surface_from_deg, meant.surface_from_deg));
    ck_assert_int_eq(day->reading, meant.reading);
    ck_assert_uint_eq(row->seed, meant_row.seed);
    ck_assert_int_eq(row->why != NULL, meant_row.why != NULL);
    if (row->why) return PAPPUS_OK;
    ck_assert_int_eq((int)row->verdict, (int)meant_row.verdict);
    ck_assert_uint_eq(row->unmet, meant_row.unmet);
    ck_assert_int_eq((int)row->limit, (int)meant_row.limit);
    ck_assert(same(row->use, meant_row.use));
    ck_assert(same(row->inside_field, meant_row.inside_field));
    ck_assert(same(row->keep_out, meant_row.keep_out));
    ck_assert(same(row->mean_east_m, meant_row.mean_east_m));
    ck_assert(same(row->mean_north_m, meant_row.mean_north_m));
    ck_assert(same(row->drift_m.p95, meant_row.drift_m.p95));
    ck_assert(same(row->recommended_m, meant_row.recommended_m));
    ck_assert_mem_eq(row->heights, verdicts, sizeof verdicts);
    return PAPPUS_OK;
}

START_TEST(reads_back_to_the_same_bits)
{
    part_file part;
    pappus_season_head read;
    pappus_error error = {0};
    size_t next = 0;
    season_sums *meant = sums_of(40), *sums = calloc(1, sizeof *sums);
    ck_assert_ptr_nonnull(sums);
    set_path();
    write_part(40);
    ck_assert_int_eq(part_open(&part, path, &error), PAPPUS_OK);
    ck_assert_uint_eq(part.done, 40);
    ck_assert_int_eq(part_head_read(&read, &part, &error), PAPPUS_OK);
    ck_assert(same(read.latitude_deg, head.latitude_deg) && isnan(read.declination_deg));
    ck_assert_str_eq(read.time_zone, zone);
    ck_assert(read.seed == PAPPUS_PLAN_SEED);
    ck_assert(same(read.plans[0].heights_m[0], heights[0]));
    ck_assert_mem_eq(read.field->boundary.polygons[0].rings[0].points_m, ring_m, sizeof ring_m);
    ck_assert_int_eq(part_read(&part, &read, compare_day, &next, sums, &error), PAPPUS_OK);
    ck_assert_uint_eq(next, 40);
    ck_assert_mem_eq(sums, meant, sizeof *sums);
    season_head_clear(&read);
    part_clear(&part);
    free(sums);
    free(meant);
    remove_folder();
}
END_TEST

START_TEST(goes_on_to_the_same_bytes)
{
    size_t size[2];
    char *bytes[2];
    part_file there;
    part_maker part;
    pappus_error error = {0};
    season_sums *sums = calloc(1, sizeof *sums), *all = sums_of(40), *some = sums_of(17);
    ck_assert_ptr_nonnull(sums);
    set_path();
    write_part(40);
    bytes[0] = slurp(&size[0]);
    write_part(17);
    ck_assert_int_eq(part_open(&there, path, &error), PAPPUS_OK);
    ck_assert_uint_eq(there.done, 17);
    begin(&part);
    ck_assert_int_eq(part_resume(&part, &there, &head, sums, &error), PAPPUS_OK);
    ck_assert_uint_eq(part.done, 17);
    ck_assert_mem_eq(sums, some, sizeof *sums);
    add_days(&part, 17, 40);
    ck_assert_int_eq(part_put(&part, all, 1, &error), PAPPUS_OK);
    part_end(&part);
    part_clear(&there);
    bytes[1] = slurp(&size[1]);
    ck_assert_uint_eq(size[0], size[1]);
    ck_assert_mem_eq(bytes[0], bytes[1], size[0]);
    free(bytes[0]);
    free(bytes[1]);
    free(sums);
    free(all);
    free(some);
    remove_folder();
}
END_TEST

/* Replaces `from` once, mends the checksum, and reads all of it. */
static int read_changed(const char *from, const char *to)
{
    size_t size;
    char *bytes = slurp(&size), sha[PAPPUS_DIGEST_SIZE], *at = strstr(bytes, from);
    ck_assert_msg(at != NULL, "no %s", from);
    memmove(at + strlen(to), at + strlen(from), size + 1 - (size_t)(at - bytes) - strlen(from));
    memcpy(at, to, strlen(to));
    char *last = strstr(bytes, "{\"days\":40,\"sha256\"");
    ck_assert_ptr_nonnull(last);
    pappus_digest *digest = pappus_digest_new();
    pappus_digest_add(digest, bytes, (size_t)(last - bytes));
    pappus_digest_text(sha, digest);
    pappus_digest_free(digest);
    memcpy(strstr(last, "sha256\":\"") + 9, sha, 64);
    FILE *file = fopen(path, "wb");
    ck_assert_ptr_nonnull(file);
    fwrite(bytes, 1, strlen(bytes), file);
    fclose(file);
    free(bytes);

    part_file part;
    pappus_season_head read;
    pappus_error error = {0};
    season_sums *sums = calloc(1, sizeof *sums);
    ck_assert_ptr_nonnull(sums);
    int status = part_open(&part, path, &error);
    if (status == PAPPUS_OK) {
        status = part_head_read(&read, &part, &error);
        if (status == PAPPUS_OK) {
            status = part_read(&part, &read, NULL, NULL, sums, &error);
            season_head_clear(&read);
        }
        part_clear(&part);
    }
    if (status != PAPPUS_OK) ck_assert_str_eq(error.file, path);
    free(sums);
    return status;
}

START_TEST(hands_are_looked_at)
{
    static const char *const changes[][2] = {
        {"\"season_part\":1", "\"season_part\":2"},
        {"\"shard\":1", "\"shard\":0"},
        {"\"shard\":1", "\"shard\":2"},
        {"\"to\":40", "\"to\":39"},
        {"\"from\":0,\"to\"", "\"from\":-1,\"to\""},
        {"\"cell_m\":20", "\"cell_m\":0"},
        {"\"plans\":[{\"name\"", "\"plans\":[{\"nome\""},
        {"\"heights_m\":[", "\"heights_m\":[null,"},
        {"\"heights_m\":[", "\"heights_m\":[50,"},
        {"\"polygons\":[[[", "\"polygons\":[[[1,"},
        {"\"polygons\":[[[", "\"polygons\":[[[true,2,"},
        {"\"skipped\":[", "\"skipped\":[0,"},
        {"{\"day\":7", "{\"day\":8"},
        {"\"verdict\":1", "\"verdict\":3"},
        {"\"verdict\":1", "\"verdict\":-1"},
        {"\"unmet\":2", "\"unmet\":2.5"},
        {"\"limit\":2", "\"limit\":99"},
        {"\"heights\":\"mbu\"", "\"heights\":\"mbx\""},
        {"\"heights\":\"mbu\"", "\"heights\":\"mb\""},
        {"\"heights\":\"mbu\"", "\"heights\":3"},
        {"\"seed\":9", "\"seed\":99"},
        {"\"drift\":[", "\"drift\":[1,"},
        {"\"time\":", "\"time\":null,\"tame\":"},
        {"\"reading\":true,\"plans\":[", "\"reading\":true,\"plans\":[{},"},
        {"\"plan\":0,\"north\"", "\"plan\":1,\"north\""},
        {"\"north\":7,", "\"north\":400,"},
        {"\"month\":1,", "\"month\":0,"},
        {"\"month\":1,", "\"month\":13,"},
        {"\"cells\":[", "\"cells\":[-1,"},
        {"\"cells\":[", "\"cells\":7,\"none\":["},
        {"\"first\":0,\"drift\"", "\"first\":582,\"drift\""},
        {"\"beyond\":780", "\"beyond\":\"780\""},
        {"{\"day\":9", "[\"day\",9"},
        {"{\"plan\":0,\"month\":1", "what?{"}};
    set_path();
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        write_part(40);
        int status = read_changed(changes[i][0], changes[i][1]);
        ck_assert_msg(status == PAPPUS_E_SEASON, "%s: %d", changes[i][1], status);
    }
    write_part(40);
    ck_assert_int_eq(read_changed("\"station\":\"x\"", "\"station\":\"y\""), PAPPUS_OK);
    remove_folder();
}
END_TEST

static int read_all(void *sums)
{
    part_file part;
    pappus_season_head read;
    pappus_error error = {0};
    int status = part_open(&part, path, &error);
    if (status != PAPPUS_OK) return status;
    status = part_head_read(&read, &part, &error);
    if (status == PAPPUS_OK) {
        status = part_read(&part, &read, NULL, NULL, sums, &error);
        season_head_clear(&read);
    }
    part_clear(&part);
    return status;
}

/* A part that cannot be read for want of memory is refused, with nothing left behind. */
START_TEST(every_allocation_may_fail)
{
    if (!allocation_can_fail()) return;
    season_sums *read = calloc(1, sizeof *read);
    ck_assert_ptr_nonnull(read);
    set_path();
    write_part(3);
    allocation_trial trial = fail_each_allocation(read_all, read);
    ck_assert_int_gt(trial.failed, 5);
    free(read);
    remove_folder();
}
END_TEST

SUITE("season part")
{
    tcase_add_test(tests, reads_back_to_the_same_bits);
    tcase_add_test(tests, goes_on_to_the_same_bytes);
    tcase_add_test(tests, hands_are_looked_at);
    tcase_add_test(tests, every_allocation_may_fail);
}
