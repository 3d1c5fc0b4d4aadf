/* SPDX-License-Identifier: GPL-3.0-or-later
 * The law of a profile's error over height and age: standard deviation,
 * correlation, tails, and what measured winds do to its spread. */
#ifndef PAPPUS_AIR_WIND_ERROR_H
#define PAPPUS_AIR_WIND_ERROR_H

#include <pappus/plan.h>

/** Per component; the keys of a plan's `wind` have the same names. */
typedef struct {
    double error_mps;            /**< standard deviation when fresh */
    double growth_mps;           /**< what an hour adds, in quadrature; as the cube root of age */
    double ground_factor;        /**< standard deviation at the ground over that from 400 m up */
    double top_factor;           /**< the same at 4500 m over that up to 2000 m */
    double correlation_growth_m; /**< correlation length of an hour; as the square root of age */
    double correlation_height_m; /**< the correlation length itself; NaN: by age */
    double decoupling;           /**< what the surface layer takes off, in correlation lengths */
    double speed_share;          /**< of the growth's variance, that goes with the wind aloft */
    double dof;                  /**< of the Student law, above 2; PAPPUS_NORMAL_DOF: normal */
} pappus_wind_error;

/* Defaults, each from section 11 of the measured winds (head of wind_error.c). */
#define PAPPUS_WIND_ERROR_MPS 1.0
#define PAPPUS_GROUND_FACTOR 0.5
#define PAPPUS_TOP_FACTOR 1.25
#define PAPPUS_CORRELATION_GROWTH_M 500.0
#define PAPPUS_DECOUPLING 0.2
#define PAPPUS_SPEED_SHARE 0.3
#define PAPPUS_WIND_ERROR_DOF 8.0

/** The law of a plan for one kind of wind. */
pappus_wind_error pappus_wind_error_of(const pappus_wind_plan *plan, pappus_wind_kind kind);

/** Heights over which the wind aloft is the mean vector: the midpoint rule from 250 to 3250 m. */
#define PAPPUS_ALOFT_HEIGHTS 6
extern const double pappus_aloft_heights_m[PAPPUS_ALOFT_HEIGHTS];
/** Factor of the growth's variance when the mean wind aloft is aloft_mps; 1 at 8 m/s. */
double pappus_wind_error_speed_factor(const pappus_wind_error *law, double aloft_mps);

/** Factor of the standard deviation at a height above the pad. */
double pappus_wind_error_height_factor(const pappus_wind_error *law, double height_m);
/** Standard deviation of a component at a height and age. */
double pappus_wind_error_sd_mps(const pappus_wind_error *law, double height_m, double age_h);
/** Correlation length aloft at an age. */
double pappus_wind_error_length_m(const pappus_wind_error *law, double age_h);
/** Height in correlation lengths: the correlation of two heights is exp of minus the
 * distance between theirs, so that the error is a Markov process over height. */
double pappus_wind_error_depth(const pappus_wind_error *law, double height_m, double age_h);
double pappus_wind_error_correlation(const pappus_wind_error *law, double height1_m,
                                     double height2_m, double age_h);

/** What measured winds make of the variance beside the normal law's: count of their
 * components, square of their Mahalanobis distance from what was expected. Over 1: they
 * contradict it. */
double pappus_wind_error_widening(double dof, int components, double distance2);
/** Logarithm of the density of measured winds, but for a constant; log_determinant: of
 * their covariance, of all components. */
double pappus_wind_error_log_density(double dof, int components, double distance2,
                                     double log_determinant);

#endif
