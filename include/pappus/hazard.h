/* SPDX-License-Identifier: GPL-3.0-or-later
 * Hazard: chances too small to be counted, and where not to stand. Conventions: pappus.h. */
#ifndef PAPPUS_HAZARD_H
#define PAPPUS_HAZARD_H

#include <pappus/givens.h>
#include <pappus/hits.h>

#ifdef __cplusplus
extern "C" {
#endif

/** A person stands on this much ground (our assumption). */
#define PAPPUS_PERSON_AREA_M2 4.0
/** Energy at touchdown above which a person is taken to be hurt: 11 ft lbf. From memory of
 * RCC 321 (Common Risk Criteria Standards for National Test Ranges); not re-read. */
#define PAPPUS_HURTS_J (11.0 * 1.3558179483314004)

/** Chances per flight that contours are drawn at. */
#define PAPPUS_HAZARD_LEVEL_LIST(X) X(1e-4) X(1e-5) X(1e-6) X(1e-7)
#define PAPPUS_HAZARD_LEVELS 4
extern const double pappus_hazard_levels[PAPPUS_HAZARD_LEVELS];

/** Where the chance per flight that a person standing there is hit reaches a level. */
typedef struct {
    double level, area_m2;
    pappus_area shape; /**< no polygon: it is reached nowhere */
} pappus_hazard_contour;

/** Faults whose chance the plan gives, as its keys have them. */
#define PAPPUS_FAULT_LIST(X)                                                                       \
    X(ALTIMETERS, "works")                                                                         \
    X(NO_POWER, "no_power")                                                                        \
    X(DROGUE_FAILS, "drogue_fails")                                                                \
    X(MAIN_FAILS, "main_fails")                                                                    \
    X(MAIN_EARLY, "main_early")

typedef enum {
#define PAPPUS_FAULT_ENUM(name, text) PAPPUS_FAULT_##name,
    PAPPUS_FAULT_LIST(PAPPUS_FAULT_ENUM)
#undef PAPPUS_FAULT_ENUM
        PAPPUS_FAULTS
} pappus_fault;

/** Static. */
const char *pappus_fault_text(pappus_fault fault);

/** What is behind the chance of one keep-out area. */
typedef struct {
    double chance;                  /**< per flight, as pappus_hits_keep_out has it */
    pappus_outcome outcome;         /**< that most of it comes from */
    double outcome_share;           /**< of the chance */
    double wind_mps, wind_from_deg; /**< mean over the fall of that outcome's landings there; NaN */
    double usual_mps, usual_from_deg; /**< the same of all its landings */
    pappus_fault fault;               /**< whose chance tells most; PAPPUS_FAULTS: none does */
    double halved, doubled; /**< the chance where that fault is half and twice as likely */
    double hurting;         /**< chance of a landing there that would hurt a person */
    double casualties;      /**< persons hit per flight; NaN: nobody is said to be there */
    size_t landings, hits;  /**< led for it, over all outcomes, and those on it */
    double effective;       /**< hits of equal weight that tell as much; 0: only counted */
} pappus_risk;

typedef struct pappus_hazard_field pappus_hazard_field;

typedef struct {
    size_t area_count;
    pappus_risk *risks;              /**< one for each keep-out area of the field */
    double casualties;               /**< over the areas with people; NaN: there are none */
    double hurting[PAPPUS_OUTCOMES]; /**< share of an outcome's landings that would hurt */
    size_t landings;                 /**< led, in all */
    size_t unled;         /**< areas, of one outcome the most, that only the counted ones tell of,
                               as there are too many to lead landings to each */
    bool failed;          /**< a led landing could not be computed: what was counted speaks */
    size_t contour_count; /**< 0: no field was asked for */
    pappus_hazard_contour contours[PAPPUS_HAZARD_LEVELS];
    double highest;             /**< of the field */
    pappus_hazard_field *field; /**< NULL: not asked for */
} pappus_hazard;

typedef struct {
    pappus_run run;
    bool field;      /**< contours, and pappus_hazard_at */
    unsigned effort; /**< times the landings that are usual */
} pappus_hazard_options;
#define PAPPUS_HAZARD_OPTIONS_INIT                                                                 \
    {                                                                                              \
        PAPPUS_RUN_INIT, true, 1                                                                   \
    }

/** Leads landings onto each keep-out area that counted ones hit too seldom to tell, puts
 * what they say into the hits, and finds the hazard. cloud and hits: of these givens. */
int pappus_hazard_find(pappus_hazard **out, pappus_hits *hits, const pappus_givens *given,
                       const pappus_cloud *cloud, const pappus_hazard_options *options,
                       pappus_error *err);
void pappus_hazard_free(pappus_hazard *hazard);

/** Chance per flight that a person standing at a place is hit; 0 without a field. */
double pappus_hazard_at(const pappus_hazard *hazard, double east_m, double north_m);
/** The part of it that one outcome has. */
double pappus_hazard_of(const pappus_hazard *hazard, pappus_outcome outcome, double east_m,
                        double north_m);

#ifdef __cplusplus
}
#endif
#endif
