#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""GRIB at a place against ecCodes' decoding (the outside reference) and formulas of map
projections (Snyder 1987, from memory): u, v within 0.01 m/s, heights within 0.1 m."""
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import grib_files as g

TOOL = pathlib.Path(sys.argv[1]).parent / "tool_grib"
failures = []


def check(good, *what):
    if not good:
        failures.append(what)
        print("FAILED", *what)


def read(path, latitude, longitude):
    done = subprocess.run([TOOL, path, str(latitude), str(longitude)], capture_output=True, text=True)
    rows = [line.split() for line in done.stdout.splitlines()]
    return done.returncode, [r[:3] + [float(x) for x in r[3:]] for r in rows], done.stderr.strip()


def u_of(la, lo):
    return 8 + 0.12 * la - 3 * math.sin(math.radians(lo)) + 0.001 * la * la


def v_of(la, lo):
    return -4 + 0.05 * la + 6 * math.cos(math.radians(2 * lo))


def t_of(la, lo):
    return 273.15 + 0.2 * la


def h_of(la, lo):
    return 5500 - 8 * la + 20 * math.sin(math.radians(lo))


def fields2(hpa):
    return [({**k, **g.isobaric2(hpa)}, f)
            for k, f in ((g.H2, h_of), (g.T2, t_of), (g.U2, u_of), (g.V2, v_of))]


def fields1(hpa):
    return [({**k, **g.isobaric1(hpa)}, f)
            for k, f in ((g.H1, h_of), (g.T1, t_of), (g.U1, u_of), (g.V1, v_of))]


def compare(name, path, plane, places, turned):
    """Every kind of field at several places."""
    decoded = [g.points(path, i) for i in (1, 2, 3, 4)]
    for la, lo in places:
        status, rows, error = read(path, la, lo)
        check(status == 0 and len(rows) == 4, name, la, lo, status, error, rows)
        if len(rows) != 4:
            continue
        got = {r[1]: r[-1] for r in rows}
        if turned:
            u, v = g.at_place(plane, decoded[2:], la, lo)
        else:
            u, v = (g.at_place(plane, [f], la, lo)[0] for f in decoded[2:])
        h, t = (g.at_place(plane, [f], la, lo)[0] for f in decoded[:2])
        check(abs(got["u"] - u) < 0.01 and abs(got["v"] - v) < 0.01, name, la, lo, got, u, v)
        check(abs(got["gh"] - h) < 0.1 and abs(got["t"] - t) < 0.01, name, la, lo, got, h, t)
        check({r[3] for r in rows} == {50000.0}, name, "level in Pa", rows)


def sphere(folder):
    """Regular, Gaussian, Lambert, polar and Mercator grids of both editions."""
    world = [(41.3, -98.4), (-33.7, 151.2), (0.2, 0.4), (64.9, 359.7), (12.0, -179.9)]
    box = {"latitudeOfFirstGridPointInDegrees": 55, "longitudeOfFirstGridPointInDegrees": 240,
           "latitudeOfLastGridPointInDegrees": 30, "longitudeOfLastGridPointInDegrees": 280,
           "iDirectionIncrementInDegrees": 2, "jDirectionIncrementInDegrees": 1, "Ni": 21, "Nj": 26}
    inside = [(41.3, -98.4), (54.9, -119.9), (30.1, -80.2)]
    world_box = {"latitudeOfFirstGridPointInDegrees": 90, "longitudeOfFirstGridPointInDegrees": 0,
                 "latitudeOfLastGridPointInDegrees": -90, "longitudeOfLastGridPointInDegrees": 355,
                 "iDirectionIncrementInDegrees": 5, "jDirectionIncrementInDegrees": 5, "Ni": 72, "Nj": 37}
    for edition, fields in ((1, fields1), (2, fields2)):
        path = g.make(folder / f"box{edition}.grib", f"regular_ll_pl_grib{edition}.tmpl", fields(500), box)
        compare(f"latitude-longitude {edition}", path, g.geographic, inside, False)
        path = g.make(folder / f"world{edition}.grib", f"regular_ll_pl_grib{edition}.tmpl", fields(500), world_box)
        compare(f"round the world {edition}", path, g.geographic, world[:3], False)
        path = g.make(folder / f"gauss{edition}.grib", f"regular_gg_pl_grib{edition}.tmpl", fields(500))
        compare(f"Gaussian {edition}", path, g.geographic, world[:3], False)
        for along in (0, 1):
            flags = (56 if along else 48) if edition == 2 else (136 if along else 128)
            grid = {"orientationOfTheGridInDegrees": 255, "latitudeOfFirstGridPointInDegrees": 50,
                    "longitudeOfFirstGridPointInDegrees": 230, "DxInMetres": 100000, "DyInMetres": 100000,
                    "resolutionAndComponentFlags": flags, "scanningMode": 64}
            if edition == 2:
                grid["LaDInDegrees"] = 60
            path = g.make(folder / f"polar{edition}.grib", f"polar_stereographic_pl_grib{edition}.tmpl",
                          fields(500), grid)
            where = g.points(path)
            corner = [where[i] for i in (5 * 16 + 4, 5 * 16 + 5, 6 * 16 + 4, 6 * 16 + 5)]
            inside_cell = tuple(sum(c[k] for c in corner) / 4 for k in (0, 1))
            compare(f"polar {edition} along {along}", path, g.polar(255), [inside_cell], along)
    for along in (0, 1):
        grid = {"gridType": '"lambert"', "Nx": 24, "Ny": 20, "latitudeOfFirstGridPointInDegrees": 33.0,
                "longitudeOfFirstGridPointInDegrees": 250.0, "LaDInDegrees": 38.5, "LoVInDegrees": 262.5,
                "DxInMetres": 60000, "DyInMetres": 60000, "Latin1InDegrees": 33.0, "Latin2InDegrees": 45.0,
                "resolutionAndComponentFlags": 56 if along else 48, "scanningMode": 64}
        path = g.make(folder / "lambert.grib", "regular_ll_pl_grib2.tmpl", fields2(500), grid)
        compare(f"Lambert along {along}", path, g.lambert(33, 45, 262.5), [(38.1, -97.3), (41.0, -106.2)], along)
        g.run("grib_set", "-s", "edition=1", str(path), str(folder / "lambert1.grib"))
        compare(f"Lambert 1 along {along}", folder / "lambert1.grib", g.lambert(33, 45, 262.5), [(38.1, -97.3)], along)
        grid = {"gridType": '"mercator"', "Ni": 24, "Nj": 20, "latitudeOfFirstGridPointInDegrees": 10.0,
                "longitudeOfFirstGridPointInDegrees": 270.0, "latitudeOfLastGridPointInDegrees": 27.0,
                "longitudeOfLastGridPointInDegrees": 293.0, "LaDInDegrees": 20.0, "DiInMetres": 100000,
                "DjInMetres": 100000, "resolutionAndComponentFlags": 56 if along else 48, "scanningMode": 64}
        path = g.make(folder / "mercator.grib", "regular_ll_pl_grib2.tmpl", fields2(500), grid)
        compare(f"Mercator along {along}", path, g.mercator, [(15.3, -80.1), (20.0, -75.5)], False)
        if along:
            g.run("grib_set", "-s", "edition=1", str(path), str(folder / "mercator1.grib"))
            compare("Mercator 1", folder / "mercator1.grib", g.mercator, [(15.3, -80.1)], False)


def meridian(folder):
    """Between the last column and the first, the longitudes go on."""
    grid = {"latitudeOfFirstGridPointInDegrees": 90, "longitudeOfFirstGridPointInDegrees": 0,
            "latitudeOfLastGridPointInDegrees": -90, "longitudeOfLastGridPointInDegrees": 355,
            "iDirectionIncrementInDegrees": 5, "jDirectionIncrementInDegrees": 5, "Ni": 72, "Nj": 37}
    path = g.make(folder / "wrap.grib", "regular_ll_pl_grib2.tmpl", fields2(500), grid)
    for lo in (357.0, -2.5, 359.99):
        status, rows, error = read(path, 40.0, lo)
        share = ((lo % 360) - 355) / 5
        want = (1 - share) * u_of(40, 355) + share * u_of(40, 0)
        check(status == 0 and abs(rows[2][-1] - want) < 0.01, "across the meridian", lo, rows, want, error)


def refused(folder):
    box = {"latitudeOfFirstGridPointInDegrees": 55, "longitudeOfFirstGridPointInDegrees": 240,
           "latitudeOfLastGridPointInDegrees": 30, "longitudeOfLastGridPointInDegrees": 280,
           "iDirectionIncrementInDegrees": 2, "jDirectionIncrementInDegrees": 1, "Ni": 21, "Nj": 26}
    path = g.make(folder / "box.grib", "regular_ll_pl_grib2.tmpl", fields2(500), box)
    whole = path.read_bytes()
    for place, word in (((20, -100), "reach"), ((41, 10), "reach"), ((41, -60), "reach")):
        status, rows, error = read(path, *place)
        check(status == 1 and not rows and word in error and error.count("\n") == 0, place, error)
    cut = folder / "cut.grib"
    for length in (3, 9, 40, 200, len(whole) // 2 + 40, len(whole) - 1):
        cut.write_bytes(whole[:length])
        status, rows, error = read(cut, 41, -98)
        check(status == 1 and not rows and error.count("\n") == 0, "cut at", length, status, error)
    for sample in ("reduced_gg_pl_32_grib2.tmpl", "rotated_ll_pl_grib2.tmpl", "rotated_ll_pl_grib1.tmpl"):
        u = g.U1 if sample.endswith("grib1.tmpl") else g.U2
        level = g.isobaric1(500) if u is g.U1 else g.isobaric2(500)
        path = g.make(folder / "other.grib", sample, [({**u, **level}, u_of)])
        status, rows, error = read(path, 41, -98)
        check(status == 1 and "grid" in error and not rows, sample, status, error)


BOX = {"latitudeOfFirstGridPointInDegrees": 55, "longitudeOfFirstGridPointInDegrees": 240,
       "latitudeOfLastGridPointInDegrees": 30, "longitudeOfLastGridPointInDegrees": 280,
       "iDirectionIncrementInDegrees": 2, "jDirectionIncrementInDegrees": 1, "Ni": 21, "Nj": 26}
PLACE = (41.3, -98.4)


def packings(folder):
    """Every packing that ecCodes writes of those that models use; the last by a compression
    that the raster library may not undo."""
    whole = g.make(folder / "plain.grib", "regular_ll_pl_grib2.tmpl", fields2(500), BOX)
    for packing in ("grid_jpeg", "grid_png", "grid_complex_spatial_differencing", "grid_ieee", "grid_ccsds"):
        path = folder / "packed.grib"
        g.run("grib_set", "-r", "-s", f"packingType={packing}", str(whole), str(path))
        compare(packing, path, g.geographic, [PLACE, (54.9, -119.9)], False)
    # a field all alike takes no bits; and points without a value
    g.run("grib_set", "-r", "-s", "packingType=grid_simple_log_preprocessing", str(whole), str(path))
    status, rows, error = read(path, *PLACE)
    check(status == 1 and not rows and "packing 5.61" in error, "a packing that is not known", error)
    for packing in ("grid_simple", "grid_ccsds"):
        for values, missing in (((5, 5), False), ((1, 2), True)):
            path = lacking(folder, packing, values, missing)
            status, rows, error = read(path, *PLACE)
            decoded = [v for la, lo, v in g.points(path) if (la, lo) in ((41, 260), (41, 262), (42, 260), (42, 262))]
            want = g.at_place(g.geographic, [g.points(path)], *PLACE)[0]
            check(status == 0 and len(decoded) == 4 and abs(rows[0][-1] - want) < 1e-3,
                  packing, values, rows, want, error)


def lacking(folder, packing, values, missing):
    """A wind whose points far from the place may have no value."""
    path = folder / "lacking.grib"
    grid = "".join(f"set {k} = {v};\n" for k, v in BOX.items()) + "set numberOfDataPoints = 546;\n"
    cells = [str(values[i % 2]) for i in range(546)]
    if missing:
        cells[:60] = ["9999"] * 60
    keys = {**g.isobaric2(500)}
    text = grid + (f"set bitmapPresent = 1;\nset missingValue = 9999;\n" if missing else "")
    text += f'set packingType = "{packing}";\nset bitsPerValue = 12;\n'
    rules = folder / "lacking.rules"
    rules.write_text(text + "".join(
        "".join(f"set {k} = {v};\n" for k, v in {**keys, **what}.items()) +
        "set values = {" + ",".join(cells) + "};\nwrite;\n" for what in (g.U2, g.V2, g.H2)))
    g.run("grib_filter", "-o", str(path), str(rules), str(g.SAMPLES / "regular_ll_pl_grib2.tmpl"))
    return path


def scanning(folder):
    """Points in every order that the flags of a grid know; rows that run to and fro by the
    octets of the file themselves (ecCodes 2.28 lists their coordinates as if they did not)."""
    for ed, fields in ((1, fields1), (2, fields2)):
        for flags in (1, 3, 4, 6) if ed == 1 else (0, 2, 5, 7):
            box = dict(BOX, iScansNegatively=flags & 1, jScansPositively=flags >> 1 & 1,
                       jPointsAreConsecutive=flags >> 2)
            if flags & 1:
                box["longitudeOfFirstGridPointInDegrees"], box["longitudeOfLastGridPointInDegrees"] = 280, 240
            if flags & 2:
                box["latitudeOfFirstGridPointInDegrees"], box["latitudeOfLastGridPointInDegrees"] = 30, 55
            path = g.make(folder / "order.grib", f"regular_ll_pl_grib{ed}.tmpl", fields(500), box)
            compare(f"order {ed} {flags}", path, g.geographic, [PLACE], False)
            if ed == 2 and flags in (2, 5):
                g.run("grib_set", "-r", "-s", "packingType=grid_ccsds", str(path), str(folder / "packed.grib"))
                compare(f"order ccsds {flags}", folder / "packed.grib", g.geographic, [PLACE], False)
    for packing in ("grid_simple", "grid_ccsds"):
        for columns in (0, 1):
            path = numbered(folder, packing, columns)
            for row in range(3):
                for column in range(4):
                    k = column * 3 + (row if column % 2 == 0 else 2 - row) if columns else \
                        row * 4 + (column if row % 2 == 0 else 3 - column)
                    _, rows, error = read(path, 12 - row, 20 + column)
                    check(rows and abs(rows[0][-1] - k) < 1e-6, "to and fro", packing, columns, row, column, rows, error)


def numbered(folder, packing, columns):
    """Values 0 to 11 in the order of the file, every other row (or column) running back."""
    grid = {"latitudeOfFirstGridPointInDegrees": 12, "longitudeOfFirstGridPointInDegrees": 20,
            "latitudeOfLastGridPointInDegrees": 10, "longitudeOfLastGridPointInDegrees": 23,
            "iDirectionIncrementInDegrees": 1, "jDirectionIncrementInDegrees": 1, "Ni": 4, "Nj": 3,
            "numberOfDataPoints": 12, "jPointsAreConsecutive": columns, "alternativeRowScanning": 1,
            **g.isobaric2(500)}
    text = "".join(f"set {k} = {v};\n" for k, v in grid.items())
    text += f'set packingType = "{packing}";\nset bitsPerValue = 8;\n'
    for what in (g.U2, g.V2):
        text += "".join(f"set {k} = {v};\n" for k, v in what.items())
        text += "set values = {" + ",".join(str(i) for i in range(12)) + "};\nwrite;\n"
    (folder / "numbered.rules").write_text(text)
    g.run("grib_filter", "-o", str(folder / "numbered.grib"), str(folder / "numbered.rules"),
          str(g.SAMPLES / "regular_ll_pl_grib2.tmpl"))
    return folder / "numbered.grib"


def other_fields(folder):
    """What models put beside the wind: levels in hPa by their scale, geopotential in place of
    height, winds at 80 and 100 m, gusts at a time and over a span, and what is no wind at a
    level (layers, hybrid levels, means over time, vertical velocity)."""
    near = {"typeOfFirstFixedSurface": 103, "scaleFactorOfFirstFixedSurface": 0}
    hectopascal = {"typeOfFirstFixedSurface": 100, "scaleFactorOfFirstFixedSurface": -2,
                   "scaledValueOfFirstFixedSurface": 500}
    over_hour = {"productDefinitionTemplateNumber": 8, "yearOfEndOfOverallTimeInterval": 2027,
                 "monthOfEndOfOverallTimeInterval": 4, "dayOfEndOfOverallTimeInterval": 17,
                 "hourOfEndOfOverallTimeInterval": 1, "minuteOfEndOfOverallTimeInterval": 0,
                 "secondOfEndOfOverallTimeInterval": 0}
    gust = {"discipline": 0, "parameterCategory": 2, "parameterNumber": 22, "typeOfFirstFixedSurface": 1}
    day = {"dataDate": 20270417, "dataTime": 0}
    z = {"discipline": 0, "parameterCategory": 3, "parameterNumber": 4}
    bad = lambda la, lo: 77.0 + 0.001 * la
    fields = [({**day, **k, **hectopascal}, f) for k, f in ((g.U2, u_of), (g.V2, v_of))]
    fields += [({**day, **z, **hectopascal}, lambda la, lo: 9.80665 * h_of(la, lo))]
    for m in (10, 80, 100):
        fields += [({**day, **k, **near, "scaledValueOfFirstFixedSurface": m}, f)
                   for k, f in ((g.U2, u_of), (g.V2, v_of))]
    fields += [({**day, **gust}, lambda la, lo: 9 + 0.1 * la),
               ({**day, **over_hour, **gust, "typeOfStatisticalProcessing": 2}, lambda la, lo: 10 + 0.1 * la),
               ({**day, **over_hour, **gust, "typeOfStatisticalProcessing": 0}, bad),
               ({**day, **over_hour, **g.U2, **g.isobaric2(700), "typeOfStatisticalProcessing": 0}, bad),
               ({**day, **g.U2, **g.isobaric2(850), "typeOfSecondFixedSurface": 100,
                 "scaleFactorOfSecondFixedSurface": 0, "scaledValueOfSecondFixedSurface": 70000}, bad),
               ({**day, **g.U2, "typeOfFirstFixedSurface": 105, "scaledValueOfFirstFixedSurface": 3}, bad),
               ({**day, "discipline": 0, "parameterCategory": 2, "parameterNumber": 8, **g.isobaric2(500)}, bad)]
    path = g.make(folder / "many.grib", "regular_ll_pl_grib2.tmpl", fields, BOX)
    status, rows, error = read(path, *PLACE)
    u, v = (g.at_place(g.geographic, [g.points(path, i)], *PLACE)[0] for i in (1, 2))
    check(status == 0 and not any(abs(r[-1] - 77) < 1 for r in rows), "no wind at a level", rows, error)
    winds = {(r[2], r[3]): r[-1] for r in rows if r[1] == "u"}
    check(set(winds) == {("isobaric", 50000), ("above_ground", 10), ("above_ground", 80), ("above_ground", 100)},
          "levels", winds)
    check(all(abs(w - u) < 0.01 for w in winds.values()), "u at every level", winds, u)
    gusts = sorted((r[5] - r[4], r[-1]) for r in rows if r[1] == "gust")
    check([round(x, 2) for _, x in gusts] == [13.13, 14.13] and gusts[1][0] == 3600, "gusts", gusts)
    done = subprocess.run([PAPPUS, "wind", str(path), "--at", "41.3,-98.4", "--json"], capture_output=True, text=True)
    heights = [x["height_m"] for x in json.loads(done.stdout)["profiles"][0]["levels"]]
    check(abs(max(heights) - h_of(41.3, 261.6)) < 1, "height of a geopotential", heights, done.stderr)


def several_grids(folder):
    """u and v each on points of their own (as models stagger them), temperature on a grid of
    another size: each is taken at the place on its own grid. A wind on a grid that is not
    known is refused, a temperature there left out."""
    level = g.isobaric2(500)
    shifted = dict(BOX, longitudeOfFirstGridPointInDegrees=241, longitudeOfLastGridPointInDegrees=281)
    small = dict(BOX, latitudeOfLastGridPointInDegrees=40, Nj=16)
    parts = [("h", g.H2, h_of, BOX), ("u", g.U2, u_of, BOX), ("v", g.V2, v_of, shifted), ("t", g.T2, t_of, small)]
    data = b""
    want = {}
    for name, keys, f, grid in parts:
        path = g.make(folder / f"{name}.grib", "regular_ll_pl_grib2.tmpl", [({**keys, **level}, f)], grid)
        data += path.read_bytes()
        want[{"h": "gh"}.get(name, name)] = g.at_place(g.geographic, [g.points(path)], *PLACE)[0]
    path = folder / "grids.grib"
    for first in (b"", g.make(folder / "r.grib", "rotated_ll_pl_grib2.tmpl", [({**g.T2, **level}, t_of)]).read_bytes()):
        path.write_bytes(first + data)
        status, rows, error = read(path, *PLACE)
        got = {r[1]: r[-1] for r in rows}
        check(status == 0 and set(got) == set(want) and all(abs(got[k] - want[k]) < 0.01 for k in want),
              "several grids", got, want, error)
    path.write_bytes(data + g.make(folder / "r.grib", "rotated_ll_pl_grib2.tmpl",
                                   [({**g.U2, **g.isobaric2(700)}, u_of)]).read_bytes())
    status, rows, error = read(path, *PLACE)
    check(status == 1 and not rows and "grid" in error, "a wind on a rotated grid", error)


def first_edition(folder):
    """Tables of GRIB 1: ECMWF's own numbers with a member, winds near the ground by the level of
    the surface; one that follows the common one under another number; times in quarter hours."""
    ecmwf = {"centre": 98, "table2Version": 128, "dataDate": 20270417, "dataTime": 0,
             "setLocalDefinition": 1, "localDefinitionNumber": 1, "marsClass": '"od"', "marsType": '"pf"',
             "marsStream": '"enfo"', "experimentVersionNumber": '"0001"', "perturbationNumber": 7,
             "numberOfForecastsInEnsemble": 51}
    level = g.isobaric1(500)
    surface = {"indicatorOfTypeOfLevel": 1, "level": 0}
    fields = [({**ecmwf, "indicatorOfParameter": p, **at}, f) for p, at, f in
              ((129, level, lambda la, lo: 9.80665 * h_of(la, lo)), (130, level, t_of), (131, level, u_of),
               (132, level, v_of), (165, surface, u_of), (166, surface, v_of), (49, surface, t_of))]
    path = g.make(folder / "ecmwf.grib", "regular_ll_pl_grib1.tmpl", fields, BOX)
    status, rows, error = read(path, *PLACE)
    got = {(r[1], r[2], r[3]) for r in rows}
    check(got == {("z", "isobaric", 50000), ("t", "isobaric", 50000), ("u", "isobaric", 50000),
                  ("v", "isobaric", 50000), ("u", "above_ground", 10), ("v", "above_ground", 10),
                  ("gust", "above_ground", 10)}, "ECMWF", got, error)
    check({r[6] for r in rows} == {7}, "member", rows)
    other = {"centre": 34, "table2Version": 200, "dataDate": 20270417, "dataTime": 0,
             "indicatorOfUnitOfTimeRange": 13, "P1": 6, "timeRangeIndicator": 0}
    path = g.make(folder / "other.grib", "regular_ll_pl_grib1.tmpl",
                  [({**other, "indicatorOfParameter": p, **level}, f) for p, f in ((7, h_of), (33, u_of), (34, v_of))], BOX)
    status, rows, error = read(path, *PLACE)
    check([r[1] for r in rows] == ["gh", "u", "v"] and {r[5] - r[4] for r in rows} == {5400.0},
          "quarter hours", rows, error)


PAPPUS = sys.argv[1]
T0 = "2027-04-17T00:00:00Z"


def ensemble(folder, members, hours):
    """A file of several members and hours: member m at hour h has u = m + h at every height."""
    def member_keys(m, h):
        return {"productDefinitionTemplateNumber": 1, "perturbationNumber": m,
                "numberOfForecastsInEnsemble": len(members), "dataDate": 20270417, "dataTime": 0,
                "stepUnits": 1, "forecastTime": h}
    box = {"latitudeOfFirstGridPointInDegrees": 55, "longitudeOfFirstGridPointInDegrees": 240,
           "latitudeOfLastGridPointInDegrees": 30, "longitudeOfLastGridPointInDegrees": 280,
           "iDirectionIncrementInDegrees": 2, "jDirectionIncrementInDegrees": 1, "Ni": 21, "Nj": 26}
    fields = []
    for h in hours:
        for m in members:
            for hpa, z in ((900, 1000.0), (500, 5600.0)):
                keys = {**member_keys(m, h), **g.isobaric2(hpa)}
                fields += [({**keys, **g.H2}, lambda la, lo, z=z: z + 0.001 * la),
                           ({**keys, **g.U2}, lambda la, lo, m=m, h=h: m + h + 1e-6 * la),
                           ({**keys, **g.V2}, lambda la, lo: 1e-6 * la)]
    return g.make(folder / "members.grib", "regular_ll_pl_grib2.tmpl", fields, box)


def members(folder):
    """Each member between its own hours; a time or member chosen; what is not there is refused."""
    path = ensemble(folder, [0, 1, 2, 3, 4], [0, 6])
    ask = [PAPPUS, "wind", str(path), "--at", "41,-98", "--json"]

    def run(*more):
        return subprocess.run([*ask, *more], capture_output=True, text=True)
    profiles = json.loads(run().stdout)["profiles"]
    check(len(profiles) == 10, "profiles", len(profiles))
    one = json.loads(run("--member", "3", "--sounding", "2027-04-17T06Z").stdout)["profiles"]
    check(len(one) == 1 and abs(one[0]["levels"][0]["u_mps"] - 9) < 0.01, "member at an hour", one)
    for bad in (("--member", "9"), ("--sounding", "2027-04-17T05Z")):
        done = run(*bad)
        check(done.returncode == 1 and done.stderr.count("\n") == 1, bad, done.stderr)
    done = subprocess.run([PAPPUS, "wind", str(path)], capture_output=True, text=True)
    check(done.returncode == 1 and "--at" in done.stderr, "no place", done.stderr)
    plan = folder / "plan.json"
    plan.write_text(json.dumps({
        "site": {"latitude": "41 deg", "longitude": "-98 deg", "elevation": "300 m"},
        "rocket": {"mass": "8 kg"}, "apogee": {"height": "1000 m"},
        "main": {"drag_area": "4 m2"},
        "altimeters": [{"main_height": "200 m"}], "wind": {"profiles": [str(path)], "time": "2027-04-17T03Z"}}))
    done = subprocess.run([PAPPUS, "check", str(plan), "--json"], capture_output=True, text=True)
    check("spread of the members" in done.stdout, "spread told", done.stdout[:2000], done.stderr)
    done = subprocess.run([PAPPUS, "check", str(plan), "--json", "--set", "wind.growth=1 m/s"],
                          capture_output=True, text=True)
    check("spread of the members" not in done.stdout, "growth given", done.stdout[:2000])
    four = ensemble(folder, [0, 1, 2, 3], [0, 6])
    check(four == path, "same file")
    done = subprocess.run([PAPPUS, "check", str(plan), "--json"], capture_output=True, text=True)
    check("spread of the members" not in done.stdout, "four members", done.stdout[:2000])


def mutated(folder, count):
    """Bytes changed at random: an answer or one line, never a crash or a hang."""
    box = {"latitudeOfFirstGridPointInDegrees": 55, "longitudeOfFirstGridPointInDegrees": 240,
           "latitudeOfLastGridPointInDegrees": 30, "longitudeOfLastGridPointInDegrees": 280,
           "iDirectionIncrementInDegrees": 2, "jDirectionIncrementInDegrees": 1, "Ni": 21, "Nj": 26}
    whole = [g.make(folder / "a.grib", "regular_ll_pl_grib1.tmpl", fields1(500), box).read_bytes(),
             g.make(folder / "b.grib", "regular_ll_pl_grib2.tmpl", fields2(500), box).read_bytes()]
    g.run("grib_set", "-r", "-s", "packingType=grid_ccsds", str(folder / "b.grib"), str(folder / "c.grib"))
    whole.append((folder / "c.grib").read_bytes())
    small = g.make(folder / "d.grib", "regular_ll_pl_grib2.tmpl", fields2(500)[:1], dict(BOX, Nj=16, latitudeOfLastGridPointInDegrees=40))
    whole.append(small.read_bytes() + whole[1])  # of two grids: message by message
    draw = random.Random(14)
    bad = folder / "bad.grib"
    for i in range(count):
        data = bytearray(whole[i % 4])
        for _ in range(draw.randint(1, 6)):
            data[draw.randrange(len(data) if draw.random() < 0.3 else 200)] = draw.randrange(256)
        bad.write_bytes(data)
        status, rows, error = read(bad, 41, -98)
        check(status in (0, 1) and (status == 0) == (error == "") and error.count("\n") == 0,
              "mutation", i, status, error)


with tempfile.TemporaryDirectory() as name:
    sphere(pathlib.Path(name))
    meridian(pathlib.Path(name))
    refused(pathlib.Path(name))
    packings(pathlib.Path(name))
    scanning(pathlib.Path(name))
    other_fields(pathlib.Path(name))
    several_grids(pathlib.Path(name))
    first_edition(pathlib.Path(name))
    members(pathlib.Path(name))
    mutated(pathlib.Path(name), int(sys.argv[3]) if len(sys.argv) > 3 else 40)
sys.exit(1 if failures else 0)
