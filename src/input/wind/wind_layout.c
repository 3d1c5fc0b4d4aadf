/* SPDX-License-Identifier: GPL-3.0-or-later
 * How a layer table is laid out, told to people, and one to fill in. Its rows are comments,
 * so that no example is ever taken for a wind. */
#include <pappus/winds.h>
#include "file.h"

#define HEAD "height_agl_ft,direction_deg,speed_kt"

static const char layout[] =
    "Layer table: the wind by height, as text. The first row names the columns, each row\n"
    "under it is one height, from the ground up or from the top down.\n"
    "\n"
    "  " HEAD "\n"
    "  30,240,7\n"
    "  1000,250,14\n"
    "  3000,265,22\n"
    "\n"
    "A column's name says what it is and its unit:\n"
    "  height_agl           above the pad                 _ft, _m or _km\n"
    "  height_msl           above the sea                 _ft, _m or _km\n"
    "  height_geopotential  of a sounding or a model      _ft, _m or _km\n"
    "  height_pressure      of the standard atmosphere    _ft, _m or _km\n"
    "  direction_deg        where the wind comes from, from true north, or WSW in the cell\n"
    "  speed                with direction                _kt, _mph, _mps, _kph or _fps\n"
    "  u, v                 in their place, towards east and north, the same units\n"
    "  speed_sd             standard deviation per component, if known, the same units\n"
    "  gust                 in the lowest row of a time   the same units\n"
    "  temperature          of the air, if known          _degC, _degF or _K\n"
    "  pressure             of the air, if known          _hPa, _inHg or _Pa\n"
    "  time                 what the row is for: each time is a profile of its own\n"
    "  issued               when it was observed or computed\n"
    "  member               number of a member of an ensemble: each is a profile of its own\n"
    "  kind                 sounding or forecast\n"
    "Only a height and a wind are needed. Other columns are passed over.\n"
    "\n"
    "Names typed otherwise are read where they leave no doubt: Height (ft MSL), speed_kmh,\n"
    "Wind Dir, Wind Speed [m/s]. A unit may stand in each cell instead: 1500 ft AGL, 12 kt.\n"
    "Times have their zone: 2027-04-17T15:00Z or 2027-04-17 10:00 -05:00; in a column\n"
    "\"time (UTC)\" it may be missing. Commas, semicolons, tabs or blanks part the cells.\n"
    "Decimals have points or commas, the whole table alike; commas want semicolons or tabs\n"
    "between the cells. A missing value is an empty cell or a dash. # begins a comment.\n";

static const char starter[] =
    "# Wind by height: one row for each height, from the ground up or from the top down.\n"
    "# Rename the columns to what you have, e.g. height_msl_ft or speed_mph.\n"
    "# All that can stand here: pappus manual wind\n"
    "# Put your rows under the names, as these are, without the #:\n"
    "# 30,240,7\n"
    "# 1000,250,14\n"
    "# 3000,265,22\n" HEAD;

const char *pappus_wind_layout(void)
{
    return layout;
}

int pappus_wind_new(const char *path, pappus_error *err)
{
    return pappus_file_write_new(path, starter, err);
}
