/* SPDX-License-Identifier: GPL-3.0-or-later
 * The table of a plan's keys, in the order in which they are read and shown, and
 * look-ups in it. The nearest key is by edit distance (Levenshtein 1966).
 *
 * Defaults are common practice or our assumptions and are shown as assumed
 * wherever a plan is. Limits have one only where a code or common practice has a
 * figure: 20 mph surface wind (high-power codes), 75 ft lbf per section
 * (student-competition guidance), main full open by 300 ft (practice); 95 % inside
 * the field and 1 % on a keep-out are our own. Landing speed and opening load
 * have no usual figure and are not limited unless the plan does it. */
#include "plan_keys.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#define P(member) offsetof(pappus_plan, member)
#define IN(type, member) offsetof(type, member)
#define NONE PAPPUS_NO_OFFSET

static const char *const canopy_types[] = {
#define TYPE_TEXT(name, text) text,
    PAPPUS_CANOPY_TYPE_LIST(TYPE_TEXT)
#undef TYPE_TEXT
        NULL};
static const char *const area_bases[] = {"nominal", "constructed", "projected", NULL};
static const char *const held_by[] = {"bay", "bundle", NULL};
static const char *const unit_systems[] = {"us", "si", NULL};
static const char *const wind_kinds[] = {"sounding", "forecast", NULL};

const char *pappus_wind_kind_text(pappus_wind_kind kind)
{
    return wind_kinds[kind];
}

/* One row: key, what it spoils, kind, dimension, offset, bounds, default, starter, flags, help. */
#define ROW(k, spoil, what, dim, at, lo, hi, def, start, flag, text)                               \
    {                                                                                              \
        .key = (k), .spoils = (spoil), .kind = PAPPUS_KEY_##what, .dimension = PAPPUS_DIM_##dim,   \
        .offset = (at), .extra = NONE, .low = (lo), .high = (hi), .assumed = (def),                \
        .starter = (start), .flags = (flag), .help = (text)                                        \
    }
/* The same with a bool that says that the key was given. */
#define GIVEN(k, spoil, what, dim, at, given, lo, hi, def, start, flag, text)                      \
    {                                                                                              \
        .key = (k), .spoils = (spoil), .kind = PAPPUS_KEY_##what, .dimension = PAPPUS_DIM_##dim,   \
        .offset = (at), .extra = (given), .low = (lo), .high = (hi), .assumed = (def),             \
        .starter = (start), .flags = (flag), .help = (text)                                        \
    }
#define GROUP(k, at, flag, text)                                                                   \
    {                                                                                              \
        .key = (k), .kind = PAPPUS_KEY_OBJECT, .offset = (at), .extra = NONE, .flags = (flag),     \
        .help = (text)                                                                             \
    }
#define LIST(k, spoil, at, count, type, hi, start, text)                                           \
    {                                                                                              \
        .key = (k), .spoils = (spoil), .kind = PAPPUS_KEY_LIST, .offset = (at), .extra = (count),  \
        .size = sizeof(type), .high = (hi), .starter = (start), .help = (text)                     \
    }
#define CHOICE(k, spoil, what, at, given, list, def, start, text)                                  \
    {                                                                                              \
        .key = (k), .spoils = (spoil), .kind = PAPPUS_KEY_##what, .choices = (list),               \
        .offset = (at), .extra = (given), .assumed = (def), .starter = (start), .help = (text)     \
    }
#define POINTS(k, spoil, at, count, flag, text)                                                    \
    {                                                                                              \
        .key = (k), .spoils = (spoil), .kind = PAPPUS_KEY_POINTS, .offset = (at),                  \
        .extra = (count), .low = 3, .high = 100000, .flags = (flag), .help = (text)                \
    }

#define REQUIRED PAPPUS_KEY_REQUIRED
#define OPTIONAL PAPPUS_KEY_OPTIONAL
#define LIMIT PAPPUS_KEY_CAN_BE_OFF

/* What a key spoils beside the plan, each with what is made of it. */
#define NOTHING 0
#define FILES (PAPPUS_SPOILS_FILES | WINDS)
#define WINDS (PAPPUS_SPOILS_WINDS | PAPPUS_SPOILS_AIR)
#define FIELD PAPPUS_SPOILS_FIELD
#define AIR PAPPUS_SPOILS_AIR

/* The keys that the drogue and the main share. */
#define CANOPY(k, c, diameter, coefficient, basis, kind_of)                                        \
    ROW(k ".diameter", NOTHING, VALUE, SIZE, P(c.diameter_m), 0.02, 50, NULL, diameter, 0,         \
        "diameter that the area basis speaks of"),                                                 \
        CHOICE(k ".type", NOTHING, CHOICE, P(c.type), P(c.type_given), canopy_types,               \
               "flat circular", kind_of,                                                           \
               "kind of canopy: sets how it opens, and its coefficient where none is given"),      \
        CHOICE(k ".area_basis", NOTHING, CHOICE, P(c.area_basis), P(c.basis_given), area_bases,    \
               NULL, basis,                                                                        \
               "area that diameter and coefficient speak of: all the cloth, laid flat, or the "    \
               "inflated mouth"),                                                                  \
        ROW(k ".drag_coefficient", NOTHING, UNCERTAIN, NUMBER, P(c.drag_coefficient), 0.01, 5,     \
            NULL, coefficient, 0, "drag coefficient on the area of the basis"),                    \
        ROW(k ".area", NOTHING, VALUE, AREA, P(c.area_m2), 0.0002, 2000, NULL, NULL, 0,            \
            "reference area, instead of a diameter"),                                              \
        ROW(k ".drag_area", NOTHING, UNCERTAIN, AREA, P(c.drag_area_m2), 0.0001, 5000, NULL, NULL, \
            0, "coefficient times area outright, instead of both"),                                \
        GROUP(k ".rate", NONE, OPTIONAL,                                                           \
              "a labelled or flown descent rate, instead of area and coefficient"),                \
        ROW(k ".rate.speed", NOTHING, UNCERTAIN, SPEED, P(c.rate_speed_mps), 0.5, 150, NULL, NULL, \
            REQUIRED, "descent rate ..."),                                                         \
        ROW(k ".rate.mass", NOTHING, VALUE, MASS, P(c.rate_mass_kg), 0.01, 5000, NULL, NULL,       \
            REQUIRED, "... of this mass under the canopy ..."),                                    \
        ROW(k ".rate.height", NOTHING, VALUE, LENGTH, P(c.rate_height_msl_m), -500, 9000, "0 m",   \
            NULL, 0, "... in standard air at this height above sea level"),                        \
        ROW(k ".spill_hole", NOTHING, VALUE, SIZE, P(c.spill_hole_m), 0, 25, "0 inch", NULL, 0,    \
            "diameter of the hole at the top; its area is taken off"),                             \
        ROW(k ".length", NOTHING, VALUE, LENGTH, P(c.length_m), 0.02, 100, NULL, NULL, 0,          \
            "of a streamer"),                                                                      \
        ROW(k ".width", NOTHING, VALUE, SIZE, P(c.width_m), 0.005, 10, NULL, NULL, 0,              \
            "of a streamer"),                                                                      \
        ROW(k ".opening_time", NOTHING, UNCERTAIN, TIME, P(c.opening_time_s), 0.001, 60, NULL,     \
            NULL, 0,                                                                               \
            "from firing to full open; without it the canopy opens over so many diameters of "     \
            "air"),                                                                                \
        ROW(k ".wanted_rate", NOTHING, VALUE, SPEED, P(c.wanted_rate_mps), 0.5, 150, NULL, NULL,   \
            0,                                                                                     \
            "descent rate to size it for on the bench card; without it the middle of the usual "   \
            "band")

#define CHARGE(k, c, diameter, length, force, count, strength)                                     \
    GROUP(k, P(c.present), OPTIONAL, "ejection charge, for the bench card"),                       \
        ROW(k ".bay_diameter", NOTHING, VALUE, SIZE, P(c.bay_diameter_m), 0.01, 2, NULL, diameter, \
            REQUIRED, "inner diameter of the bay"),                                                \
        ROW(k ".bay_length", NOTHING, VALUE, SIZE, P(c.bay_length_m), 0.01, 10, NULL, length,      \
            REQUIRED, "length of the bay that the charge fills"),                                  \
        ROW(k ".force", NOTHING, VALUE, FORCE, P(c.force_n), 1, 50000, NULL, force, 0,             \
            "force wanted on the bulkhead"),                                                       \
        ROW(k ".pressure", NOTHING, VALUE, GAUGE_PRESSURE, P(c.pressure_pa), 1000, 2000000, NULL,  \
            NULL, 0, "pressure wanted in the bay above the air around, instead of a force"),       \
        GROUP(k ".shear_pins", NONE, OPTIONAL, "pins that hold the joint until the charge fires"), \
        ROW(k ".shear_pins.count", NOTHING, INT, NUMBER, P(c.shear_pin_count), 1, 24, NULL, count, \
            REQUIRED, "how many"),                                                                 \
        ROW(k ".shear_pins.strength", NOTHING, VALUE, FORCE, P(c.shear_pin_strength_n), 1, 5000,   \
            NULL, strength, REQUIRED, "shear strength of one"),                                    \
        ROW(k ".friction", NOTHING, VALUE, FORCE, P(c.friction_n), 0, 5000, "0 lbf", NULL, 0,      \
            "of the coupler in the joint"),                                                        \
        ROW(k ".margin", NOTHING, VALUE, NUMBER, P(c.margin), 1, 10, "1.5", NULL, 0,               \
            "force wanted over what pins and friction need"),                                      \
        ROW(k ".backup_factor", NOTHING, VALUE, NUMBER, P(c.backup_factor), 1, 3, "1.25", NULL, 0, \
            "mass of the backup charge over that of the primary")

const pappus_plan_key pappus_plan_keys[] = {
    ROW("$schema", NOTHING, TEXT, NUMBER, NONE, 0, 1000, NULL, NULL, 0, "for editors; not read"),
    ROW("base", NOTHING, TEXT, NUMBER, NONE, 1, 1000, NULL, NULL, 0,
        "another plan over which this one is laid as a JSON merge patch (RFC 7396)"),
    ROW("title", NOTHING, TEXT, NUMBER, P(title), 0, 200, "", "Starter plan: change every value", 0,
        "heading of the report"),
    CHOICE("units", NOTHING, CHOICE, P(units), NONE, unit_systems, NULL, NULL,
           "units to show where --units does not say it; else us"),

    GROUP("site", NONE, REQUIRED, "where the pad is, and its air"),
    ROW("site.latitude", FILES | FIELD, VALUE, LATITUDE, P(site.latitude_deg), -89, 89, NULL,
        "41.25 deg", 0, "of the pad, WGS 84, north positive; needed unless site.pads gives it"),
    ROW("site.longitude", FILES | FIELD, VALUE, LONGITUDE, P(site.longitude_deg), -180, 180, NULL,
        "-96.5 deg", 0, "of the pad, WGS 84, east positive; needed unless site.pads gives it"),
    ROW("site.elevation", FILES, VALUE, LENGTH, P(site.elevation_msl_m), -500, 6000, "0 m", "350 m",
        0, "of the pad above mean sea level"),
    ROW("site.declination", FIELD | AIR, VALUE, DECLINATION, P(site.declination_deg), -180, 180,
        NULL, "3 deg", 0, "magnetic declination, east positive; needed for bearings in degM"),
    ROW("site.temperature", AIR, VALUE, TEMPERATURE, P(site.temperature_k), 200, 340, NULL,
        "20 degC", 0, "of the air at the pad; else the sounding's or the standard"),
    ROW("site.pressure", AIR, VALUE, PRESSURE, P(site.pressure_pa), 40000, 110000, NULL, NULL, 0,
        "of the air at the pad (station pressure, not reduced to sea level)"),
    ROW("site.time_zone", NOTHING, TEXT, NUMBER, P(site.time_zone), 1, 60, NULL, NULL, 0,
        "shown beside UTC: a name of the IANA data base, Europe/Vienna, or an offset, -06:00"),
    LIST("site.pads[]", FILES | FIELD, P(site.pads), P(site.pad_count), pappus_pad, 100, NULL,
         "named pads, one of which --pad chooses"),
    ROW("site.pads[].name", FILES | FIELD, TEXT, NUMBER, IN(pappus_pad, name), 1, 100, NULL, NULL,
        REQUIRED, "what --pad says"),
    ROW("site.pads[].latitude", FILES | FIELD, VALUE, LATITUDE, IN(pappus_pad, latitude_deg), -89,
        89, NULL, NULL, REQUIRED, "WGS 84, north positive"),
    ROW("site.pads[].longitude", FILES | FIELD, VALUE, LONGITUDE, IN(pappus_pad, longitude_deg),
        -180, 180, NULL, NULL, REQUIRED, "WGS 84, east positive"),

    GROUP("field", NONE, 0, "where it may land and where not"),
    ROW("field.boundary", FIELD, PATH, NUMBER, P(field.boundary_path), 1, 4000, NULL, NULL, 0,
        "polygon file of the field, GeoJSON or shapefile"),
    ROW("field.radius", FIELD, VALUE, LENGTH, P(field.radius_m), 1, 100000, NULL, "2500 ft", 0,
        "of a round field about the pad, instead of a file"),
    POINTS("field.points", FIELD, P(field.points), P(field.point_count), 0,
           "corners of the field, [[latitude, longitude], ...] in degrees, instead of a file"),
    ROW("field.keep_out", FIELD, PATH, NUMBER, P(field.keep_out_path), 1, 4000, NULL, NULL, 0,
        "polygon file of the areas where nothing may land"),
    LIST("field.keep_out[]", FIELD, P(field.keep_outs), P(field.keep_out_count), pappus_inline_area,
         1000, NULL, "the same as a list of areas, by points or by a disc"),
    ROW("field.keep_out[].name", FIELD, TEXT, NUMBER, IN(pappus_inline_area, name), 1, 100, NULL,
        NULL, REQUIRED, "name of the area"),
    POINTS("field.keep_out[].points", FIELD, IN(pappus_inline_area, points),
           IN(pappus_inline_area, point_count), 0,
           "corners, [[latitude, longitude], ...] in degrees"),
    ROW("field.keep_out[].bearing", FIELD, BEARING, ANGLE, IN(pappus_inline_area, bearing_deg), 0,
        360, NULL, NULL, 0, "of the disc's centre from the pad"),
    ROW("field.keep_out[].distance", FIELD, VALUE, LENGTH, IN(pappus_inline_area, distance_m), 0,
        100000, NULL, NULL, 0, "of the disc's centre from the pad"),
    ROW("field.keep_out[].radius", FIELD, VALUE, LENGTH, IN(pappus_inline_area, radius_m), 0.5,
        100000, NULL, NULL, 0, "of the disc"),
    ROW("field.keep_out[].limit", FIELD, VALUE, PROBABILITY, IN(pappus_inline_area, limit), 1e-7, 1,
        NULL, NULL, 0, "largest chance that it comes down there, instead of limits.keep_out"),
    ROW("field.keep_out[].people", FIELD, VALUE, NUMBER, IN(pappus_inline_area, people), 0, 1000000,
        NULL, NULL, 0, "persons there in the open"),
    LIST("field.limits[]", FIELD, P(field.limits), P(field.limit_count), pappus_named_number, 1000,
         NULL, "limits of single keep-out areas, of a file or of the plan"),
    ROW("field.limits[].name", FIELD, TEXT, NUMBER, IN(pappus_named_number, name), 1, 100, NULL,
        NULL, REQUIRED, "of the area"),
    ROW("field.limits[].limit", FIELD, VALUE, PROBABILITY, IN(pappus_named_number, value), 1e-7, 1,
        NULL, NULL, REQUIRED, "largest chance that it comes down there"),
    LIST("field.people[]", FIELD, P(field.people), P(field.people_count), pappus_named_number, 1000,
         NULL, "persons in the open on keep-out areas, of a file or of the plan"),
    ROW("field.people[].name", FIELD, TEXT, NUMBER, IN(pappus_named_number, name), 1, 100, NULL,
        NULL, REQUIRED, "of the area"),
    ROW("field.people[].people", FIELD, VALUE, NUMBER, IN(pappus_named_number, value), 0, 1000000,
        NULL, NULL, REQUIRED, "persons there"),
    ROW("field.roads", FIELD, PATH, NUMBER, P(field.roads_path), 1, 4000, NULL, NULL, 0,
        "line file of the roads on which crews can wait"),

    GROUP("rocket", NONE, REQUIRED, "what hangs under the canopies"),
    ROW("rocket.mass", NOTHING, UNCERTAIN, MASS, P(rocket.mass_kg), 0.01, 5000, NULL,
        "18.5 lb +/- 0.2 lb", REQUIRED, "under the canopies, propellant spent"),
    ROW("rocket.length", NOTHING, VALUE, SIZE, P(rocket.length_m), 0.05, 100, NULL, "8 ft", 0,
        "of the airframe; with the diameter it gives the body's drag where no drag area is given"),
    ROW("rocket.diameter", NOTHING, VALUE, SIZE, P(rocket.diameter_m), 0.005, 5, NULL, "4 inch", 0,
        "of the airframe"),
    ROW("rocket.tumble_drag_area", NOTHING, UNCERTAIN, AREA, P(rocket.tumble_drag_area_m2), 0.00001,
        100, NULL, NULL, 0,
        "of the body once it has parted; else length times diameter, or what falls at 35 m/s"),
    ROW("rocket.ballistic_drag_area", NOTHING, UNCERTAIN, AREA, P(rocket.ballistic_drag_area_m2),
        0.00001, 100, NULL, NULL, 0,
        "of the whole body nose first; else half the area of its disc, or what falls at 90 m/s"),
    ROW("rocket.hanging_share", NOTHING, UNCERTAIN, NUMBER, P(rocket.hanging_share), 0, 1,
        "{\"low\": 0, \"high\": 0.5}", NULL, 0,
        "of the tumbling drag that the body keeps while it hangs under an open canopy; none under "
        "a canopy given by rate or drag_area, which hold the body already"),
    LIST("rocket.sections[]", NOTHING, P(rocket.sections), P(rocket.section_count), pappus_section,
         50, "3", "parts that come down tied together, for the energy at touchdown"),
    ROW("rocket.sections[].name", NOTHING, TEXT, NUMBER, IN(pappus_section, name), 1, 100, NULL,
        "nose|payload|booster", REQUIRED, "name of the section"),
    ROW("rocket.sections[].mass", NOTHING, VALUE, MASS, IN(pappus_section, mass_kg), 0.001, 5000,
        NULL, "4 lb|6 lb|8.5 lb", REQUIRED, "of the section; all add up to rocket.mass"),

    GROUP("apogee", NONE, REQUIRED, "where and how fast the top of the flight is"),
    ROW("apogee.height", AIR, UNCERTAIN, LENGTH, P(apogee.height_m), 10, 40000, NULL,
        "5200 ft +/- 250 ft", REQUIRED, "above the pad"),
    ROW("apogee.distance", NOTHING, VALUE, LENGTH, P(apogee.distance_m), 0, 50000, "0 ft", "300 ft",
        0, "from the pad, over the ground"),
    ROW("apogee.bearing", NOTHING, HEADING, ANGLE, P(apogee.bearing), 0, 360, "upwind", "upwind", 0,
        "of the apogee from the pad: a bearing, upwind or downwind"),
    ROW("apogee.spread", NOTHING, VALUE, LENGTH, P(apogee.spread_m), 0, 20000, NULL, "270 ft", 0,
        "standard deviation of the place of the apogee, towards east and north each; else 0.052 "
        "of its height, three degrees of tilt"),
    ROW("apogee.speed", NOTHING, UNCERTAIN, SPEED, P(apogee.speed_mps), 0, 350,
        "35 ft/s +/- 15 ft/s", "35 ft/s +/- 15 ft/s", 0, "horizontal speed left at apogee"),
    ROW("apogee.heading", NOTHING, HEADING, ANGLE, P(apogee.heading), 0, 360, "upwind", "upwind", 0,
        "towards which it moves there: a bearing, upwind or downwind"),

    GROUP("drogue", P(drogue.present), OPTIONAL, "the canopy that opens at apogee"),
    CANOPY("drogue", drogue, "18 inch", "1.5 +/- 0.15", "projected", "flat circular"),

    GROUP("main", P(main.present), OPTIONAL, "the canopy it lands under"),
    CANOPY("main", main, "96 inch", "0.78 +/- 0.08", "nominal", "flat circular"),
    CHOICE("main.held", NOTHING, SWITCH, P(main.held_in_bundle), NONE, held_by, "bay", NULL,
           "until its event: in the bay, or out at apogee as a bundle that a cutter or release "
           "holds closed"),
    ROW("main.held_drag_area", NOTHING, UNCERTAIN, AREA, P(main.held_drag_area_m2), 0.00001, 100,
        NULL, NULL, 0, "drag area of the bundle"),

    LIST("altimeters[]", AIR, P(altimeters), P(altimeter_count), pappus_altimeter, 4, "2",
         "the primary first; without it one that works as assumed"),
    ROW("altimeters[].name", NOTHING, TEXT, NUMBER, IN(pappus_altimeter, name), 1, 100, "altimeter",
        "primary|backup", 0, "name of the altimeter"),
    ROW("altimeters[].drogue_delay", NOTHING, UNCERTAIN, TIME, IN(pappus_altimeter, drogue_delay_s),
        0, 120, "0 s", "0 s|1 s", 0, "of the apogee event after apogee"),
    ROW("altimeters[].main_height", AIR, VALUE, LENGTH, IN(pappus_altimeter, main_height_m), 1,
        20000, NULL, "700 ft|600 ft", 0, "deployment height of the main as set on the altimeter"),
    ROW("altimeters[].height_error", NOTHING, UNCERTAIN, LENGTH,
        IN(pappus_altimeter, height_error_m), -1000, 1000, "0 ft +/- 15 ft", NULL, 0,
        "what it is wrong by at the main's height"),
    ROW("altimeters[].fire_delay", NOTHING, UNCERTAIN, TIME, IN(pappus_altimeter, fire_delay_s), 0,
        10, "0.1 s +/- 0.03 s", NULL, 0, "from an event to its charge"),
    ROW("altimeters[].works", NOTHING, VALUE, PROBABILITY, IN(pappus_altimeter, works), 0, 1,
        "0.995", NULL, 0, "chance that the whole altimeter works, independent of the others"),
    ROW("motor_delay", NOTHING, UNCERTAIN, TIME, P(motor_delay_s), -60, 60, NULL, NULL, 0,
        "of the motor's own charge after apogee, negative before it"),

    GROUP("faults", NONE, 0, "chances of what goes wrong"),
    ROW("faults.drogue_fails", NOTHING, VALUE, PROBABILITY, P(faults.drogue_fails), 0, 1, "0.01",
        NULL, 0, "chance that the drogue fails after its firing"),
    ROW("faults.main_fails", NOTHING, VALUE, PROBABILITY, P(faults.main_fails), 0, 1, "0.01", NULL,
        0, "chance that the main fails after its firing"),
    ROW("faults.main_early", NOTHING, VALUE, PROBABILITY, P(faults.main_early), 0, 1, "0.005", NULL,
        0, "chance that the main comes out at the drogue event"),
    ROW("faults.no_power", NOTHING, VALUE, PROBABILITY, P(faults.no_power), 0, 1, "0.003", NULL, 0,
        "chance that no altimeter fires anything: not armed, a battery, one cause for all"),

    GROUP("charges", NONE, 0, "ejection charges, for the bench card"),
    CHARGE("charges.drogue", drogue_charge, "4 inch", "12 inch", "200 lbf", "2", "35 lbf"),
    CHARGE("charges.main", main_charge, "4 inch", "18 inch", "200 lbf", "2", "35 lbf"),

    GROUP("wind", P(has_wind), OPTIONAL, "wind aloft, measured wind and how far to trust them"),
    {.key = "wind.profiles[]",
     .spoils = FILES,
     .kind = PAPPUS_KEY_LIST,
     .offset = P(wind.profiles),
     .extra = P(wind.profile_count),
     .size = sizeof(pappus_profile_source),
     .shorthand = "file",
     .high = 500,
     .help = "wind files: paths, or objects that choose inside one"},
    ROW("wind.profiles[].file", FILES, PATH, NUMBER, IN(pappus_profile_source, path), 1, 4000, NULL,
        NULL, REQUIRED, "layer table, IGRA v2 sounding or FB bulletin"),
    ROW("wind.profiles[].station", FILES, TEXT, NUMBER, IN(pappus_profile_source, station), 1, 100,
        NULL, NULL, 0, "station in a bulletin"),
    ROW("wind.profiles[].sounding", FILES, TIME, NUMBER, IN(pappus_profile_source, sounding_utc_s),
        0, 0, NULL, NULL, 0, "time of the sounding in a file of many; else the newest"),
    ROW("wind.profiles[].valid", FILES, TIME, NUMBER, IN(pappus_profile_source, valid_utc_s), 0, 0,
        NULL, NULL, 0,
        "time the profile is for; with wind.time the two neighbours are interpolated"),
    CHOICE("wind.profiles[].kind", FILES, CHOICE, IN(pappus_profile_source, kind),
           IN(pappus_profile_source, kind_given), wind_kinds, NULL, NULL,
           "what this layer table was made from"),
    ROW("wind.profiles[].weight", FILES, VALUE, NUMBER, IN(pappus_profile_source, weight), 0.000001,
        1000000, "1", NULL, 0, "chance of the profile over that of the others"),
    ROW("wind.time", WINDS, TIME, NUMBER, P(wind.time_utc_s), 0, 0, NULL, NULL, 0, "of the launch"),
    GIVEN("wind.member", WINDS, INT, NUMBER, P(wind.member), P(wind.member_given), 0, 999999, NULL,
          NULL, 0,
          "the one member of an ensemble that counts, as its file numbers it; else all are drawn"),
    CHOICE("wind.kind", FILES, CHOICE, P(wind.kind), P(wind.kind_given), wind_kinds, NULL, NULL,
           "what layer tables were made from: a sounding's error grows more; else sounding"),
    ROW("wind.age", WINDS, VALUE, AGE, P(wind.age_s), 0, 864000, NULL, NULL, 0,
        "of the profiles at launch, where the files do not know it; else 6 h"),
    GIVEN("wind.error", AIR, VALUE, SPEED, P(wind.error_mps), P(wind.error_given), 0, 30, "1.0 m/s",
          NULL, 0,
          "standard deviation of a profile when fresh, per component; 5 m/s where only "
          "the surface wind is known"),
    ROW("wind.growth", AIR, VALUE, SPEED, P(wind.growth_mps), 0, 30, NULL, NULL, 0,
        "standard deviation that one hour adds, per component; grows as the cube root of the age; "
        "else 2.4 m/s for a sounding, 1.5 m/s for a forecast"),
    ROW("wind.learned_from", NOTHING, TEXT, NUMBER, P(wind.learned_from), 1, 300, NULL, NULL, 0,
        "where the error of the wind was measured, as pappus skill writes it"),
    ROW("wind.error_dof", AIR, VALUE, NUMBER, P(wind.error_dof), 2.1, 1e9, "8", NULL, 0,
        "degrees of freedom of the error's Student law; a million and more: normal"),
    ROW("wind.ground_factor", AIR, VALUE, NUMBER, P(wind.ground_factor), 0.05, 3, "0.5", NULL, 0,
        "error at the ground over that from 400 m up"),
    ROW("wind.top_factor", AIR, VALUE, NUMBER, P(wind.top_factor), 0.05, 5, "1.25", NULL, 0,
        "error at 4500 m and above over that up to 2000 m"),
    ROW("wind.correlation_growth", AIR, VALUE, LENGTH, P(wind.correlation_growth_m), 10, 20000,
        "500 m", NULL, 0,
        "height over which an error one hour old keeps to 1/e; grows as the square root of the "
        "age, between 250 m and 3000 m"),
    ROW("wind.correlation_height", AIR, VALUE, LENGTH, P(wind.correlation_height_m), 10, 20000,
        NULL, NULL, 0, "height over which the error keeps to 1/e, at any age"),
    ROW("wind.decoupling", AIR, VALUE, NUMBER, P(wind.decoupling), 0, 3, "0.2", NULL, 0,
        "what the lowest 100 m take off the error's correlation of ground and aloft, as such "
        "heights"),
    ROW("wind.speed_share", AIR, VALUE, NUMBER, P(wind.speed_share), 0, 0.95, "0.3", NULL, 0,
        "part of the growth's variance that goes with the square of the mean wind between 250 m "
        "and 3250 m; growth is that at 8 m/s there"),
    GROUP("wind.surface", P(wind.has_surface), OPTIONAL, "the wind just measured near the ground"),
    ROW("wind.surface.speed", AIR, VALUE, WIND_SPEED, P(wind.surface.speed_mps), 0, 75, NULL,
        "8 mph", REQUIRED, "mean over some minutes"),
    ROW("wind.surface.direction", AIR, BEARING, ANGLE, P(wind.surface.direction_deg), 0, 360, NULL,
        "240 deg", REQUIRED, "where it comes from"),
    ROW("wind.surface.height", AIR, VALUE, LENGTH, P(wind.surface.height_m), 0.5, 300, "2 m", "2 m",
        0, "of the sensor above the ground"),
    ROW("wind.surface.gust", AIR, VALUE, WIND_SPEED, P(wind.gust_mps), 0, 100, NULL, "12 mph", 0,
        "highest of the same minutes"),
    ROW("wind.surface.error", AIR, VALUE, SPEED, P(wind.surface.error_mps), 0, 30, "1 m/s", NULL, 0,
        "standard deviation of the reading, per component"),
    ROW("wind.surface.holds", NOTHING, VALUE, AGE, P(wind.reading_holds_s), 0, 86400, "2 h", NULL,
        0, "how long before and after wind.time what was measured counts, in a window of hours"),
    LIST("wind.observations[]", AIR, P(wind.observations), P(wind.observation_count),
         pappus_observation, 200, NULL, "winds measured at more heights"),
    ROW("wind.observations[].height", AIR, VALUE, LENGTH, IN(pappus_observation, height_m), 0.5,
        40000, NULL, NULL, REQUIRED, "above the pad"),
    ROW("wind.observations[].speed", AIR, VALUE, WIND_SPEED, IN(pappus_observation, speed_mps), 0,
        150, NULL, NULL, REQUIRED, "wind speed there"),
    ROW("wind.observations[].direction", AIR, BEARING, ANGLE, IN(pappus_observation, direction_deg),
        0, 360, NULL, NULL, REQUIRED, "where it comes from"),
    ROW("wind.observations[].error", AIR, VALUE, SPEED, IN(pappus_observation, error_mps), 0, 30,
        "1 m/s", NULL, 0, "standard deviation, per component"),
    ROW("wind.shear_exponent", WINDS, VALUE, NUMBER, P(wind.shear_exponent), 0, 1, "0.143", NULL, 0,
        "of the power law below the lowest level"),

    GROUP("limits", NONE, 0, "bounds between go and no-go; off or null sets none"),
    ROW("limits.inside_field", NOTHING, VALUE, PROBABILITY, P(limits.inside_field), 0, 1, "0.95",
        "0.95", LIMIT, "least chance to land inside the field, over all outcomes"),
    ROW("limits.keep_out", NOTHING, VALUE, PROBABILITY, P(limits.keep_out), 0, 1, "0.01", "0.01",
        LIMIT, "highest chance to land on a keep-out area, each by itself"),
    ROW("limits.surface_wind", NOTHING, VALUE, WIND_SPEED, P(limits.surface_wind_mps), 0.1, 75,
        "20 mph", "20 mph", LIMIT, "highest surface wind"),
    ROW("limits.landing_speed", NOTHING, VALUE, SPEED, P(limits.landing_speed_mps), 0.1, 200, NULL,
        "25 ft/s", LIMIT, "highest vertical speed at touchdown, 95th percentile"),
    ROW("limits.landing_energy", NOTHING, VALUE, ENERGY, P(limits.landing_energy_j), 0.1, 1000000,
        "75 ft lbf", "75 ft lbf", LIMIT,
        "highest energy of a section at touchdown, 95th percentile"),
    ROW("limits.opening_load", NOTHING, VALUE, LOAD, P(limits.opening_load), 0.1, 1000, NULL,
        "40 g", LIMIT, "highest opening load of each canopy, 95th percentile"),
    ROW("limits.main_height", NOTHING, VALUE, LENGTH, P(limits.main_height_m), 1, 20000, "300 ft",
        "300 ft", LIMIT, "least height at which the main is full open, 5th percentile"),

    GROUP("heights", NONE, 0, "deployment heights of the main to compare"),
    ROW("heights.from", NOTHING, VALUE, LENGTH, P(heights_from_m), 1, 20000, "300 ft", NULL, 0,
        "lowest"),
    ROW("heights.to", AIR, VALUE, LENGTH, P(heights_to_m), 1, 20000, "1500 ft", NULL, 0, "highest"),
    ROW("heights.step", NOTHING, VALUE, LENGTH, P(heights_step_m), 1, 20000, "100 ft", NULL, 0,
        "from one to the next"),

    GROUP("crews", NONE, 0, "recovery crews"),
    ROW("crews.posts", NOTHING, SIZE, NUMBER, P(crew_posts), 0, 20, "2", NULL, 0, "how many posts"),
    ROW("crews.standoff", NOTHING, VALUE, LENGTH, P(crew_standoff_m), 0, 20000, "300 ft", NULL, 0,
        "least distance of a post from the pad"),
    ROW("crews.clear", NOTHING, VALUE, LENGTH, P(crew_clear_m), 1, 1000, "100 ft", NULL, 0,
        "about a post, in which next to nothing may come down"),
    ROW("crews.chance", NOTHING, VALUE, PROBABILITY, P(crew_chance), 0, 1, "0.001", NULL, 0,
        "highest chance per flight that anything comes down so near to a post"),
    ROW("crews.walking_speed", NOTHING, VALUE, WIND_SPEED, P(crew_walking_speed_mps), 0.1, 30,
        "3 mph", NULL, 0, "of a crew over the ground"),

    GROUP("run", NONE, 0, "the sampling"),
    ROW("run.landings", NOTHING, SIZE, NUMBER, P(landings), 100, 10000000, "20000", NULL, 0,
        "how many landings are drawn"),
    ROW("run.seed", NOTHING, UINT64, NUMBER, P(seed), 0, 9007199254740991.0, "1", NULL, 0,
        "the same seed gives the same landings"),
};

const size_t pappus_plan_key_count = sizeof pappus_plan_keys / sizeof *pappus_plan_keys;

/* Takes what a row's key and a key whose indices may be numbers have in common off both. */
static void skip_common(const char **row, const char **key)
{
    while (**row && **row == **key) {
        bool index = **row == '[';
        *row += index ? 2 : 1;
        *key += index ? strcspn(*key, "]") : 1;
        if (index && **key) ++*key;
    }
}

/* A row that ends in "[]" matches with and without it. */
static bool matches(const char *row, const char *key)
{
    skip_common(&row, &key);
    return *key == '\0' && (*row == '\0' || strcmp(row, "[]") == 0);
}

static bool begins_step(const char *rest)
{
    return *rest == '\0' || *rest == '.' || *rest == '[';
}

unsigned pappus_plan_key_spoils(const char *key)
{
    unsigned spoiled = 0;
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const pappus_plan_key *row = &pappus_plan_keys[i];
        const char *row_rest = row->key, *key_rest = key;
        skip_common(&row_rest, &key_rest);
        bool holds_others = row->kind == PAPPUS_KEY_OBJECT || row->kind == PAPPUS_KEY_LIST;
        bool row_below = *key_rest == '\0' && begins_step(row_rest);
        bool key_below = *row_rest == '\0' && begins_step(key_rest) && !holds_others;
        if (row_below || key_below) spoiled |= row->spoils;
    }
    return spoiled;
}

bool pappus_plan_key_holds_path(const char *key)
{
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const char *row_rest = pappus_plan_keys[i].key, *key_rest = key;
        if (pappus_plan_keys[i].kind != PAPPUS_KEY_PATH) continue;
        skip_common(&row_rest, &key_rest);
        if (*key_rest == '\0' && begins_step(row_rest)) return true;
    }
    return false;
}

const pappus_plan_key *pappus_plan_key_find(const char *key, bool list)
{
    const pappus_plan_key *other = NULL;
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const pappus_plan_key *row = &pappus_plan_keys[i];
        if (!matches(row->key, key)) continue;
        if ((row->kind == PAPPUS_KEY_LIST) == list) return row;
        other = row;
    }
    return other;
}

/* Where the last name of a row's key begins. */
static size_t leaf_start(const char *key)
{
    const char *dot = strrchr(key, '.');
    return dot ? (size_t)(dot + 1 - key) : 0;
}

bool pappus_plan_key_is_in(const pappus_plan_key *row, const char *parent)
{
    size_t start = leaf_start(row->key), n = strlen(parent);
    if (start == 0) return n == 0;
    return n + 1 == start && memcmp(row->key, parent, n) == 0;
}

void pappus_plan_key_leaf(char *out, size_t size, const pappus_plan_key *row)
{
    snprintf(out, size, "%s", row->key + leaf_start(row->key));
    out[strcspn(out, "[")] = '\0';
}

/* Levenshtein distance of texts cut to 40 bytes. */
static size_t edit_distance(const char *a, const char *b)
{
    size_t row[41], n = strnlen(a, 40), m = strnlen(b, 40);
    for (size_t j = 0; j <= m; j++)
        row[j] = j;
    for (size_t i = 1; i <= n; i++) {
        size_t corner = row[0];
        row[0] = i;
        for (size_t j = 1; j <= m; j++) {
            size_t best = corner + (a[i - 1] != b[j - 1]);
            if (row[j] + 1 < best) best = row[j] + 1;
            if (row[j - 1] + 1 < best) best = row[j - 1] + 1;
            corner = row[j];
            row[j] = best;
        }
    }
    return row[m];
}

/* What people say for a key, where spelling alone would lead elsewhere. */
static const char *meant(const char *name)
{
    static const struct {
        const char *said, *leaf;
    } words[] = {{"cd", "drag_coefficient"}, {"cds", "drag_area"},     {"cda", "drag_area"},
                 {"weight", "mass"},         {"lat", "latitude"},      {"lon", "longitude"},
                 {"long", "longitude"},      {"altitude", "height"},   {"temp", "temperature"},
                 {"crowd", "keep_out"},      {"direction", "bearing"}, {"from", "direction"}};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcasecmp(words[i].said, name) == 0) return words[i].leaf;
    return name;
}

const pappus_plan_key *pappus_plan_key_nearest(const char *parent, const char *name)
{
    const pappus_plan_key *nearest = NULL;
    const char *word = meant(name);
    size_t least = (size_t)-1;
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        char leaf[64];
        pappus_plan_key_leaf(leaf, sizeof leaf, &pappus_plan_keys[i]);
        /* A key of another object must be nearer by two letters. */
        size_t away = pappus_plan_key_is_in(&pappus_plan_keys[i], parent) ? 0 : 2;
        size_t distance = edit_distance(leaf, word) + away;
        if (distance < least) {
            least = distance;
            nearest = &pappus_plan_keys[i];
        }
    }
    return nearest;
}
