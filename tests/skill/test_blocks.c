/* SPDX-License-Identifier: GPL-3.0-or-later
 * The covariance of a sum by circular blocks of days against the definition written out
 * (Kuensch, Annals of Statistics 17:1217, 1989): every block of b days that begins at any
 * day, b the cube root of the days and 5 at least. */
#include "blocks.h"
#include "suite.h"

#include <math.h>
#include <stdint.h>

#define MOST 400

static double written_out(const double *sums, size_t days, size_t length)
{
    double mean = 0.0, square = 0.0;
    for (size_t d = 0; d < days; d++)
        mean += sums[d] / (double)days;
    for (size_t first = 0; first < days; first++) {
        double block = 0.0;
        for (size_t k = 0; k < length; k++)
            block += sums[(first + k) % days] - mean;
        square += block * block / (double)days;
    }
    double blocks = (double)days / (double)length;
    return blocks * square * blocks / (blocks - 1.0);
}

static const struct {
    size_t days, length;
} cases[] = {{20, 5}, {30, 5}, {100, 5}, {210, 6}, {217, 7}, {400, 8}, {12, 3}, {4, 1}};

START_TEST(as_the_definition_says)
{
    double sums[MOST] = {0}, out;
    uint64_t state = 3;
    for (size_t d = 0; d < cases[_i].days; d++) {
        state = state * 6364136223846793005u + 1442695040888963407u;
        double noise = (double)(state >> 11) / 9007199254740992.0 - 0.5;
        sums[d] = noise + (d > 0 ? 0.7 * sums[d - 1] : 0.0); /* days in a row are alike */
    }
    pappus_block_covariance(&out, sums, cases[_i].days, 1);
    double expected = written_out(sums, cases[_i].days, cases[_i].length);
    ck_assert_double_eq_tol(out, expected, 1e-9 * expected);
    ck_assert_double_eq_tol(pappus_block_count(cases[_i].days),
                            (double)cases[_i].days / (double)cases[_i].length, 1e-12);
}
END_TEST

SUITE("blocks")
{
    tcase_add_loop_test(tests, as_the_definition_says, 0, (int)(sizeof cases / sizeof *cases));
}
