/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where a crew looks for the main: its opening on the central flight, from each post. The
 * ground is taken as level; the real flight opens somewhere about it. */
#include <pappus/choice.h>

#include "bearing.h"

#include <math.h>

/* The last canopy to come out; NaN: none does. */
static double opening_s(const pappus_path *path)
{
    if (isfinite(path->main_full_open_s)) return path->main_full_open_s;
    return isfinite(path->main_fire_s) ? path->main_fire_s : path->drogue_fire_s;
}

static pappus_path_point point_at(const pappus_path *path, double time_s)
{
    size_t i = 1;
    while (i + 1 < path->count && path->points[i].time_s < time_s)
        i++;
    pappus_path_point a = path->points[i - 1], b = path->points[i];
    double share = b.time_s > a.time_s ? (time_s - a.time_s) / (b.time_s - a.time_s) : 0.0;
    share = fmin(fmax(share, 0.0), 1.0);
    return (pappus_path_point){.time_s = time_s,
                               .east_m = a.east_m + share * (b.east_m - a.east_m),
                               .north_m = a.north_m + share * (b.north_m - a.north_m),
                               .height_m = a.height_m + share * (b.height_m - a.height_m)};
}

void pappus_crews_look(pappus_crews *crews, const pappus_path *path)
{
    double time_s = path->count > 1 ? opening_s(path) : NAN;
    for (size_t k = 0; k < crews->post_count; k++) {
        pappus_post *post = &crews->posts[k];
        post->look_bearing_deg = post->look_elevation_deg = post->look_s = NAN;
        if (!isfinite(time_s)) continue;
        pappus_path_point at = point_at(path, time_s);
        double east = at.east_m - post->east_m, north = at.north_m - post->north_m;
        post->look_bearing_deg = pappus_bearing_of(east, north);
        post->look_elevation_deg = atan2(at.height_m, hypot(east, north)) * 180.0 / M_PI;
        post->look_s = time_s;
    }
}
