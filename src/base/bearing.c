/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bearings in degrees, clockwise from true north. */
#include "bearing.h"
#include "error.h"
#include "unit_words.h"
#include "units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define POINTS 16
#define POINT_DEG 22.5

static const char *const points[POINTS] = {"N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
                                           "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"};

double pappus_bearing_wrap_deg(double bearing_deg)
{
    double b = fmod(bearing_deg, 360.0);
    if (b < 0.0) b += 360.0;
    return b >= 360.0 ? 0.0 : b;
}

double pappus_bearing_of(double east, double north)
{
    return pappus_bearing_wrap_deg(atan2(east, north) * 180.0 / M_PI);
}

const char *pappus_compass_point(double bearing_deg)
{
    if (!isfinite(bearing_deg)) return "";
    return points[lround(pappus_bearing_wrap_deg(bearing_deg) / POINT_DEG) % POINTS];
}

static bool compass_point(double *bearing_deg, const char *text)
{
    for (int i = 0; i < POINTS; i++) {
        if (strcmp(points[i], text) == 0) {
            *bearing_deg = POINT_DEG * i;
            return true;
        }
    }
    return false;
}

#define BEARING_ACCEPTED                                                                           \
    "accepted is a bearing of 0 to 360 deg, as in \"240 deg\", \"240 degM\" (magnetic) or \"WSW\""

int pappus_bearing_parse(double *bearing_deg, const char *text, double declination_deg,
                         pappus_error *err)
{
    double value;
    if (compass_point(bearing_deg, text)) return PAPPUS_OK;
    size_t n = pappus_number_read(&value, text);
    if (n == 0) {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL, "not a bearing; %s",
                           BEARING_ACCEPTED);
    }
    const char *unit = text + n + (text[n] == ' ');
    bool magnetic = strcmp(unit, "degM") == 0;
    if (unit[0] == '\0') {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL, "a number without its unit; %s",
                           BEARING_ACCEPTED);
    }
    if (!magnetic && strcmp(unit, "degT") != 0 &&
        !pappus_unit_word_find(PAPPUS_FAMILY_ANGLE, unit)) {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL,
                           "\"%s\" is no unit of a bearing; %s", unit, BEARING_ACCEPTED);
    }
    if (strcmp(unit, "rad") == 0 || value < 0.0 || value > 360.0) {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL, "out of range; %s",
                           BEARING_ACCEPTED);
    }
    if (magnetic && !isfinite(declination_deg)) {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL,
                           "a magnetic bearing needs site.declination, as in \"3 deg\" (east "
                           "positive); or write the true bearing in deg");
    }
    *bearing_deg = pappus_bearing_wrap_deg(magnetic ? value + declination_deg : value);
    return PAPPUS_OK;
}

int pappus_bearing_format(char *out, size_t size, double bearing_deg, double declination_deg)
{
    char true_text[40], magnetic[40];
    pappus_number_format(true_text, sizeof true_text, bearing_deg, "deg true");
    if (!isfinite(declination_deg)) return snprintf(out, size, "%s", true_text);
    pappus_number_format(magnetic, sizeof magnetic,
                         pappus_bearing_wrap_deg(bearing_deg - declination_deg), "deg magnetic");
    return snprintf(out, size, "%s (%s)", true_text, magnetic);
}
