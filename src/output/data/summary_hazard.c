/* SPDX-License-Identifier: GPL-3.0-or-later
 * Hazard and risk in the summary: contours by level, and what is behind the chance of each
 * keep-out area. */
#include "summary_hazard.h"

#include <math.h>

static void add_contours(json_builder *build, cJSON *to, const pappus_hazard *hazard)
{
    cJSON *list = json_add_array(build, to, "contours");
    for (size_t l = 0; l < hazard->contour_count; l++) {
        const pappus_hazard_contour *contour = &hazard->contours[l];
        cJSON *item = json_append_object(build, list);
        json_add_number(build, item, "level", contour->level);
        json_add_number(build, item, "area_m2", contour->area_m2);
        json_add_count(build, item, "parts", contour->shape.polygon_count);
    }
}

static void add_field(json_builder *build, cJSON *root, const pappus_hazard *hazard)
{
    cJSON *to = json_add_object(build, root, "hazard");
    json_add_number(build, to, "person_area_m2", PAPPUS_PERSON_AREA_M2);
    json_add_number(build, to, "hurts_above_j", PAPPUS_HURTS_J);
    json_add_number(build, to, "highest", hazard->contour_count > 0 ? hazard->highest : NAN);
    add_contours(build, to, hazard);
    cJSON *shares = json_add_object(build, to, "hurting_share");
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        json_add_number(build, shares, pappus_outcome_text((pappus_outcome)h), hazard->hurting[h]);
    json_add_count(build, to, "landings", hazard->landings);
    json_add_bool(build, to, "failed", hazard->failed);
}

static void add_wind(json_builder *build, cJSON *to, const char *key, double speed_mps,
                     double from_deg)
{
    if (isnan(speed_mps)) {
        json_add_null(build, to, key);
        return;
    }
    cJSON *wind = json_add_object(build, to, key);
    json_add_number(build, wind, "speed_mps", speed_mps);
    json_add_number(build, wind, "direction_deg", from_deg);
}

static void add_risk(json_builder *build, cJSON *list, const pappus_answer *answer, size_t k)
{
    const pappus_risk *risk = &answer->hazard->risks[k];
    const pappus_field *field = answer->field;
    cJSON *item = json_append_object(build, list);
    json_add_text(build, item, "name", field->keep_outs[k].name);
    json_add_number(build, item, "limit", pappus_keep_out_limit(field, answer->plan, k));
    json_add_number(build, item, "people",
                    field->keep_out_people ? field->keep_out_people[k] : NAN);
    json_add_number(build, item, "chance", risk->chance);
    json_add_text(build, item, "outcome",
                  risk->chance > 0.0 ? pappus_outcome_text(risk->outcome) : NULL);
    json_add_number(build, item, "outcome_share", risk->outcome_share);
    add_wind(build, item, "wind_there", risk->wind_mps, risk->wind_from_deg);
    add_wind(build, item, "wind_expected", risk->usual_mps, risk->usual_from_deg);
    json_add_text(build, item, "fault", pappus_fault_text(risk->fault));
    json_add_number(build, item, "fault_halved", risk->halved);
    json_add_number(build, item, "fault_doubled", risk->doubled);
    json_add_number(build, item, "hurting", risk->hurting);
    json_add_number(build, item, "casualties", risk->casualties);
    json_add_count(build, item, "landings", risk->landings);
    json_add_count(build, item, "hits", risk->hits);
    json_add_number(build, item, "effective_hits", risk->effective);
}

void summary_add_hazard(json_builder *build, cJSON *root, const pappus_answer *answer)
{
    const pappus_hazard *hazard = answer->hazard;
    if (!hazard) {
        json_add_null(build, root, "hazard");
        json_add_null(build, root, "risk");
        return;
    }
    add_field(build, root, hazard);
    cJSON *risk = json_add_object(build, root, "risk");
    json_add_number(build, risk, "casualties", hazard->casualties);
    cJSON *list = json_add_array(build, risk, "areas");
    for (size_t k = 0; k < hazard->area_count; k++)
        add_risk(build, list, answer, k);
}
