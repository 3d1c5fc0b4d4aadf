# SPDX-License-Identifier: GPL-3.0-or-later
"""Small GRIB files made with ecCodes' tools, and their values at a place by formulas of
our own: an outside reference for the reader. All winds in them are invented."""
import math
import pathlib
import subprocess

SAMPLES = pathlib.Path("/usr/share/eccodes/samples")
RADIUS_M = 6367470.0  # of the samples' sphere; only ratios of lengths count here


def run(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def points(path, count=1):
    """(latitude, longitude, value) of every point of a field, as ecCodes decodes it."""
    rows = []
    for line in run("grib_get_data", "-w", f"count={count}", str(path)).splitlines():
        cells = line.split()
        if len(cells) == 3 and cells[0][0] in "-0123456789":
            rows.append(tuple(map(float, cells)))
    return rows


def make(path, sample, fields, common=None):
    """Writes a file of several fields. Each is (keys, function of latitude and longitude);
    `common` are keys of all. Grid keys go first: they decide how many values there are."""
    path = pathlib.Path(path)
    path.unlink(missing_ok=True)
    template = path.with_suffix(".template")
    rules = path.with_suffix(".rules")
    grid = {**(common or {})}
    size = int(grid.get("Ni", grid.get("Nx", 0))) * int(grid.get("Nj", grid.get("Ny", 0)))
    text = "".join(f"set {k} = {v};\n" for k, v in grid.items())
    if size and "grib2" in sample:
        text += f"set numberOfDataPoints = {size};\n"
    if size:
        text += "set values = {" + ",".join(["1"] * (size - 1) + ["2"]) + "};\n"
    rules.write_text(text + "write;\n")
    run("grib_filter", "-o", str(template), str(rules), str(SAMPLES / sample))
    where = points(template)
    with open(path, "ab") as out:
        for keys, function in fields:
            values = ",".join(f"{function(la, lo):.9g}" for la, lo, _ in where)
            text = "".join(f"set {k} = {v};\n" for k, v in keys.items())
            rules.write_text(f"{text}set bitsPerValue = 24;\nset values = {{{values}}};\nwrite;\n")
            one = path.with_suffix(".one")
            run("grib_filter", "-o", str(one), str(rules), str(template))
            out.write(one.read_bytes())
            one.unlink()
    template.unlink()
    rules.unlink()
    return path


U2 = {"discipline": 0, "parameterCategory": 2, "parameterNumber": 2}
V2 = {"discipline": 0, "parameterCategory": 2, "parameterNumber": 3}
T2 = {"discipline": 0, "parameterCategory": 0, "parameterNumber": 0}
H2 = {"discipline": 0, "parameterCategory": 3, "parameterNumber": 5}
U1, V1, T1, H1 = ({"table2Version": 2, "centre": 7, "indicatorOfParameter": p} for p in (33, 34, 11, 7))


def isobaric2(hpa):
    return {"typeOfFirstFixedSurface": 100, "scaleFactorOfFirstFixedSurface": 0,
            "scaledValueOfFirstFixedSurface": int(100 * hpa)}


def above_ground2(metres):
    return {"typeOfFirstFixedSurface": 103, "scaleFactorOfFirstFixedSurface": 0,
            "scaledValueOfFirstFixedSurface": int(metres)}


def isobaric1(hpa):
    return {"indicatorOfTypeOfLevel": 100, "level": int(hpa)}


def lambert(latitude1, latitude2, longitude0):
    """Plane coordinates and convergence of a Lambert conformal conic on a sphere (M:
    Snyder, Map Projections: A Working Manual, USGS PP 1395, 1987, eq. 15-1 to 15-5)."""
    p1, p2 = math.radians(latitude1), math.radians(latitude2)
    t = lambda p: math.tan(math.pi / 4 + p / 2)
    n = math.sin(p1) if p1 == p2 else math.log(math.cos(p1) / math.cos(p2)) / math.log(t(p2) / t(p1))
    f = math.cos(p1) * t(p1) ** n / n

    def plane(latitude, longitude):
        rho = RADIUS_M * f / t(math.radians(latitude)) ** n
        theta = n * math.radians((longitude - longitude0 + 180) % 360 - 180)
        return rho * math.sin(theta), -rho * math.cos(theta), theta
    return plane


def polar(longitude0, south=False):
    """The same of a polar stereographic plane, scale left out (ibid., eq. 21-5, 21-6)."""
    def plane(latitude, longitude):
        s = -1 if south else 1
        rho = 2 * RADIUS_M * math.tan(math.pi / 4 - math.radians(s * latitude) / 2)
        theta = math.radians((longitude - longitude0 + 180) % 360 - 180)
        return rho * math.sin(theta), -s * rho * math.cos(theta), s * theta
    return plane


def mercator(latitude, longitude):
    return (RADIUS_M * math.radians(longitude % 360),
            RADIUS_M * math.log(math.tan(math.pi / 4 + math.radians(latitude) / 2)), 0.0)


def geographic(latitude, longitude):
    return longitude % 360, latitude, 0.0


def at_place(plane, fields, latitude, longitude):
    """Bilinear on the plane of u and v, each a list of (latitude, longitude, value), turned
    to true north at each of the four points; with one field its plain value. The four are
    the corners of the smallest box about the place among the points' own coordinates."""
    where = [plane(la, lo) for la, lo, _ in fields[0]]
    x, y, _ = plane(latitude, longitude)
    columns = sorted({round(p[0], 4) for p in where})
    rows = sorted({round(p[1], 4) for p in where})
    columns, rows = merge(columns), merge(rows)
    x0 = max(c for c in columns if c <= x + 1e-9)
    x1 = min(c for c in columns if c > x0 + 1e-9)
    y0 = max(r for r in rows if r <= y + 1e-9)
    y1 = min(r for r in rows if r > y0 + 1e-9)
    result = [0.0] * len(fields)
    for cx, wx in ((x0, (x1 - x) / (x1 - x0)), (x1, (x - x0) / (x1 - x0))):
        for cy, wy in ((y0, (y1 - y) / (y1 - y0)), (y1, (y - y0) / (y1 - y0))):
            i = min(range(len(where)), key=lambda k: (where[k][0] - cx) ** 2 + (where[k][1] - cy) ** 2)
            values = [f[i][2] for f in fields]
            if len(values) == 2:
                a, (u, v) = where[i][2], values
                # the meridian stands at -theta from the grid's y (clockwise): true north
                # lies to the left of y east of the central meridian
                values = [u * math.cos(a) + v * math.sin(a), -u * math.sin(a) + v * math.cos(a)]
            for k, value in enumerate(values):
                result[k] += wx * wy * value
    return result


def merge(sorted_values, share=0.2):
    """One value for each cluster: coordinates that differ by rounding only."""
    gap = share * (sorted_values[-1] - sorted_values[0]) / max(1, len(sorted_values) ** 0.5)
    steps = sorted(b - a for a, b in zip(sorted_values, sorted_values[1:]))
    gap = 0.2 * steps[-1] if steps else gap
    clusters = [[sorted_values[0]]]
    for value in sorted_values[1:]:
        if value - clusters[-1][-1] > gap:
            clusters.append([])
        clusters[-1].append(value)
    return [sum(c) / len(c) for c in clusters]
