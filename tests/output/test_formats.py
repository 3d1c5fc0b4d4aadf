# SPDX-License-Identifier: GPL-3.0-or-later
"""Layers, GPX and KML read back by GDAL, pyshp and xmllint.

Sources: RFC 7946 section 3.1.6 (ring direction) and 4 (WGS 84); ESRI Shapefile
Technical Description (1998), p. 8: shells clockwise, holes counter-clockwise;
GPX 1.1 schema (children of gpx, metadata, wpt in their sequence) and OGC 07-147r2
(sequence of feature, geometry and style elements): M, from memory."""
import json
import math
import os
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

import shapefile
from osgeo import gdal, ogr, osr

gdal.UseExceptions()
TOOL = os.path.join(os.path.dirname(sys.argv[1]), "tool_sample")
LATITUDE, LONGITUDE = 43.5672, -116.2113
LANDINGS = 2000
FIELDS = ["id", "outcome", "weight", "east_m", "north_m", "time_s", "speed_mps", "vz_mps",
          "energy_j", "inside", "keep_out", "main_m"]
ZONE_FIELDS = ["outcome", "level", "share", "major_m", "minor_m", "bearing", "area_m2"]
COUNTS = {"landings": LANDINGS, "ellipses": 20, "contours": 20, "posts": 2, "boundary": 1,
          "keep_outs": 2, "roads": 1}
failures = []


def in_minutes(degrees, letters):
    """Degrees and minutes to a thousandth, as hand-held receivers show them."""
    thousandths = round(abs(degrees) * 60000)
    return (f"{thousandths // 60000} {thousandths % 60000 / 1000:06.3f} "
            f"{letters[degrees < 0]}")


def check(truth, message):
    if not truth:
        failures.append(message)


def write(folder, *options):
    subprocess.run([TOOL, folder, *options], check=True, stdout=subprocess.DEVNULL)
    return folder


def open_layer(path):
    source = ogr.Open(path)
    return source, source.GetLayer(0)


def check_layers(folder, epsg):
    expected = osr.SpatialReference()
    expected.ImportFromEPSG(epsg)
    for name, count in COUNTS.items():
        path = f"{folder}/layers/{name}.shp"
        source, layer = open_layer(path)
        check(layer.GetFeatureCount() == count, f"{name}: {layer.GetFeatureCount()} features")
        check(layer.GetSpatialRef().IsSame(expected, ["IGNORE_DATA_AXIS_TO_SRS_AXIS_MAPPING=YES"]),
              f"{name}: not EPSG:{epsg}")
        check(open(path[:-3] + "cpg").read() == "UTF-8", f"{name}: .cpg")
        check(os.path.getsize(path[:-3] + "prj") > 100, f"{name}: .prj")
        with shapefile.Reader(path) as reader:
            check(len(reader) == count, f"{name}: pyshp sees {len(reader)}")
            names = [field[0] for field in reader.fields[1:]]
        if name == "landings":
            check(names == FIELDS, f"landings: fields {names}")
        if name in ("ellipses", "contours"):
            check(names == ZONE_FIELDS, f"{name}: fields {names}")
        for feature in layer:
            geometry = feature.GetGeometryRef()
            check(geometry is not None and geometry.IsValid(), f"{name}: geometry not valid")
        del source


def from_local(epsg):
    """The local plane by another way than ours: PROJ through OSR."""
    local, target = osr.SpatialReference(), osr.SpatialReference()
    local.ImportFromProj4(f"+proj=aeqd +lat_0={LATITUDE} +lon_0={LONGITUDE} +datum=WGS84 +units=m")
    target.ImportFromEPSG(epsg)
    for reference in (local, target):
        reference.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    return osr.CoordinateTransformation(local, target)


def check_landings(folder, epsg, tolerance):
    """Places from east and north (two decimals), weights sum to 1, energy from its formula."""
    transform = from_local(epsg)
    total = 0
    with shapefile.Reader(f"{folder}/layers/landings.shp") as reader:
        for i, item in enumerate(reader.iterShapeRecords()):
            record, at = item.record.as_dict(), item.shape.points[0]
            x, y, _ = transform.TransformPoint(record["east_m"], record["north_m"])
            check(abs(x - at[0]) < tolerance and abs(y - at[1]) < tolerance, f"landing {i}: place")
            check(record["id"] == i, f"landing {i}: id")
            check(record["inside"] == (i % 50 != 0), f"landing {i}: inside")
            # 0.5 m v^2 of the heavier section (5.4 kg); v has three decimals, energy two
            energy = 0.5 * 5.4 * record["vz_mps"] ** 2
            check(abs(energy - record["energy_j"]) < 5.4 * record["vz_mps"] * 0.0005 + 0.005,
                  f"landing {i}: energy")
            keep_out = "Evening flight" if i % 250 == 3 else "car park" if i % 50 == 7 else ""
            check((record["keep_out"] or "") == keep_out, f"landing {i}: {record['keep_out']!r}")
            total += record["weight"]
    check(abs(total - 1) < LANDINGS * 0.5e-15 + 1e-12, f"weights sum to {total!r}")


def signed_area(ring):
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:])) / 2


def check_directions(folder):
    with shapefile.Reader(f"{folder}/layers/contours.shp") as reader:
        shape = reader.shape(3)  # all, 99 %: two lobes, one with a hole
        starts = list(shape.parts) + [len(shape.points)]
        areas = [signed_area(shape.points[a:b]) for a, b in zip(starts, starts[1:])]
        check([area < 0 for area in areas] == [True, False, True], f"shapefile rings {areas}")
    for name in ("contours", "ellipses"):
        data = json.load(open(f"{folder}/layers/{name}.geojson", encoding="utf-8"))
        check("crs" not in data and len(data["features"]) == 20, f"{name}.geojson")
        for feature in data["features"]:
            check(list(feature["properties"]) == ZONE_FIELDS, f"{name}.geojson: properties")
            for polygon in feature["geometry"]["coordinates"]:
                for i, ring in enumerate(polygon):
                    check(ring[0] == ring[-1] and len(ring) >= 4, f"{name}.geojson: not closed")
                    check((signed_area(ring) > 0) == (i == 0), f"{name}.geojson: direction")


def check_against_shapefile(folder, name):
    """Both formats say the same: same shapes within the decimals of GeoJSON (1e-8 deg)."""
    _source, a = open_layer(f"{folder}/layers/{name}.shp")
    _other, b = open_layer(f"{folder}/layers/{name}.geojson")
    check(a.GetFeatureCount() == b.GetFeatureCount(), f"{name}: counts differ")
    skip = {"latitude", "longitude"}  # which GeoJSON has as its geometry
    names = [field.name for field in a.schema if field.name not in skip]
    check(names == [field.name for field in b.schema], f"{name}: columns differ")
    for first, second in zip(a, b):
        for column in names:
            one, other = first[column], second[column]
            decimals = a.GetLayerDefn().GetFieldDefn(a.FindFieldIndex(column, 1)).GetPrecision()
            same = one == other if isinstance(one, str) or one is None else (
                abs(one - other) <= 0.5000001 * 10 ** -decimals + 1e-9 * abs(other))
            check(same, f"{name}: {column} {one!r} {other!r}")
        x, y = first.GetGeometryRef().GetEnvelope(), second.GetGeometryRef().GetEnvelope()
        check(max(abs(p - q) for p, q in zip(x, y)) < 1e-8, f"{name}: {x} {y}")


def check_ellipse(folder):
    """Area of the polygon: pi a b, short by the inscribed polygon: n/(2 pi) sin(2 pi/n)."""
    transform = from_local(4326).GetInverse()
    with shapefile.Reader(f"{folder}/layers/ellipses.shp") as reader:
        for item in reader.iterShapeRecords():
            points = [transform.TransformPoint(*point)[:2] for point in item.shape.points]
            n = len(points) - 1
            expected = item.record["area_m2"] * n / (2 * math.pi) * math.sin(2 * math.pi / n)
            check(n >= 72 and abs(-signed_area(points) / expected - 1) < 1e-6, "ellipse: area")
            east, north = (sum(p[k] for p in points[:-1]) / n for k in (0, 1))
            check(abs(east - 180) < 0.01 and abs(north - 275) < 0.01, "ellipse: centre")
            far = max(points, key=lambda p: math.hypot(p[0] - east, p[1] - north))
            bearing = math.degrees(math.atan2(far[0] - east, far[1] - north)) % 180
            check(abs(bearing - 93.9) < 0.01, f"ellipse: bearing {bearing}")


def check_post_places(folder):
    """GPX and KML have the posts where the shapefile has them, read by GDAL (1e-8 deg)."""
    with shapefile.Reader(f"{folder}/layers/posts.shp") as reader:
        expected = {f"Post {item.record['post']}": item.shape.points[0]
                    for item in reader.iterShapeRecords()}
    for file, note in (("posts.gpx", "desc"), ("zone.kml", "description")):
        source, found = ogr.Open(f"{folder}/{file}"), {}
        for i in range(source.GetLayerCount()):
            layer = source.GetLayer(i)
            for feature in layer:
                label = feature["name"] if layer.FindFieldIndex("name", 1) >= 0 else feature["Name"]
                if label in expected:
                    at = feature.GetGeometryRef()
                    found[label] = (at.GetX(), at.GetY())
                    where = f"{in_minutes(at.GetY(), 'NS')}, {in_minutes(at.GetX(), 'EW')}"
                    check(f"Recovery crew at {where}, serves" in feature[note],
                          f"{file}: {label} has no note")
        check(found.keys() == expected.keys(), f"{file}: posts {sorted(found)}")
        for label, at in found.items():
            check(math.dist(at, expected[label]) < 1.5e-8, f"{file}: {label} at {at}")


GPX = "{http://www.topografix.com/GPX/1/1}"
GPX_ORDER = {
    "gpx": ["metadata", "wpt", "rte", "trk", "extensions"],
    "metadata": ["name", "desc", "author", "copyright", "link", "time", "keywords", "bounds",
                 "extensions"],
    "wpt": ["ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym",
            "type", "fix", "sat", "hdop", "vdop", "pdop", "ageofdgpsdata", "dgpsid", "extensions"]}
KML = "{http://www.opengis.net/kml/2.2}"
FEATURE = ["name", "visibility", "open", "address", "phoneNumber", "Snippet", "description",
           "LookAt", "TimeStamp", "styleUrl", "Style", "StyleMap", "Region", "ExtendedData"]
KML_ORDER = {
    "kml": ["NetworkLinkControl", "Document"],
    "Document": FEATURE + ["Schema", "Folder", "Placemark"],
    "Folder": FEATURE + ["Folder", "Placemark"],
    "Placemark": FEATURE + ["Point", "MultiGeometry"],
    "Style": ["IconStyle", "LabelStyle", "LineStyle", "PolyStyle", "BalloonStyle", "ListStyle"],
    "LineStyle": ["color", "colorMode", "width"],
    "PolyStyle": ["color", "colorMode", "fill", "outline"],
    "MultiGeometry": ["Polygon"],
    "Polygon": ["extrude", "tessellate", "altitudeMode", "outerBoundaryIs", "innerBoundaryIs"],
    "outerBoundaryIs": ["LinearRing"], "innerBoundaryIs": ["LinearRing"],
    "LinearRing": ["extrude", "tessellate", "altitudeMode", "coordinates"],
    "Point": ["extrude", "altitudeMode", "coordinates"]}
KML_MIXED = {"Document": {"Folder", "Placemark"}, "Folder": {"Folder", "Placemark"}}


def check_order(element, namespace, orders):
    name = element.tag.replace(namespace, "")
    order, last = orders.get(name, []), -1
    for child in element:
        key = child.tag.replace(namespace, "")
        if key not in order:
            failures.append(f"{name}: {key} may not be in it")
            continue
        place = order.index(key)
        if key in KML_MIXED.get(name, ()) and namespace == KML:
            place = min(order.index(other) for other in KML_MIXED[name])
        check(place >= last, f"{name}: {key} is out of order")
        last = place
        check_order(child, namespace, orders)


def check_gpx(folder):
    path = f"{folder}/posts.gpx"
    subprocess.run(["xmllint", "--noout", "--nonet", path], check=True)
    root = ET.parse(path).getroot()
    check(root.tag == GPX + "gpx", "gpx: root")
    check(root.get("version") == "1.1" and root.get("creator"), "gpx: version and creator")
    check_order(root, GPX, GPX_ORDER)
    points = root.findall(GPX + "wpt")
    check(len(points) == 3, "gpx: waypoints")
    for point in points:
        check(set(point.keys()) == {"lat", "lon"}, "gpx: attributes of wpt")
        check(abs(float(point.get("lat")) - LATITUDE) < 0.01, "gpx: latitude")
        check(abs(float(point.get("lon")) - LONGITUDE) < 0.01, "gpx: longitude")
    source = ogr.Open(path)
    check(source.GetLayerByName("waypoints").GetFeatureCount() == 3, "gpx: GDAL")


def check_kml(folder, placemarks):
    path = f"{folder}/zone.kml"
    subprocess.run(["xmllint", "--noout", "--nonet", path], check=True)
    root = ET.parse(path).getroot()
    check(root.tag == KML + "kml", "kml: root")
    check_order(root, KML, KML_ORDER)
    ids = {style.get("id") for style in root.iter(KML + "Style")}
    for url in root.iter(KML + "styleUrl"):
        check(url.text[1:] in ids, f"kml: style {url.text}")
    for color in root.iter(KML + "color"):
        check(len(color.text) == 8 and int(color.text, 16) >= 0, "kml: colour")
    found = 0
    source = ogr.Open(path)
    for i in range(source.GetLayerCount()):
        for feature in source.GetLayer(i):
            found += 1
            west, east, south, north = feature.GetGeometryRef().GetEnvelope()
            near = west > LONGITUDE - 0.02 and east < LONGITUDE + 0.02
            near = near and south > LATITUDE - 0.02 and north < LATITUDE + 0.02
            check(near, "kml: a place is far off")
    check(found == placemarks, f"kml: GDAL sees {found} features")


def same_bytes(a, b):
    for path, _, names in os.walk(a):
        for name in names:
            first = os.path.join(path, name)
            second = os.path.join(b, os.path.relpath(first, a))
            check(open(first, "rb").read() == open(second, "rb").read(), f"{name}: runs differ")


with tempfile.TemporaryDirectory() as home:
    plain = write(f"{home}/plain")
    check_layers(plain, 4326)
    check_landings(plain, 4326, 1e-7)  # 0.005 m of rounding is at most 6.2e-8 deg here
    check_directions(plain)
    check_against_shapefile(plain, "contours")
    check_against_shapefile(plain, "ellipses")
    check_against_shapefile(plain, "posts")
    check_ellipse(plain)
    check_post_places(plain)
    check_gpx(plain)
    check_kml(plain, 20 + 3 + 3)
    utm = write(f"{home}/utm", "crs=utm")
    check_layers(utm, 32611)
    check_landings(utm, 32611, 0.0075)
    same_bytes(plain, write(f"{home}/again"))
    layers = write(f"{home}/layers", "layers")
    check(sorted(os.listdir(layers)) == [".pappus-files", "layers", "summary.json"],
          f"layers only: {os.listdir(layers)}")
    bare = write(f"{home}/bare", "bare")
    check(not os.path.exists(f"{bare}/layers/boundary.shp"), "bare: boundary")
    with shapefile.Reader(f"{bare}/layers/landings.shp") as reader:
        check(all(record["inside"] is None for record in reader.iterRecords()), "bare: inside")
    check_kml(bare, 20 + 1)

for failure in failures[:20]:
    print(failure)
sys.exit(1 if failures else 0)
