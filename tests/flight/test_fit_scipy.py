# SPDX-License-Identifier: GPL-3.0-or-later
"""The robust line against SciPy's least_squares with Huber's loss at the same scale (the same
convex sum, so the same minimum), and the knot of two lines against a search with SciPy, on a
dozen logs with noise, spikes and dropouts.

usage: test_fit_scipy.py PAPPUS SOURCE_DIR (the tools lie beside PAPPUS)"""
import os
import subprocess
import sys

import numpy as np
from scipy import optimize

HERE = os.path.dirname(os.path.abspath(sys.argv[1]))
HUBER = 1.345


def flown(seed):
    done = subprocess.run([os.path.join(HERE, "tool_flown"), f"seed={seed}", "rate=20",
                           f"noise={0.2 + 0.1 * seed}", f"drogue={0.15 + 0.02 * seed}"],
                          capture_output=True, text=True, check=True)
    rows = np.array([[float(c) for c in line.split(",")] for line in done.stdout.splitlines()[1:]])
    top = rows[np.argmax(rows[:, 1])]
    rows = rows[(rows[:, 0] > top[0] + 8) & (rows[:, 1] > 15)]  # the fall
    random = np.random.default_rng(seed)
    rows = rows[random.random(len(rows)) > 0.1]
    spikes = random.random(len(rows)) < 0.08
    rows[spikes, 1] += random.choice([-60, 80], spikes.sum())
    return rows


def fitted(rows):
    text = "".join(f"{t!r} {h!r}\n" for t, h in rows.tolist())
    done = subprocess.run([os.path.join(HERE, "tool_line")], input=text, capture_output=True,
                          text=True, check=True)
    return [[float(x) for x in line.split()] for line in done.stdout.splitlines()]


def by_scipy(rows, scale, start):
    t = rows[:, 0] - rows[:, 0].mean()
    found = optimize.least_squares(lambda p: p[0] + p[1] * t - rows[:, 1], start, loss="huber",
                                   f_scale=HUBER * scale, xtol=1e-15, ftol=1e-15, gtol=1e-12)
    return found.x


def knot_by_scipy(rows, scale):
    """Least of the Huber loss over where two lines meet."""
    t, y = rows[:, 0], rows[:, 1]

    def loss(knot):
        basis = np.column_stack([np.ones_like(t), t - knot, np.maximum(t - knot, 0)])
        start = np.linalg.lstsq(basis, y, rcond=None)[0]
        return optimize.least_squares(lambda p: basis @ p - y, start, loss="huber",
                                      f_scale=HUBER * scale)
    net = np.linspace(t[0] + 3, t[-1] - 3, 60)
    coarse = net[np.argmin([loss(k).cost for k in net])]
    step = net[1] - net[0]
    found = optimize.minimize_scalar(lambda k: loss(k).cost, method="bounded",
                                     bounds=(coarse - step, coarse + step))
    _, before, more = loss(found.x).x
    return found.x, before, before + more


failures = 0
for seed in range(12):
    rows = flown(seed)
    # the steady part alone: the first half is under the drogue
    drogue = rows[rows[:, 1] > 230]
    (_, value, slope, slope_sd, scale), _ = fitted(drogue)
    offset, same = by_scipy(drogue, scale, [drogue[:, 1].mean(), -20])
    good = abs(slope - same) < 1e-6 * abs(same) and slope_sd < 0.2
    _, (knot, before, after) = fitted(rows)
    spread = 0.2 + 0.1 * seed
    k, b, a = knot_by_scipy(rows, spread)
    # a knot is at a sample here and anywhere there; the opening bends the corner
    near = abs(knot - k) < 0.3 and abs(before - b) < 0.02 * abs(b) and abs(after - a) < 0.03 * abs(a)
    if not (good and near):
        failures += 1
        print(f"log {seed}: slope {slope} and {same} (sd {slope_sd}), knot {knot} and {k}, "
              f"slopes {before} {after} and {b} {a}")
print(f"{12 - failures} of 12 logs agree")
sys.exit(failures > 0)
