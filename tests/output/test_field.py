#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""One field in four files, written by GDAL: GeoJSON and shapefiles in longitude and
latitude, in UTM and in a state plane system in US survey feet (NAD 83 / Oklahoma
North, EPSG:2267).

Outside checks: PROJ's cs2cs (proj-bin) brings the vertices to the local plane, and
shapely counts the landings inside. All the files must give the same landings inside,
to the last one."""
import json
import os
import random
import subprocess
import sys
import tempfile

import numpy
import shapely.geometry
import shapely.prepared
from osgeo import ogr, osr

TOOL = os.path.join(os.path.dirname(os.path.abspath(sys.argv[1])), "tool_field")
POINTS = 100000
PAD = (36.18, -97.44)
# Invented: an L-shaped field with a pond, and a second part across a lane.
FIELD = [
    [[(-97.452, 36.172), (-97.431, 36.172), (-97.431, 36.179), (-97.437, 36.1805),
      (-97.437, 36.188), (-97.452, 36.1875), (-97.452, 36.172)],
     [(-97.449, 36.183), (-97.447, 36.185), (-97.445, 36.183), (-97.449, 36.183)]],
    [[(-97.430, 36.172), (-97.424, 36.1725), (-97.427, 36.178), (-97.430, 36.172)]],
]


def system(code):
    out = osr.SpatialReference()
    out.ImportFromEPSG(code)
    out.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    return out


def write(path, driver, code, polygons):
    source = ogr.GetDriverByName(driver).CreateDataSource(path)
    layer = source.CreateLayer("field", system(code), ogr.wkbMultiPolygon)
    shape = ogr.CreateGeometryFromWkt(shapely.geometry.MultiPolygon(
        [(p[0], p[1:]) for p in polygons]).wkt)
    shape.AssignSpatialReference(system(4326))
    if code != 4326:
        shape.TransformTo(system(code))
    feature = ogr.Feature(layer.GetLayerDefn())
    feature.SetGeometry(shape)
    layer.CreateFeature(feature)
    del feature, layer, source


def run(pad, path, points):
    out = subprocess.run([TOOL, str(pad[0]), str(pad[1]), path, points], check=True,
                         capture_output=True, text=True)
    assert out.stderr == "", out.stderr
    rings, lines = [], iter(out.stdout.split("\n"))
    for line in lines:
        if line == "flags":
            break
        rings.append([tuple(map(float, next(lines).split())) for _ in range(int(line.split()[1]))])
    return rings, numpy.array([int(line) for line in lines if line], dtype=bool)


def cs2cs(source, target, pairs):
    """x y pairs (longitude, latitude for EPSG:4326)."""
    order = [(y, x) for x, y in pairs] if source == "EPSG:4326" else pairs
    out = subprocess.run(["cs2cs", "-f", "%.9f", source, "+to"] + target.split(), check=True,
                         capture_output=True, text=True,
                         input="".join(f"{a!r} {b!r}\n" for a, b in order))
    return [tuple(map(float, line.split()[:2])) for line in out.stdout.split("\n") if line]


def local(pad):
    return (f"+proj=aeqd +lat_0={pad[0]} +lon_0={pad[1]} +datum=WGS84 +units=m +type=crs")


def near(ours, theirs, tolerance_m, what):
    """Every vertex of either has one of the other within the tolerance."""
    a, b = numpy.array(ours), numpy.array(theirs)
    apart = numpy.hypot(a[:, None, 0] - b[None, :, 0], a[:, None, 1] - b[None, :, 1])
    worst = max(apart.min(0).max(), apart.min(1).max())
    print(f"{what}: worst vertex {worst:.2e} m")
    assert len(a) == len(b) and worst < tolerance_m, f"{what}: {worst} m"


def count_everywhere(folder):
    points = os.path.join(folder, "points")
    draw = random.Random(20270417)
    xy = numpy.array([(draw.uniform(-1800, 1800), draw.uniform(-1400, 1400))
                      for _ in range(POINTS)])
    numpy.savetxt(points, xy, fmt="%.17g")
    files = {"geojson": ("GeoJSON", 4326, "field.geojson"),
             "utm": ("ESRI Shapefile", 32614, "utm.shp"),
             "state plane, US feet": ("ESRI Shapefile", 2267, "feet.shp"),
             "geographic": ("ESRI Shapefile", 4326, "degrees.shp")}
    flat = [p for polygon in FIELD for ring in polygon for p in ring[:-1]]
    flags = {}
    for what, (driver, code, name) in files.items():
        path = os.path.join(folder, name)
        write(path, driver, code, FIELD)
        rings, flags[what] = run(PAD, path, points)
        # GDAL writes GeoJSON with 7 to 15 decimals; RFC 7946 asks it for no more.
        near([p for r in rings for p in r], cs2cs("EPSG:4326", local(PAD), flat), 1e-3, what)
    shape = shapely.geometry.MultiPolygon(
        [(cs2cs("EPSG:4326", local(PAD), p[0]),
          [cs2cs("EPSG:4326", local(PAD), h) for h in p[1:]]) for p in FIELD])
    prepared = shapely.prepared.prep(shape)
    recount = numpy.array([prepared.intersects(shapely.geometry.Point(p)) for p in xy])
    for what, flag in flags.items():
        print(f"{what}: {flag.sum()} of {POINTS} inside, shapely {recount.sum()}")
        assert len(flag) == POINTS
        assert (flag == recount).all(), f"{what}: {(flag != recount).sum()} landings differ"
    assert POINTS / 10 < recount.sum() < POINTS * 9 / 10


def reprojection(folder):
    """The local metres of a .prj's own coordinates, by cs2cs from that system."""
    points = os.path.join(folder, "none")
    open(points, "w").close()
    for code, pad, square in [(32614, PAD, [(640000, 4004500), (641500, 4004500),
                                            (641500, 4006000), (640000, 4006000)]),
                              (2267, PAD, [(2127000, 430000), (2131000, 430000),
                                           (2131000, 434000), (2127000, 434000)]),
                              (27700, (51.2, -1.8), [(413000, 144000), (415000, 144000),
                                                     (415000, 146000), (413000, 146000)])]:
        path = os.path.join(folder, f"own{code}.shp")
        source = ogr.GetDriverByName("ESRI Shapefile").CreateDataSource(path)
        layer = source.CreateLayer("own", system(code), ogr.wkbPolygon)
        feature = ogr.Feature(layer.GetLayerDefn())
        feature.SetGeometry(ogr.CreateGeometryFromWkt(shapely.geometry.Polygon(square).wkt))
        layer.CreateFeature(feature)
        del feature, layer, source
        out = subprocess.run([TOOL, str(pad[0]), str(pad[1]), path, points], check=True,
                             capture_output=True, text=True).stdout.split("\n")
        ours = [tuple(map(float, line.split())) for line in out[1:5]]
        degrees = cs2cs(f"EPSG:{code}", "EPSG:4326", square)
        theirs = cs2cs("EPSG:4326", local(pad), [(x, y) for y, x in degrees])
        near(ours, theirs, 1e-3, f"EPSG:{code}")


def another_crs(folder):
    """GeoJSON of the 2008 draft in feet: GDAL reads it, RFC 7946 has no such thing."""
    points = os.path.join(folder, "none")
    path = os.path.join(folder, "field.geojson")
    text = json.load(open(path))
    text["crs"] = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::2267"}}
    other = os.path.join(folder, "other.geojson")
    json.dump(text, open(other, "w"))
    out = subprocess.run([TOOL, str(PAD[0]), str(PAD[1]), other, points], capture_output=True,
                         text=True)
    assert out.returncode == 1 and out.stderr.count("\n") == 1 and "EPSG:4326" in out.stderr


with tempfile.TemporaryDirectory() as where:
    osr.UseExceptions()
    ogr.UseExceptions()
    count_everywhere(where)
    reprojection(where)
    another_crs(where)
