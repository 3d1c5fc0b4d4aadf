/* SPDX-License-Identifier: GPL-3.0-or-later
 * Led landings against brute force: for each keep-out of a plan what led landings say and
 * what counting says, over as many plain landings as asked, on other seeds. Prints JSON.
 *     bench_rare PLAN MILLIONS */
#include <pappus/pappus.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define CHUNK 1000000
#define FIRST_SEED 1000

static double cpu_s(void)
{
    return (double)clock() / CLOCKS_PER_SEC;
}

/* Chance and its variance from many plain landings, every outcome alike. */
static int count(double *chance, double *variance, const pappus_givens *given, size_t chunks)
{
    pappus_error err = {0};
    size_t areas = given->field->keep_out_count;
    double(*hits)[PAPPUS_OUTCOMES] = calloc(areas + 1, sizeof *hits),
    landings[PAPPUS_OUTCOMES] = {0};
    const double *probability = NULL;
    int status = hits ? PAPPUS_OK : PAPPUS_E_MEMORY;
    static double kept[PAPPUS_OUTCOMES];
    for (size_t c = 0; c < chunks && status == PAPPUS_OK; c++) {
        pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
        pappus_cloud *cloud = NULL;
        pappus_hits *one = NULL;
        options.run.landings = CHUNK;
        options.run.seed = FIRST_SEED + c;
        options.stratum_minimum = CHUNK / 8.0;
        status = pappus_scatter(&cloud, given->plan, given->air, &options, &err);
        if (status == PAPPUS_OK) status = pappus_hits_count(&one, cloud, given->field, 0, &err);
        for (int h = 0; h < PAPPUS_OUTCOMES && status == PAPPUS_OK; h++) {
            kept[h] = cloud->probability[h];
            landings[h] += (double)one->count[h];
            for (size_t k = 0; k < areas; k++)
                hits[k][h] += (double)one->keep_out[k][h];
        }
        probability = kept;
        pappus_hits_free(one);
        pappus_cloud_free(cloud);
    }
    for (size_t k = 0; k < areas && status == PAPPUS_OK; k++) {
        chance[k] = variance[k] = 0.0;
        for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
            if (!(landings[h] > 0.0)) continue;
            chance[k] += probability[h] * hits[k][h] / landings[h];
            variance[k] += pow(probability[h] / landings[h], 2.0) * hits[k][h];
        }
    }
    free(hits);
    return status;
}

static int compare(const pappus_givens *given, size_t chunks)
{
    pappus_error err = {0};
    pappus_cloud *cloud = NULL;
    pappus_hits *hits = NULL;
    pappus_hazard *hazard = NULL;
    size_t areas = given->field->keep_out_count;
    double *chance = calloc(2 * areas + 2, sizeof *chance), *variance = chance + areas + 1;
    double started = cpu_s();
    int status = pappus_scatter(&cloud, given->plan, given->air, NULL, &err);
    double plain = cpu_s() - started;
    if (status == PAPPUS_OK) status = pappus_hits_count(&hits, cloud, given->field, 0, &err);
    started = cpu_s();
    if (status == PAPPUS_OK) status = pappus_hazard_find(&hazard, hits, given, cloud, NULL, &err);
    double led = cpu_s() - started;
    if (status == PAPPUS_OK) status = count(chance, variance, given, chunks);
    if (status != PAPPUS_OK) fprintf(stderr, "%s\n", err.message);
    printf("{\"plain_cpu_s\": %.3f, \"led_cpu_s\": %.3f, \"landings\": %zu, \"areas\": [", plain,
           led, hazard ? hazard->landings : 0);
    for (size_t k = 0; k < areas && status == PAPPUS_OK; k++) {
        pappus_estimate e = pappus_hits_keep_out(hits, k, 0.95);
        printf("%s\n {\"name\": \"%s\", \"led\": %.4g, \"low\": %.4g, \"high\": %.4g, "
               "\"counted\": %.4g, \"sd\": %.2g}",
               k ? "," : "", given->field->keep_outs[k].name, e.value, e.low, e.high, chance[k],
               sqrt(variance[k]));
    }
    printf("]}\n");
    pappus_hazard_free(hazard);
    pappus_hits_free(hits);
    pappus_cloud_free(cloud);
    free(chance);
    return status;
}

int main(int count_of, char **arguments)
{
    pappus_log log = {0};
    pappus_situation *situation = NULL;
    if (count_of < 3) {
        fprintf(stderr, "bench_rare PLAN MILLIONS\n");
        return 2;
    }
    pappus_quiet_dependencies();
    int status = pappus_situation_open(&situation, arguments[1], NULL, NULL, &log);
    if (status == PAPPUS_OK) {
        pappus_givens given = pappus_situation_givens(situation);
        status = compare(&given, strtoul(arguments[2], NULL, 10));
    }
    pappus_situation_free(situation);
    pappus_log_clear(&log);
    return status == PAPPUS_OK ? 0 : 1;
}
