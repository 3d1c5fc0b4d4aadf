#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Outlines of map programs and receivers: the same field as GeoJSON, drawn as KML, walked as
GPX, in a GeoPackage. Edges are straight on the pad's plane, so the walk goes along the outline as
the GeoJSON gives it. Distances by Shapely on metres about the pad (an equirectangular plane: over
2 km within 1e-4); GeoPackages are made by GDAL's own tool."""
import json
import math
import os
import pathlib
import random
import subprocess
import sys
import zipfile

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "cli"))
from helpers import SOURCE, Case, main, quick_plan, read_json, run  # noqa: E402

from osgeo import ogr, osr  # noqa: E402
from shapely.geometry import LineString, Polygon, shape  # noqa: E402

RING = [tuple(p) for p in read_json(os.path.join(SOURCE, "examples", "field.geojson"))["features"][0]
        ["geometry"]["coordinates"][0]]
LATITUDE, LONGITUDE = 41.7625, -98.4410


def metres(geometry):
    """Longitude, latitude to metres about the pad."""
    def flat(x, y, z=None):
        scale = 111320.0
        return ([(a - LONGITUDE) * scale * math.cos(math.radians(LATITUDE)) for a in x],
                [(b - LATITUDE) * scale for b in y])
    from shapely.ops import transform
    return transform(flat, geometry)


def walked(ring, gap_m, step_m=7.0):
    """Points along the ring from the middle of its first side to gap_m before it."""
    line = LineString(ring)
    flat = metres(line)
    start = 0.5 * math.dist(flat.coords[0], flat.coords[1])
    points, at = [], 0.0
    corners = [flat.project(type(flat.centroid)(c)) for c in list(flat.coords)[1:-1]]
    along = sorted({start + k * step_m for k in range(int((flat.length - gap_m) / step_m) + 1)}
                   | {c if c > start else c + flat.length for c in corners + [0.0]}
                   | {start + flat.length - gap_m})
    for at in along:
        if at - start > flat.length - gap_m + 1e-6:
            continue
        p = flat.interpolate(at % flat.length)
        points.append((LONGITUDE + p.x / (111320.0 * math.cos(math.radians(LATITUDE))),
                       LATITUDE + p.y / 111320.0))
    return points


def kml(geometry, name="North pasture"):
    return ('<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
            f'<Placemark><name>{name}</name>{geometry}</Placemark>'
            '<Placemark><name>gate</name><Point><coordinates>-98.44,41.76,0</coordinates></Point></Placemark>'
            '</Document></kml>\n')


def polygon_kml():
    text = " ".join(f"{x:.9f},{y:.9f},612.4" for x, y in RING)
    return kml("<Polygon><outerBoundaryIs><LinearRing><coordinates>"
               f"{text}</coordinates></LinearRing></outerBoundaryIs></Polygon>")


def gpx(*segments):
    tracks = "".join("<trkseg>" + "".join(f'<trkpt lat="{y:.9f}" lon="{x:.9f}"><ele>612</ele></trkpt>'
                                          for x, y in s) + "</trkseg>" for s in segments)
    return ('<?xml version="1.0"?>\n<gpx version="1.1" creator="test" '
            'xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="41.76" lon="-98.44"><name>gate</name></wpt>'
            f"<trk><name>walk</name>{tracks}</trk></gpx>\n")


class Vector(Case):
    def setUp(self):
        super().setUp()
        self.made = []
        ogr.UseExceptions()
        features, err = self.boundary(os.path.join(SOURCE, "examples", "field.geojson"))
        self.assertIsNotNone(features, err)
        self.ring = features[0]["geometry"]["coordinates"][0]

    def boundary(self, path, **field):
        """The boundary as it was understood, or what is told."""
        plan = quick_plan()
        plan["field"] = {"boundary": path, **field}
        out = self.path("out")
        status, _, err = run("scatter", self.write("plan.json", plan), "-o", out, "-n", "100")
        if status:
            return None, err
        return self.layer(out, "boundary"), err

    def layer(self, out, name):
        """A layer of the result, by GDAL's own tool; coordinates with 9 decimals."""
        text = subprocess.run(["ogr2ogr", "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=9", "/vsistdout/",
                               os.path.join(out, "layers", name + ".shp")], check=True, capture_output=True).stdout
        return json.loads(text)["features"]

    def check_same(self, path, within_m=0.1):
        features, err = self.boundary(path)
        self.assertIsNotNone(features, err)
        got = metres(shape(features[0]["geometry"]))
        want = metres(Polygon(self.ring))
        self.assertLess(got.boundary.hausdorff_distance(want.boundary), within_m, path)
        self.assertAlmostEqual(got.area / want.area, 1.0, places=4)
        return err

    def test_drawn_as_kml(self):
        self.check_same(self.write("field.kml", polygon_kml()))
        with zipfile.ZipFile(self.path("field.kmz"), "w") as z:
            z.writestr("doc.kml", polygon_kml())
        self.check_same(self.path("field.kmz"))

    def test_walked_as_gpx(self):
        points = walked(self.ring, 8.0)
        err = self.check_same(self.write("walk.gpx", gpx(points)))
        self.assertIn("closed over the 8 m from its end to its start", err)
        err = self.check_same(self.write("pause.gpx", gpx(points[:40], points[40:])))
        self.assertIn("closed over", err)

    def test_line_in_kml(self):
        text = " ".join(f"{x:.9f},{y:.9f}" for x, y in walked(self.ring, 8.0))
        self.check_same(self.write("l.kml", kml(f"<LineString><coordinates>{text}</coordinates></LineString>")))

    def test_open_track(self):
        """Refused from 5 % of its length on; the ring is over 600 m long."""
        length = metres(LineString(self.ring)).length
        features, err = self.boundary(self.write("near.gpx", gpx(walked(self.ring, 0.045 * length))))
        self.assertIsNotNone(features, err)
        features, err = self.boundary(self.write("far.gpx", gpx(walked(self.ring, 0.06 * length))))
        self.assertIsNone(features)
        self.assertIn("from its start is no area", err)
        self.assertEqual(err.count("\n"), 1)

    def test_geopackage(self):
        for system in ("EPSG:4326", "EPSG:32614"):
            path = self.path("field.gpkg")
            subprocess.run(["ogr2ogr", "-q", "-f", "GPKG", "-t_srs", system, path,
                            os.path.join(SOURCE, "examples", "field.geojson")], check=True)
            self.check_same(path)
            os.remove(path)

    def test_names(self):
        """Of keep-out areas, as they are called in the file."""
        plan = quick_plan()
        plan["field"]["keep_out"] = self.write("pond.kml", polygon_kml())
        out = self.path("named")
        status, _, err = run("scatter", self.write("plan.json", plan), "-o", out, "-n", "100")
        self.assertEqual(status, 0, err)
        found = self.layer(out, "keep_outs")
        self.assertEqual([f["properties"]["name"] for f in found], ["North pasture"])

    def write_areas(self, driver, name, rows, kinds=(ogr.OFTReal, ogr.OFTInteger)):
        """Keep-outs with attributes, as GDAL writes them; None leaves one out."""
        path = self.path(name)
        system = osr.SpatialReference()
        system.ImportFromEPSG(4326)
        system.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
        source = ogr.GetDriverByName(driver).CreateDataSource(path)
        layer = source.CreateLayer("areas", system, ogr.wkbPolygon)
        layer.CreateField(ogr.FieldDefn("name", ogr.OFTString))
        for key, kind in zip(("limit", "people"), kinds):
            field = ogr.FieldDefn(key, kind)
            if kind == ogr.OFTReal:
                field.SetWidth(24)
                field.SetPrecision(15)
            layer.CreateField(field)
        for i, (name, limit, people) in enumerate(rows):
            feature = ogr.Feature(layer.GetLayerDefn())
            feature["name"] = name
            if limit is not None:
                feature["limit"] = limit
            if people is not None:
                feature["people"] = people
            west = LONGITUDE - 0.010 - 0.003 * i
            feature.SetGeometry(ogr.CreateGeometryFromWkt(
                f"POLYGON(({west} 41.75,{west + 0.002} 41.75,{west + 0.002} 41.752,{west} 41.752,{west} 41.75))"))
            layer.CreateFeature(feature)
        source = layer = None
        return path

    def test_limit_and_people(self):
        """Attributes of each area in a shapefile and a GeoPackage: numbers, text, none."""
        rows = [("Camp", 1e-6, 40), ("Pond", None, None), ("Barn", 0.003, 0)]
        for driver, name in (("ESRI Shapefile", "areas.shp"), ("GPKG", "areas.gpkg")):
            for kinds in ((ogr.OFTReal, ogr.OFTInteger), (ogr.OFTString, ogr.OFTString)):
                for left in self.made:
                    os.remove(left)
                plan = quick_plan()
                plan["field"]["keep_out"] = self.write_areas(driver, name, rows, kinds)
                self.made = [os.path.join(self.folder, n) for n in os.listdir(self.folder) if n.startswith("areas.")]
                out = self.path("out")
                status, _, err = run("brief", self.write("plan.json", plan), "-o", out, "-n", "500")
                self.assertIn(status, (0, 3, 4), err)
                areas = read_json(os.path.join(out, "summary.json"))["risk"]["areas"]
                got = [(a["name"], a["limit"], a["people"]) for a in areas]
                self.assertEqual(got, [("Camp", 1e-6, 40), ("Pond", 0.01, None), ("Barn", 0.003, 0)], (driver, kinds))

    def test_limit_that_is_no_chance(self):
        for driver, name in (("ESRI Shapefile", "areas.shp"), ("GPKG", "areas.gpkg")):
            plan = quick_plan()
            plan["field"]["keep_out"] = self.write_areas(driver, name, [("Pond", 0.5, 1), ("Camp", 2.0, 40)])
            status, out, err = run("check", self.write("plan.json", plan))
            self.assertEqual(status, 1, (out, err))
            self.assertIn("the limit of an area must be a chance, a number from 1e-7 to 1", out + err)
            self.assertIn(name, out + err)

    def test_damaged(self):
        draw = random.Random(4)
        plans = quick_plan()
        for text, name in ((polygon_kml(), "x.kml"), (gpx(walked(self.ring, 8.0)), "x.gpx")):
            for _ in range(12):
                data = bytearray(text.encode())
                del data[draw.randrange(60, len(data)):]
                for _ in range(3):
                    data[draw.randrange(60, len(data))] = draw.randrange(256)
                plans["field"] = {"boundary": self.write(name, bytes(data))}
                status, out, err = run("check", self.write("plan.json", plans))
                self.assertIn(status, (0, 1), err)
                self.assertEqual("error" in out, status == 1, (out, err))


if __name__ == "__main__":
    main()
