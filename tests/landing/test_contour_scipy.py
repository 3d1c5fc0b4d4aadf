#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The gridded density and its contours against scipy.

1. The same estimator summed kernel by kernel with scipy.stats.multivariate_normal,
   without grid: pilot, widening, leave-one-out. Differs by binning and reading
   between nodes only.
2. scipy.stats.gaussian_kde (Scott's bandwidth), another estimator of the same
   density: areas of its highest-density regions (Hyndman 1996) agree.
Arguments: the pappus binary (tool_contour stands beside it), the source folder.
"""
import os
import subprocess
import sys

import numpy as np
from scipy.stats import gaussian_kde, multivariate_normal


def run(tool, shape):
    lines = subprocess.run([tool, shape], check=True, capture_output=True, text=True).stdout
    rows = {"bandwidth": [], "landing": [], "contour": []}
    for line in lines.splitlines():
        word, *numbers = line.split()
        rows[word].append([float(number) for number in numbers])
    return {word: np.array(numbers) for word, numbers in rows.items()}


def kernels(points, bandwidth, axis):
    """The matrix K[i, j] of the kernel of width factor 1 ... of point j at point i."""
    axes = np.array([[axis[0], -axis[1]], [axis[1], axis[0]]])
    apart = points[:, None, :] - points[None, :, :]

    def matrix(factor):
        covariance = axes @ np.diag((np.asarray(bandwidth) * factor) ** 2) @ axes.T
        return multivariate_normal([0.0, 0.0], covariance).pdf(apart)

    return matrix


def direct(points, bandwidth, axis):
    """Density at the points by all, and by all others."""
    n = len(points)
    matrix = kernels(points, bandwidth, axis)
    pilot = matrix(1.0).sum(axis=1) / n
    steps = np.clip(np.round(np.log2(np.exp(np.log(pilot).mean()) / pilot)), 0, 2)
    each = np.empty((n, n))
    for step in range(3):
        chosen = steps == step
        each[:, chosen] = matrix(2.0 ** (0.5 * step))[:, chosen]
    total = each.sum(axis=1)
    return total / n, (total - np.diag(each)) / (n - 1)


def region_areas(points, levels):
    """Areas of highest density by gaussian_kde on a fine mesh, leave-one-out."""
    kde = gaussian_kde(points.T)
    n = len(points)
    own = 1.0 / (2.0 * np.pi * np.sqrt(np.linalg.det(kde.covariance)))
    others = (kde(points.T) * n - own) / (n - 1)
    low, high = points.min(axis=0) - 150.0, points.max(axis=0) + 150.0
    step = 4.0
    mesh = np.meshgrid(np.arange(low[0], high[0], step), np.arange(low[1], high[1], step))
    density = kde(np.vstack([mesh[0].ravel(), mesh[1].ravel()]))
    return [float((density >= np.quantile(others, 1.0 - p)).sum()) * step**2 for p in levels]


def check(name, found, wanted, tolerance):
    worst = float(np.max(np.abs(np.asarray(found) - wanted) / np.asarray(wanted)))
    print(f"{name}: worst {worst:.4f}, allowed {tolerance}")
    return worst <= tolerance


def check_threshold(name, threshold, rest, level):
    """The density of the landing of rank (1 - p) n, give or take the four strays that the
    grid leaves out (one at each end of each axis) and 2 % for the grid."""
    ordered = np.sort(rest)
    rank = int(round((1.0 - level) * len(rest)))
    low, high = 0.98 * ordered[rank - 1 - 4], 1.02 * ordered[rank - 1 + 4]
    print(f"{name}: {threshold:.4g}, allowed {low:.4g} to {high:.4g}")
    return low <= threshold <= high


def main():
    tool = os.path.join(os.path.dirname(os.path.abspath(sys.argv[1])), "tool_contour")
    good = True
    for shape in ("gaussian", "lobes"):
        rows = run(tool, shape)
        points, at, others = rows["landing"][:, :2], rows["landing"][:, 2], rows["landing"][:, 3]
        bandwidth = rows["bandwidth"][0]
        total, rest = direct(points, bandwidth[:2], bandwidth[2:])
        core = total >= np.quantile(total, 0.02)  # strays are left out of the grid
        # Binning and reading add step^2 / 3 = h^2 / 27 to a kernel's h^2: 2 % of the
        # curvature's share, and a landing near a step of the widening may take the
        # neighbouring one.
        good &= check(f"{shape} density", at[core], total[core], 0.06)
        good &= check(f"{shape} density, mean", at[core].mean(), total[core].mean(), 0.01)
        good &= check(f"{shape} leave-one-out", others[core].mean(), rest[core].mean(), 0.01)
        for level, threshold, area, parts in rows["contour"]:
            good &= check_threshold(f"{shape} threshold {level}", threshold, rest, level)
            if shape == "lobes" and level < 0.95:  # from there on the rims may meet
                good &= check("parts", parts, 2, 0)
    rows = run(tool, "gaussian")
    levels, areas = rows["contour"][:, 0], rows["contour"][:, 2]
    exact = 2.0 * np.pi * 120.0 * 60.0 * -np.log1p(-levels)
    # two estimates from the same 2000 landings: the scatter of an area is about
    # 1 / sqrt(n (1 - p)), 3 to 22 %, much of it common to both
    others = region_areas(rows["landing"][:, :2], levels)
    for level, area, other, true in zip(levels, areas, others, exact):
        scatter = 1.0 / np.sqrt(2000 * (1.0 - level))
        good &= check(f"area {level} against gaussian_kde", area, other, 0.02 + scatter)
        good &= check(f"area {level} against the closed form", area, true, 0.02 + 2.0 * scatter)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
