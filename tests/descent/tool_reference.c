/* SPDX-License-Identifier: GPL-3.0-or-later
 * Brings falls down with the reference integrator, for test_reference_scipy.py.
 * Standard input, numbers only: the count of nodes; per node height, density, u, v;
 * the count of falls; per fall the fields in the order of read_fall. Standard
 * output: one line of figures per fall. */
#include "reference.h"

#include <stdio.h>
#include <stdlib.h>

static void read_number(double *out)
{
    if (scanf("%lf", out) == 1) return;
    fprintf(stderr, "tool_reference: a number is missing\n");
    exit(EXIT_FAILURE);
}

static size_t read_count(void)
{
    double value;
    read_number(&value);
    return (size_t)value;
}

static pappus_fall read_fall(void)
{
    pappus_fall f = {0};
    double *const fields[] = {
        &f.mass_kg,   &f.body_before_m2, &f.body_after_m2, &f.start_s,       &f.east_m,
        &f.north_m,   &f.height_m,       &f.ve_mps,        &f.vn_mps,        &f.vup_mps,
        &f.apogee_m,  &f.apogee_fire_s,  &f.drogue_cds_m2, &f.drogue_open_s, &f.drogue_fill_m,
        &f.drogue_cx, &f.held_cds_m2,    &f.main_cds_m2,   &f.main_open_s,   &f.main_fill_m,
        &f.main_cx,   &f.main_fire_s};
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++)
        read_number(fields[i]);
    f.trigger_count = (int)read_count();
    for (int i = 0; i < f.trigger_count && i < PAPPUS_TRIGGERS; i++) {
        read_number(&f.trigger_height_m[i]);
        read_number(&f.trigger_delay_s[i]);
    }
    return f;
}

static void print(const pappus_touchdown *t)
{
    printf("%.9g %.9g %.9g %.9g %.9g %.9g %.9g %.9g %.9g %.9g %.9g %.9g %.9g\n", t->time_s,
           t->east_m, t->north_m, t->ve_mps, t->vn_mps, t->vup_mps, t->drogue_fire_mps,
           t->main_fire_mps, t->drogue_load_n, t->main_load_n, t->main_fire_m, t->main_full_open_m,
           t->time_full_open_s);
}

int main(void)
{
    size_t nodes = read_count();
    double *table = malloc(4 * nodes * sizeof *table);
    if (!table || nodes < 2) return EXIT_FAILURE;
    double *height = table, *density = table + nodes, *u = table + 2 * nodes,
           *v = table + 3 * nodes;
    for (size_t i = 0; i < nodes; i++) {
        read_number(&height[i]);
        read_number(&density[i]);
        read_number(&u[i]);
        read_number(&v[i]);
    }
    pappus_air air = {.node_count = nodes, .height_m = height, .density_kgpm3 = density};
    int status = PAPPUS_OK;
    for (size_t left = read_count(); left > 0 && status == PAPPUS_OK; left--) {
        pappus_touchdown touchdown;
        pappus_fall fall = read_fall();
        status = pappus_reference_fall(&touchdown, NULL, &fall, &air, u, v,
                                       PAPPUS_REFERENCE_TOLERANCE, NULL);
        if (status == PAPPUS_OK) print(&touchdown);
    }
    free(table);
    return status == PAPPUS_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
