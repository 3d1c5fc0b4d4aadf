#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The drawn wind against SciPy's Student and F laws: the covariance is made here from the
design's formulas, the posterior by block elimination of the multivariate t (Roth, 2013:
nu + n degrees of freedom, covariance times (nu - 2 + d2)/(nu - 2 + n)).

Kolmogorov-Smirnov tests at 1e-4 each with a fixed seed (of 46 tests one in 200 suites of
other seeds would fail); they would tell a normal from a Student law of 8 degrees at once,
which is tested too. Sums with gusts have no closed form: their quantiles are compared
with the shares of the samples, to 4.5 standard errors.

usage: test_wind_scipy.py PAPPUS SOURCE_DIR (tool_wind lies beside PAPPUS)
"""
import os
import subprocess
import sys

import numpy as np
from scipy import stats

tool = os.path.join(os.path.dirname(sys.argv[1]), "tool_wind")
failures = []
LANDINGS = 40000
AGE_H, GROWTH, ERROR, GROUND, TOP, DECOUPLING, LOW = 4.0, 2.4, 1.0, 0.5, 1.25, 0.2, 50.0


def check(good, what):
    if not good:
        failures.append(what)


def run(dof, readings, gust):
    out = subprocess.run([tool, str(dof), str(readings), str(gust), str(LANDINGS)], check=True,
                         capture_output=True, text=True).stdout.splitlines()
    z = np.array(out[0].split(), float)
    wind = np.array([line.split() for line in out[1:-1]], float).reshape(-1, len(z), 2)
    last = np.array(out[-1].split(), float)
    return z, wind, last[0], last[1:].reshape(len(z), 3)


def mean_of(z):
    part = np.clip((z - LOW) / (3000 - LOW), 0, 1)
    shear = np.minimum(z / LOW, 1) ** 0.143
    return np.stack([(5 + 4 * part) * shear, (1 - 3 * part) * shear], axis=1)


def covariance(a, b):
    def sd(z):
        h = np.interp(np.maximum(z, LOW), [0, 400, 2000, 4500], [GROUND, 1, 1, TOP])
        return h * np.hypot(ERROR, GROWTH * np.cbrt(AGE_H)) * np.minimum(z / LOW, 1) ** 0.143

    def depth(z):
        return z / (500 * np.sqrt(AGE_H)) + DECOUPLING * (1 - np.exp(-z / 60))
    return sd(a)[:, None] * sd(b) * np.exp(-abs(depth(a)[:, None] - depth(b)))


def from_(speed, direction):
    a = np.radians(direction)
    return [-speed * np.sin(a), -speed * np.cos(a)]


def law(z, dof, readings):
    """Mean [z, 2], covariance [z, z], degrees of freedom, widening."""
    mean, cov = mean_of(z), covariance(z, z)
    if not readings:
        return mean, cov, dof, 1.0
    at = np.array([50.0, 500.0])
    y = np.array([from_(9, 200), from_(11, 250)])
    a = covariance(at, at) + np.diag([1.0, 0.25])
    gain = np.linalg.solve(a, covariance(at, z)).T
    off = y - mean_of(at)
    d2 = np.sum(off * np.linalg.solve(a, off))
    widening = 1.0 if dof >= 1e6 else (dof - 2 + d2) / (dof - 2 + 4)
    return mean + gain @ off, widening * (cov - gain @ covariance(at, z)), dof + 4, widening


def compare(dof, readings):
    what = f"dof {dof}, readings {readings}: "
    z, wind, widening, quantiles = run(dof, readings, 0)
    mean, cov, nu, expected = law(z, dof, readings)
    normal = nu >= 1e6
    check(abs(widening - expected) < 1e-9, what + f"widening {widening}, expected {expected}")
    unit = np.sqrt(np.diag(cov)) * (1 if normal else np.sqrt((nu - 2) / nu))
    one = stats.norm() if normal else stats.t(nu)
    for i in range(len(z)):
        for c in range(2):
            p = stats.kstest((wind[:, i, c] - mean[i, c]) / unit[i], one.cdf).pvalue
            check(p > 1e-4, what + f"{'uv'[c]} at {z[i]:.0f} m, p {p:.2g}")
        for q, p in zip(quantiles[i], (0.01, 0.3, 0.9)):
            check(abs(q - (mean[i, 0] + unit[i] * one.ppf(p))) < 1e-6, what + f"quantile {p}")
    # Both components at all heights have one scale: their Mahalanobis distance is of F's law
    # (X: chi-square when normal), which independent scales would not give.
    x = wind - mean
    d2 = np.einsum("nic,ij,njc->n", x, np.linalg.inv(cov), x)
    m = 2 * len(z)
    whole = stats.chi2(m).cdf if normal else lambda q: stats.f(m, nu).cdf(q * nu / (nu - 2) / m)
    p = stats.kstest(d2, whole).pvalue
    check(p > 1e-4, what + f"distance of the whole profile, p {p:.2g}")
    if dof == 8:
        check(stats.kstest(d2, stats.chi2(m).cdf).pvalue < 1e-12, what + "a normal law passes too")
    # Sampled covariance to 4.5 standard errors: of x y its variance is by the fourth moments
    # of a Student law, (nu - 2)/(nu - 4) (c_ii c_jj + 2 c_ij^2) - c_ij^2 (X).
    ratio = 1 if normal else (nu - 2) / (nu - 4)
    for c in range(2):
        sampled = x[:, :, c].T @ x[:, :, c] / len(x)
        error = np.sqrt((ratio * (np.outer(np.diag(cov), np.diag(cov)) + 2 * cov**2) - cov**2)
                        / len(x))
        check(np.all(abs(sampled - cov) < 4.5 * error), what + f"covariance of {'uv'[c]}")


for dof in (4.5, 8, 40, 1e6):
    for readings in (0, 1):
        compare(dof, readings)

z, wind, widening, quantiles = run(8, 1, 4.5)
for i in range(len(z)):
    for q, p in zip(quantiles[i], (0.01, 0.3, 0.9)):
        share = np.mean(wind[:, i, 0] < q)
        check(abs(share - p) < 4.5 * np.sqrt(p * (1 - p) / LANDINGS), f"gust: {share} below {p}")

for failure in failures:
    print(failure)
sys.exit(1 if failures else 0)
