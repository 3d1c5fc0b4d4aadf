/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fast integrator's outside: falls into lanes, lanes into touchdowns. The
 * method stands in engine_kernel.c. */
#include "engine.h"

#include <math.h>
#include <string.h>

#include "engine_block.h"
#include "error.h"

static const double passed_m = -1e9;

static void load_canopy(pappus_block_canopy *canopy, int l, double cds_m2, double open_s,
                        double fill_m, double since_s)
{
    bool by_time = !isnan(open_s);
    bool at_once = cds_m2 <= 0 || (by_time ? open_s <= 0 : fill_m <= 0);
    canopy->cds_m2[l] = (float)cds_m2;
    canopy->per_s[l] = by_time && !at_once ? (float)(1 / open_s) : 0;
    canopy->per_m[l] = !by_time && !at_once ? (float)(1 / fill_m) : 0;
    canopy->opening_at_fire[l] = at_once ? 1 : 0;
    canopy->since_s[l] = (float)since_s;
    canopy->fired[l] = canopy->open[l] = canopy->opening[l] = 0;
    canopy->fire_mps[l] = canopy->fire_m[l] = canopy->open_s[l] = NAN;
    canopy->open_m[l] = canopy->peak[l] = 0;
}

static int layer_of(const pappus_air *air, double height_m)
{
    size_t low = 0, high = air->node_count - 1;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (air->height_m[middle] < height_m) low = middle;
        else high = middle;
    }
    return (int)low;
}

static void load(pappus_block *block, int l, const pappus_air *air, const pappus_fall *fall)
{
    block->half_per_kg[l] = (float)(0.5 / fall->mass_kg);
    block->body_before_m2[l] = (float)fall->body_before_m2;
    block->body_after_m2[l] = (float)fall->body_after_m2;
    block->held_m2[l] = (float)fall->held_cds_m2;
    load_canopy(&block->drogue, l, fall->drogue_cds_m2, fall->drogue_open_s, fall->drogue_fill_m,
                fall->start_s - fall->apogee_fire_s);
    load_canopy(&block->main, l, fall->main_cds_m2, fall->main_open_s, fall->main_fill_m,
                fall->start_s - fall->main_fire_s);
    if (fall->trigger_count > block->trigger_count) block->trigger_count = fall->trigger_count;
    for (int i = 0; i < PAPPUS_TRIGGERS; i++) {
        bool present = i < fall->trigger_count;
        block->trigger_m[i][l] = (float)(present ? fall->trigger_height_m[i] : passed_m);
        block->trigger_delay_s[i][l] = (float)(present ? fall->trigger_delay_s[i] : 0);
    }
    block->time_s[l] = (float)fall->start_s;
    block->east_m[l] = (float)fall->east_m;
    block->north_m[l] = (float)fall->north_m;
    block->height_m[l] = (float)fall->height_m;
    block->ve_mps[l] = (float)fall->ve_mps;
    block->vn_mps[l] = (float)fall->vn_mps;
    block->vup_mps[l] = (float)fall->vup_mps;
    block->mode[l] = PAPPUS_LANE_STEPS;
    block->layer[l] = layer_of(air, fall->height_m);
    block->air.layer[l] = -1;
}

static void store(pappus_touchdown *out, const pappus_block *block, int l, const pappus_fall *fall)
{
    const pappus_block_canopy *drogue = &block->drogue, *main = &block->main;
    bool has_drogue = fall->drogue_cds_m2 > 0 && drogue->fired[l] > 0;
    bool has_main = fall->main_cds_m2 > 0 && main->fired[l] > 0;
    bool opened = has_main && main->open[l] > 0;
    *out = (pappus_touchdown){
        .time_s = block->time_s[l],
        .east_m = block->east_m[l],
        .north_m = block->north_m[l],
        .ve_mps = block->ve_mps[l],
        .vn_mps = block->vn_mps[l],
        .vup_mps = block->vup_mps[l],
        .drogue_fire_mps = has_drogue ? drogue->fire_mps[l] : NAN,
        .main_fire_mps = has_main ? main->fire_mps[l] : NAN,
        .drogue_load_n = has_drogue
                             ? 0.5 * fall->drogue_cx * fall->drogue_cds_m2 * drogue->peak[l] : NAN,
        .main_load_n = has_main ? 0.5 * fall->main_cx * fall->main_cds_m2 * main->peak[l] : NAN,
        .main_fire_m = has_main ? main->fire_m[l] : NAN,
        .main_full_open_m = opened ? main->open_m[l] : 0,
        .time_full_open_s = opened ? main->open_s[l] : NAN,
    };
}

int pappus_engine_run(pappus_touchdown *out, const pappus_air *air, pappus_isa isa, size_t count,
                      const pappus_fall *falls, const float *u_mps, const float *v_mps)
{
    pappus_block block;
    block.trigger_count = 0;
    for (int l = 0; l < PAPPUS_LANES; l++) {
        load(&block, l, air, &falls[(size_t)l < count ? (size_t)l : 0]);
        if ((size_t)l >= count) block.mode[l] = PAPPUS_LANE_LANDED;
    }
    if (PAPPUS_KERNEL_PICK(pappus_engine_block, isa)(&block, air, u_mps, v_mps) != 0)
        return PAPPUS_E_NUMERIC;
    for (size_t l = 0; l < count; l++) {
        store(&out[l], &block, (int)l, &falls[l]);
        if (!isfinite(out[l].time_s + out[l].east_m + out[l].north_m)) return PAPPUS_E_NUMERIC;
    }
    return PAPPUS_OK;
}
