/* SPDX-License-Identifier: GPL-3.0-or-later
 * Plans that are wrong: each gives one clear line with the file, the key, what was
 * found and what is accepted, and several faults are all told at once. */
#include "plan_text.h"
#include "suite.h"

/* Patch over the good plan; key, value (NULL: none) and part of the message. */
static const struct {
    const char *patch, *key, *value, *part;
} bad[] = {
    /* a bare number where a unit is due, and units that are wrong */
    {"{\"apogee\": {\"height\": 5200}}", "apogee.height", "5200", "700 ft"},
    {"{\"apogee\": {\"height\": \"5200\"}}", "apogee.height", "5200", "without its unit"},
    {"{\"rocket\": {\"mass\": 18.5}}", "rocket.mass", "18.5", "18.5 lb"},
    {"{\"rocket\": {\"mass\": \"18.5 lbf\"}}", "rocket.mass", "18.5 lbf", "is a force"},
    {"{\"site\": {\"elevation\": \"1,200 ft\"}}", "site.elevation", "1,200 ft", "comma"},
    {"{\"site\": {\"temperature\": \"27\"}}", "site.temperature", "27", "27 degC"},
    {"{\"site\": {\"temperature\": \"27 deg\"}}", "site.temperature", "27 deg", "is an angle"},
    {"{\"limits\": {\"landing_energy\": \"75 lbf\"}}", "limits.landing_energy", "75 lbf",
     "is a force"},
    {"{\"limits\": {\"opening_load\": \"40 kg\"}}", "limits.opening_load", "40 kg", "is a mass"},
    {"{\"limits\": {\"surface_wind\": \"20\"}}", "limits.surface_wind", "20", "12 mph"},
    {"{\"apogee\": {\"spread\": \"10 ft 3\"}}", "apogee.spread", "10 ft 3", "more than one number"},
    {"{\"main\": {\"diameter\": \"8 ft 2 inch\"}}", "main.diameter", "8 ft 2 inch",
     "more than one"},
    {"{\"main\": {\"diameter\": \"2400 nm\"}}", "main.diameter", "2400 nm", "two units"},
    {"{\"wind\": {\"surface\": {\"speed\": \"12 mh\"}}}", "wind.surface.speed", "12 mh",
     "is a time"},
    {"{\"wind\": {\"surface\": {\"speed\": \"12 s/m\"}}}", "wind.surface.speed", "12 s/m",
     "unknown unit"},
    {"{\"wind\": {\"age\": 3}}", "wind.age", "3", "3 h"},
    {"{\"charges\": {\"drogue\": {\"force\": \"200 lb\"}}}", "charges.drogue.force", "200 lb",
     "is a mass"},
    {"{\"main\": {\"drag_coefficient\": \"0.78 m\"}}", "main.drag_coefficient", "0.78 m",
     "is a length"},
    /* out of range */
    {"{\"site\": {\"latitude\": \"95 deg\"}}", "site.latitude", "95 deg", "-89 deg to 89 deg"},
    {"{\"site\": {\"longitude\": \"263.5 deg\"}}", "site.longitude", "263.5 deg",
     "-180 deg to 180 deg"},
    {"{\"rocket\": {\"mass\": \"-1 lb\"}}", "rocket.mass", "-1 lb", "out of range"},
    {"{\"rocket\": {\"mass\": \"0 lb\"}}", "rocket.mass", "0 lb", "0.01 kg to 5000 kg"},
    {"{\"apogee\": {\"height\": \"0 ft\"}}", "apogee.height", "0 ft", "10 m to 40000 m"},
    {"{\"apogee\": {\"height\": \"200000 ft\"}}", "apogee.height", "200000 ft", "out of range"},
    {"{\"altimeters\": [{\"works\": 1.5, \"main_height\": \"700 ft\"}]}", "altimeters[0].works",
     "1.5", "0 to 1"},
    {"{\"altimeters\": [{\"works\": \"99.5\", \"main_height\": \"700 ft\"}]}",
     "altimeters[0].works", "99.5", "0 to 1"},
    {"{\"faults\": {\"main_fails\": -0.1}}", "faults.main_fails", "-0.1", "0 to 1"},
    {"{\"run\": {\"landings\": 50}}", "run.landings", "50", "100 to 10000000"},
    {"{\"run\": {\"landings\": 2000.5}}", "run.landings", "2000.5", "whole number"},
    {"{\"run\": {\"landings\": 10000001}}", "run.landings", "10000001", "100 to 10000000"},
    {"{\"run\": {\"seed\": 9007199254740992}}", "run.seed", NULL, "0 to 9007199254740991"},
    {"{\"run\": {\"seed\": -1}}", "run.seed", "-1", "whole number"},
    {"{\"crews\": {\"posts\": 21}}", "crews.posts", "21", "0 to 20"},
    {"{\"charges\": {\"drogue\": {\"shear_pins\": {\"count\": 0}}}}",
     "charges.drogue.shear_pins.count", "0", "1 to 24"},
    /* uncertain values */
    {"{\"apogee\": {\"height\": \"5200 ft +/- 250\"}}", "apogee.height", "5200 ft +/- 250",
     "without its unit"},
    {"{\"apogee\": {\"height\": \"5200 ft +/- -250 ft\"}}", "apogee.height", "5200 ft +/- -250 ft",
     "below zero"},
    {"{\"apogee\": {\"height\": {\"mean\": \"5200 ft\"}}}", "apogee.height", NULL,
     "do not go together"},
    {"{\"apogee\": {\"height\": {\"low\": \"5200 ft\", \"high\": \"5000 ft\"}}}", "apogee.height",
     NULL, "not in order"},
    {"{\"apogee\": {\"height\": {\"low\": \"5000 ft\", \"mode\": \"4000 ft\", \"high\": \"5200 "
     "ft\"}}}",
     "apogee.height", NULL, "not in order"},
    {"{\"apogee\": {\"height\": {\"mean\": \"5000 ft\", \"sigma\": \"4 ft\"}}}", "apogee.height",
     NULL, "unknown key inside"},
    {"{\"apogee\": {\"height\": {\"mean\": \"5000 ft\", \"sd\": 4}}}", "apogee.height", NULL,
     "accepted is a length"},
    {"{\"apogee\": {\"height\": {\"mean\": \"5000 ft\", \"sd\": \"4 ft\", \"distribution\": "
     "\"weibull\"}}}",
     "apogee.height", NULL, "lognormal"},
    {"{\"altimeters\": [{\"main_height\": \"700 ft\", \"height_error\": {\"mean\": \"0 ft\", "
     "\"sd\": \"4 ft\", \"distribution\": \"lognormal\"}}]}",
     "altimeters[0].height_error", NULL, "not above zero"},
    {"{\"apogee\": {\"height\": [1, 2]}}", "apogee.height", "[1,2]", "not a value"},
    /* keys */
    {"{\"mian\": {\"diameter\": \"3 m\"}}", "mian", NULL, "nearest known key is main"},
    {"{\"main\": {\"diametre\": \"96 inch\"}}", "main.diametre", "96 inch",
     "nearest known key is main.diameter"},
    {"{\"altimeters\": [{\"main_hight\": \"700 ft\", \"main_height\": \"700 ft\"}]}",
     "altimeters[0].main_hight", "700 ft", "altimeters[].main_height"},
    {"{\"site\": {\"lattitude\": \"41 deg\"}}", "site.lattitude", "41 deg",
     "nearest known key is site.latitude"},
    {"{\"wind\": {\"profiles\": [{\"file\": \"a\", \"wieght\": 2}]}}", "wind.profiles[0].wieght",
     "2", "wind.profiles[].weight"},
    {"{\"limits\": {\"Landing_speed\": \"22 ft/s\"}}", "limits.Landing_speed", "22 ft/s",
     "limits.landing_speed"},
    {"{\"altimeters[]\": 1}", "altimeters[]", "1", "unknown key"},
    {"{\"site.latitude\": \"1 deg\"}", "site.latitude", "1 deg", "unknown key"},
    /* shapes */
    {"{\"title\": 5}", "title", "5", "text in quotes"},
    {"{\"title\": \"a\\nb\"}", "title", NULL, "control character"},
    {"{\"title\": \"a\\u2028b\"}", "title", NULL, "control character"},
    {"{\"site\": [1], \"wind\": {\"observations\": null}}", "site", "[1]", "an object"},
    {"{\"altimeters\": {\"main_height\": \"700 ft\"}}", "altimeters", NULL, "a list"},
    {"{\"altimeters\": [\"primary\"]}", "altimeters[0]", "primary", "an object"},
    {"{\"wind\": {\"profiles\": [5]}}", "wind.profiles[0]", "5", "path in quotes"},
    {"{\"wind\": {\"profiles\": [{\"station\": \"DSM\"}]}}", "wind.profiles[0].file", NULL,
     "required"},
    {"{\"wind\": {\"profiles\": [{\"file\": \"a\", \"valid\": \"2027-04-17T15Z\", \"weight\": "
     "2}]}}",
     "wind.profiles[0]", NULL, "not both"},
    {"{\"wind\": {\"time\": \"2027-04-17 15:00\"}}", "wind.time", "2027-04-17 15:00", "ISO 8601"},
    {"{\"wind\": {\"time\": \"2027-02-29T15:00Z\"}}", "wind.time", "2027-02-29T15:00Z", "ISO 8601"},
    {"{\"rocket\": {\"sections\": [{\"name\": \"\", \"mass\": \"18.5 lb\"}]}}",
     "rocket.sections[0].name", NULL, "empty"},
    {"{\"rocket\": {\"sections\": [{\"name\": \"a\"}]}}", "rocket.sections[0].mass", NULL,
     "required"},
    /* bearings */
    {"{\"apogee\": {\"bearing\": \"up\"}}", "apogee.bearing", "up", "not a bearing"},
    {"{\"apogee\": {\"heading\": \"400 deg\"}}", "apogee.heading", "400 deg", "out of range"},
    {"{\"wind\": {\"surface\": {\"direction\": \"240\"}}}", "wind.surface.direction", "240",
     "without its unit"},
    {"{\"wind\": {\"surface\": {\"direction\": \"WWS\"}}}", "wind.surface.direction", "WWS", "WSW"},
    {"{\"wind\": {\"surface\": {\"direction\": 240}}}", "wind.surface.direction", "240", "240 deg"},
    {"{\"site\": {\"declination\": null}}", "wind.observations[0].direction", "255 degM",
     "site.declination"},
    /* canopies */
    {"{\"main\": {\"type\": \"parasol\"}}", "main.type", "parasol",
     "\"flat circular\", \"conical\""},
    {"{\"main\": {\"area_basis\": \"cloth\"}}", "main.area_basis", "cloth", "\"nominal\""},
    {"{\"main\": {\"held\": \"nose\"}}", "main.held", "nose", "\"bundle\""},
    {"{\"main\": {\"drag_area\": \"3.6 m2\"}}", "main", NULL, "exactly one of"},
    {"{\"main\": {\"rate\": {\"speed\": \"18 ft/s\", \"mass\": \"18 lb\"}}}", "main", NULL,
     "exactly one of"},
    {"{\"main\": {\"area\": \"4 m2\"}}", "main", NULL, "exactly one of"},
    {"{\"main\": {\"diameter\": null}}", "main", NULL, "needs its diameter"},
    {"{\"main\": {\"area_basis\": null}}", "main", NULL, "area_basis is needed"},
    {"{\"main\": {\"drag_coefficient\": null, \"type\": null}}", "main", NULL,
     "or at least the type"},
    {"{\"main\": {\"drag_coefficient\": null, \"diameter\": null}}", "main", NULL,
     "exactly one of"},
    {"{\"main\": {\"spill_hole\": \"96 inch\"}}", "main", NULL, "spill hole"},
    {"{\"main\": {\"type\": \"streamer\"}}", "main", NULL, "streamer"},
    {"{\"main\": {\"length\": \"3 m\"}}", "main", NULL, "of a streamer"},
    {"{\"main\": {\"diameter\": null, \"drag_coefficient\": null, \"rate\": {\"speed\": \"18 "
     "ft/s\"}}}",
     "main.rate.mass", NULL, "required"},
    {"{\"drogue\": null, \"main\": null}", "main", NULL, "no canopy"},
    {"{\"altimeters\": null}", "altimeters[0].main_height", NULL,
     "required with a drogue and a main"},
    {"{\"altimeters\": [{\"name\": \"a\"}]}", "altimeters[0].main_height", NULL,
     "required with a drogue and a main"},
    /* what must be there */
    {"{\"site\": null, \"wind\": {\"observations\": null}}", "site", NULL, "required"},
    {"{\"site\": {\"latitude\": null}}", "site.latitude", NULL, "required"},
    {"{\"rocket\": {\"mass\": null}}", "rocket.mass", NULL, "required"},
    {"{\"apogee\": {\"height\": null}}", "apogee.height", NULL, "required"},
    {"{\"wind\": null}", "wind", NULL, "required"},
    {"{\"wind\": {\"profiles\": null, \"surface\": null}}", "wind", NULL, "no wind in it"},
    {"{\"wind\": {\"surface\": {\"speed\": null}}}", "wind.surface.speed", NULL, "required"},
    {"{\"charges\": {\"drogue\": {\"pressure\": \"15 psi\"}}}", "charges.drogue", NULL, "not both"},
    {"{\"heights\": {\"from\": \"2000 ft\"}}", "heights", NULL, "from not above to"},
    {"{\"heights\": {\"step\": \"1 m\"}}", "heights", NULL, "200 steps"},
    /* field */
    {"{\"field\": {\"radius\": \"2500 ft\"}}", "field", NULL, "one of boundary, radius, points"},
    {"{\"field\": {\"boundary\": null, \"points\": [[41, -96], [41.1, -96]]}}", "field.points",
     NULL, "3 to"},
    {"{\"field\": {\"boundary\": null, \"points\": [[41, -96], [41.1, -96], [410, -96]]}}",
     "field.points", NULL, "point 3"},
    {"{\"field\": {\"keep_out\": [{\"name\": \"crowd\", \"radius\": \"50 m\"}]}}",
     "field.keep_out[0]", NULL, "bearing, distance and radius"},
    {"{\"field\": {\"keep_out\": 5}}", "field.keep_out", "5", "text in quotes"},
    {"{\"site\": {\"pads\": [{\"name\": \"a\", \"latitude\": \"1 deg\", \"longitude\": \"1 deg\"}, "
     "{\"name\": \"a\", \"latitude\": \"1 deg\", \"longitude\": \"1 deg\"}]}}",
     "site.pads[1].name", "a", "two pads of one name"},
    {"{\"wind\": {\"surface\": {\"gust\": \"10 mph\"}}}", "wind.surface.gust", "10 mph",
     "less than the speed, 12 mph"},
};

START_TEST(one_thing_wrong)
{
    const size_t i = (size_t)_i;
    pappus_log log;
    pappus_plan *plan;
    ck_assert_msg(read_patched(&plan, bad[i].patch, NULL, &log) == PAPPUS_E_PLAN, "taken: %s",
                  bad[i].patch);
    ck_assert_ptr_null(plan);
    if (log.count != 1) show_log(&log);
    ck_assert_msg(log.count == 1, "%s: %zu lines", bad[i].patch, log.count);
    const pappus_error *error = &log.entries[0].error;
    ck_assert_int_eq(log.entries[0].severity, PAPPUS_FAULT);
    ck_assert_str_eq(error->file, "plans/t.json");
    ck_assert_str_eq(error->key, bad[i].key);
    if (bad[i].value) ck_assert_str_eq(error->value, bad[i].value);
    ck_assert_msg(strstr(error->message, bad[i].part) != NULL, "%s: %s", bad[i].patch,
                  error->message);
    ck_assert_ptr_null(strchr(error->message, '\n'));
    pappus_log_clear(&log);
}
END_TEST

START_TEST(all_at_once)
{
    pappus_log log;
    pappus_plan *plan;
    static const char patch[] =
        "{\"site\": {\"latitude\": 41.25, \"elevation\": \"286\"}, \"rocket\": {\"mass\": \"18 "
        "feet\"},"
        " \"mian\": 1, \"main\": {\"type\": \"parasol\"}, \"run\": {\"landings\": 7}}";
    ck_assert_int_eq(read_patched(&plan, patch, NULL, &log), PAPPUS_E_PLAN);
    ck_assert_uint_eq(pappus_log_faults(&log), 6);
    ck_assert(has_entry(&log, PAPPUS_FAULT, "site.latitude", "without its unit"));
    ck_assert(has_entry(&log, PAPPUS_FAULT, "site.elevation", "without its unit"));
    ck_assert(has_entry(&log, PAPPUS_FAULT, "rocket.mass", "is a length"));
    ck_assert(has_entry(&log, PAPPUS_FAULT, "mian", "main"));
    ck_assert(has_entry(&log, PAPPUS_FAULT, "main.type", "accepted"));
    ck_assert(has_entry(&log, PAPPUS_FAULT, "run.landings", "accepted"));
    pappus_log_clear(&log);
}
END_TEST

static const struct {
    const char *text, *key, *part;
} texts[] = {
    {"[]", "", "one JSON object"},
    {"{\"site\": {\"latitude\": \"1 deg\",}}", "line 1, column 31", "not valid JSON"},
    {"{\"title\": \"a\", \"title\": \"b\"}", "title", "given twice"},
    {"{\"site\": {\"latitude\": \"1 deg\", \"latitude\": \"2 deg\"}}", "site.latitude",
     "given twice"},
    {"{\"title\": \"\xFF\"}", "line 1, column 12", "UTF-8"},
};

START_TEST(twice_given_keys_and_settings_among_the_rest)
{
    pappus_log log = {0};
    pappus_plan *plan;
    static const char *const settings[] = {"main.diameter", "altimeters[7].works=0.5",
                                           "run.seed=-1"};
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    options.setting_count = 3;
    options.settings = settings;
    char *text = patched_plan("{\"rocket\": {\"mass\": 18}}");
    char *doubled = malloc(strlen(text) + 40);
    sprintf(doubled, "{\"title\": \"a\", %s", text + 1);
    ck_assert_int_eq(pappus_plan_parse(&plan, doubled, strlen(doubled), "t.json", &options, &log),
                     PAPPUS_E_PLAN);
    ck_assert_uint_eq(log.count, 5);
    ck_assert(has_entry(&log, PAPPUS_FAULT, "title", "given twice"));
    ck_assert(has_entry(&log, PAPPUS_FAULT, "rocket.mass", "without its unit"));
    ck_assert(has_entry(&log, PAPPUS_FAULT, "run.seed", "whole number"));
    ck_assert(has_entry(&log, PAPPUS_FAULT, "", "KEY=VALUE"));
    ck_assert(has_entry(&log, PAPPUS_FAULT, "", "no such place"));
    pappus_log_clear(&log);
    free(doubled);
    free(text);
}
END_TEST

START_TEST(not_a_plan_at_all)
{
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        pappus_log log = {0};
        pappus_plan *plan;
        ck_assert_int_eq(
            pappus_plan_parse(&plan, texts[i].text, strlen(texts[i].text), "t.json", NULL, &log),
            PAPPUS_E_PLAN);
        ck_assert_str_eq(log.entries[0].error.key, texts[i].key);
        ck_assert_ptr_nonnull(strstr(log.entries[0].error.message, texts[i].part));
        pappus_log_clear(&log);
    }
    pappus_log log = {0};
    pappus_plan *plan;
    ck_assert_int_eq(pappus_plan_read(&plan, "/nowhere/plan.json", NULL, &log), PAPPUS_E_PLAN);
    ck_assert_ptr_nonnull(strstr(log.entries[0].error.message, "cannot be opened"));
    pappus_log_clear(&log);
}
END_TEST

START_TEST(settings_that_are_wrong)
{
    static const struct {
        const char *setting, *key, *part;
    } rows[] = {
        {"main.diameter", "", "KEY=VALUE"},
        {"=5", "", "KEY=VALUE"},
        {"main.diameter=96", "main.diameter", "without its unit"},
        {"main.diametre=96 inch", "main.diametre", "main.diameter"},
        {"altimeters[5].main_height=600 ft", "", "no such place"},
        {"title.x=5", "", "no such place"},
        {"main..diameter=5 ft", "", "no such place"},
        {"main[0]=5 ft", "", "no such place"},
        {"base=x.json", "", "no such place"},
        {"main.diameter=\xFF", "", "UTF-8"},
        {"run.seed=-1", "run.seed", "whole number"},
        {"altimeters.0.works=2", "altimeters[0].works", "0 to 1"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        pappus_log log;
        pappus_plan *plan;
        pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
        options.setting_count = 1;
        options.settings = &rows[i].setting;
        ck_assert_msg(read_patched(&plan, "{}", &options, &log) == PAPPUS_E_PLAN, "%s",
                      rows[i].setting);
        if (log.count != 1 || strcmp(log.entries[0].error.file, "--set") != 0) show_log(&log);
        ck_assert_uint_eq(log.count, 1);
        ck_assert_str_eq(log.entries[0].error.file, "--set");
        ck_assert_str_eq(log.entries[0].error.key, rows[i].key);
        ck_assert_msg(strstr(log.entries[0].error.message, rows[i].part) != NULL, "%s: %s",
                      rows[i].setting, log.entries[0].error.message);
        pappus_log_clear(&log);
    }
}
END_TEST

/* Warnings: allowed, but looks wrong. */
static const struct {
    const char *patch, *key, *part;
} doubtful[] = {
    {"{\"rocket\": {\"sections\": [{\"name\": \"a\", \"mass\": \"17 lb\"}]}}", "rocket.sections",
     "3 %"},
    {"{\"drogue\": {\"area_basis\": \"nominal\"}}", "drogue.drag_coefficient", "0.75 to 0.80"},
    {"{\"main\": {\"area_basis\": \"projected\"}}", "main.drag_coefficient", "1.53 to 1.78"},
    {"{\"main\": {\"drag_coefficient\": null}}", "main.drag_coefficient", "whole range"},
    {"{\"main\": {\"diameter\": \"60 inch\"}}", "main", "17 to 22 ft/s"},
    {"{\"drogue\": {\"diameter\": \"40 inch\"}}", "drogue", "70 to 100 ft/s"},
    {"{\"main\": {\"held_drag_area\": \"0.01 m2\"}}", "main.held_drag_area", "not used"},
    {"{\"main\": {\"held\": \"bundle\"}}", "main.held", "without drag"},
    {"{\"altimeters\": [{\"main_height\": \"250 ft\"}]}", "altimeters[0].main_height", "300 ft"},
    {"{\"altimeters\": [{\"main_height\": \"6000 ft\"}]}", "altimeters[0].main_height",
     "above the apogee"},
    {"{\"altimeters\": [{\"main_height\": \"500 ft\"}, {\"main_height\": \"600 ft\", "
     "\"drogue_delay\": \"1 s\"}]}",
     "altimeters[1].main_height", "before the primary"},
    {"{\"altimeters\": [{\"main_height\": \"500 ft\", \"drogue_delay\": \"1 s\"}, {}]}",
     "altimeters[1].drogue_delay", "before the primary"},
    {"{\"main\": null}", "altimeters[0].main_height", "no main"},
    {"{\"rocket\": {\"sections\": null}}", "rocket.sections", "whole mass in one piece"},
    {"{\"site\": {\"elevation\": \"1600 m\", \"pressure\": \"1013 hPa\"}}", "site.pressure",
     "station pressure"},
    {"{\"main\": {\"diameter\": null, \"drag_coefficient\": null, \"drag_area\": \"3.6 m2\", "
     "\"spill_hole\": \"5 inch\"}}",
     "main.spill_hole", "not used"},
};

START_TEST(warnings)
{
    pappus_log log;
    pappus_plan *plan;
    ck_assert_int_eq(read_patched(&plan, "{}", NULL, &log), PAPPUS_OK);
    if (log.count) show_log(&log);
    ck_assert_uint_eq(log.count, 0); /* the good plan gives none */
    pappus_plan_free(plan);
    for (size_t i = 0; i < sizeof doubtful / sizeof *doubtful; i++) {
        ck_assert_msg(read_patched(&plan, doubtful[i].patch, NULL, &log) == PAPPUS_OK, "%s",
                      doubtful[i].patch);
        if (!has_entry(&log, PAPPUS_WARNING, doubtful[i].key, doubtful[i].part)) {
            show_log(&log);
            ck_abort_msg("no warning for %s", doubtful[i].patch);
        }
        pappus_plan_free(plan);
        pappus_log_clear(&log);
    }
}
END_TEST

SUITE("plan faults")
{
    tcase_add_loop_test(tests, one_thing_wrong, 0, (int)(sizeof bad / sizeof *bad));
    tcase_add_test(tests, all_at_once);
    tcase_add_test(tests, twice_given_keys_and_settings_among_the_rest);
    tcase_add_test(tests, not_a_plan_at_all);
    tcase_add_test(tests, settings_that_are_wrong);
    tcase_add_test(tests, warnings);
    pappus_quiet_dependencies();
}
