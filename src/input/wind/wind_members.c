/* SPDX-License-Identifier: GPL-3.0-or-later
 * The members of an ensemble: a choice keeps one of them, and leaves what has no members as it is
 * (a sounding beside a forecast). */
#include "wind_members.h"

#include "wind_levels.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>

size_t pappus_winds_members(int *out, size_t size, const pappus_winds *winds)
{
    size_t count = 0;
    for (int last = -1;; count++) {
        int next = INT_MAX;
        for (size_t i = 0; i < winds->profile_count; i++)
            if (winds->profiles[i].member > last && winds->profiles[i].member < next)
                next = winds->profiles[i].member;
        if (next == INT_MAX) return count;
        if (count < size) out[count] = next;
        last = next;
    }
}

/* "accepted is one of 0 to 20, 31": those in a row together, so many as a line holds. */
static void accepted_text(char *out, size_t size, const pappus_winds *winds)
{
    int members[1000];
    size_t count = pappus_winds_members(members, 1000, winds), used = 0;
    count = count < 1000 ? count : 1000;
    if (count == 0) snprintf(out, size, "the winds have no members; leave it out");
    for (size_t i = 0; i < count && used + 40 < size; i++) {
        size_t first = i;
        while (i + 1 < count && members[i + 1] == members[i] + 1)
            i++;
        used +=
            (size_t)snprintf(out + used, size - used, "%s%d",
                             first > 0 ? ", " : "not there; accepted is one of ", members[first]);
        if (i > first)
            used += (size_t)snprintf(out + used, size - used, "%s%d", i > first + 1 ? " to " : ", ",
                                     members[i]);
    }
}

static bool has_member(const pappus_winds *winds, int member)
{
    for (size_t i = 0; i < winds->profile_count; i++)
        if (winds->profiles[i].member == member) return true;
    return false;
}

static int refuse(const pappus_winds *winds, const char *file, const char *key, int member,
                  pappus_log *log)
{
    char asked[16], accepted[200];
    snprintf(asked, sizeof asked, "%d", member);
    accepted_text(accepted, sizeof accepted, winds);
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, file, key, asked, "%s", accepted);
}

int pappus_winds_keep_member(pappus_winds *winds, int member, pappus_log *log)
{
    size_t kept = 0;
    if (!has_member(winds, member))
        return refuse(winds, winds->profile_count > 0 ? winds->profiles[0].path : NULL, "member",
                      member, log);
    for (size_t i = 0; i < winds->profile_count; i++) {
        pappus_wind_profile one = winds->profiles[i];
        if (one.member != member) continue;
        winds->profiles[i] = winds->profiles[kept];
        winds->profiles[kept++] = one;
    }
    for (size_t i = kept; i < winds->profile_count; i++)
        pappus_wind_profile_clear(&winds->profiles[i]);
    winds->profile_count = kept;
    return PAPPUS_OK;
}

int pappus_winds_of_member(pappus_winds *out, const pappus_winds *loaded, const pappus_plan *plan,
                           pappus_log *log)
{
    const pappus_wind_plan *wind = &plan->wind;
    *out = (pappus_winds){.profiles = calloc(loaded->profile_count + 1, sizeof *out->profiles)};
    if (!out->profiles)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, plan->path, NULL, NULL,
                              "out of memory");
    if (wind->member_given && !has_member(loaded, wind->member))
        return refuse(loaded, plan->path, "wind.member", wind->member, log);
    for (size_t i = 0; i < loaded->profile_count; i++) {
        int member = loaded->profiles[i].member;
        if (!wind->member_given || member < 0 || member == wind->member)
            out->profiles[out->profile_count++] = loaded->profiles[i];
    }
    return PAPPUS_OK;
}
