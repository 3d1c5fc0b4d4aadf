# SPDX-License-Identifier: GPL-3.0-or-later
"""Plans and fields through the program: one boundary in several formats gives the
same landings, and each of a table of bad inputs gives one clear line, exit status 1
and no folder."""
import os

from osgeo import ogr, osr

from helpers import Case, demo_plan, json, main, merge, read_bytes, read_json, run

ogr.UseExceptions()
osr.UseExceptions()

SQUARE = [[-98.452, 41.757], [-98.426, 41.756], [-98.4265, 41.7725], [-98.438, 41.7758],
          [-98.4525, 41.772], [-98.452, 41.757]]
HOLE = [[-98.4365, 41.7643], [-98.4352, 41.7644], [-98.4351, 41.7656], [-98.4366, 41.7655],
        [-98.4365, 41.7643]]
# Lambert conformal conic with two parallels in US survey feet (1200/3937 m), as the
# state plane coordinate systems are, but on WGS 84, so that no datum shift is chosen.
STATE_PLANE = ('PROJCS["Two parallels, US survey foot",GEOGCS["WGS 84",DATUM["WGS_1984",'
               'SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],'
               'UNIT["degree",0.0174532925199433]],PROJECTION["Lambert_Conformal_Conic_2SP"],'
               'PARAMETER["standard_parallel_1",43],PARAMETER["standard_parallel_2",40],'
               'PARAMETER["latitude_of_origin",39.8333333333333],'
               'PARAMETER["central_meridian",-100],'
               'PARAMETER["false_easting",1640416.6667],PARAMETER["false_northing",0],'
               'UNIT["US survey foot",0.304800609601219]]')


def system(definition):
    crs = osr.SpatialReference()
    if isinstance(definition, int):
        crs.ImportFromEPSG(definition)
    else:
        crs.ImportFromWkt(definition)
    crs.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    return crs


def write_shapefile(path, definition):
    """The field as a shapefile in a coordinate system, written by GDAL."""
    crs = system(definition)
    polygon = {"type": "Polygon", "coordinates": [SQUARE, HOLE]}
    geometry = ogr.CreateGeometryFromJson(json.dumps(polygon))
    geometry.AssignSpatialReference(system(4326))
    geometry.TransformTo(crs)
    source = ogr.GetDriverByName("ESRI Shapefile").CreateDataSource(path)
    layer = source.CreateLayer("field", crs, ogr.wkbPolygon)
    feature = ogr.Feature(layer.GetLayerDefn())
    feature.SetGeometry(geometry)
    layer.CreateFeature(feature)
    return path


class OneFieldInManyFormats(Case):
    def landings(self, name, boundary):
        plan = demo_plan()
        plan["field"] = {"boundary": boundary}
        status, _, err = run("scatter", self.write("plan.json", plan), "-n", "2000", "-o",
                             self.path(name))
        self.assertEqual(status, 0, err)
        return (read_bytes(self.path(name + "/layers/landings.dbf")),
                read_json(self.path(name + "/summary.json"))["all"]["inside_field"])

    def test_same_landings(self):
        polygon = {"type": "Polygon", "coordinates": [SQUARE, HOLE]}
        feature = {"type": "Feature", "properties": {"name": "field"}, "geometry": polygon}
        files = {
            "geometry": self.write("geometry.geojson", polygon),
            "collection": self.write("field.json", {"type": "FeatureCollection",
                                                    "features": [feature]}),
            "degrees": write_shapefile(self.path("degrees.shp"), 4326),
            "utm": write_shapefile(self.path("utm.shp"), 32614),
            "feet": write_shapefile(self.path("feet.shp"), STATE_PLANE),
        }
        # told by content, not by name
        files["misnamed"] = self.write("field.txt", feature)
        dbf, inside = self.landings("reference", files.pop("geometry"))
        self.assertTrue(0.2 < inside["value"] < 0.99)  # the hole and the edges count
        for name, path in files.items():
            with self.subTest(name):
                other_dbf, other_inside = self.landings(name, path)
                self.assertEqual(other_inside, inside)
                self.assertTrue(other_dbf == dbf)


def patched(**changes):
    plan = demo_plan()
    for key, value in changes.items():
        merge_at(plan, key.split("__"), value)
    return plan


def merge_at(plan, way, value):
    for step in reversed(way):
        value = {step: value}
    merge(plan, value)


def without(*way):
    plan = demo_plan()
    at = plan
    for step in way[:-1]:
        at = at[step]
    del at[way[-1]]
    return plan


def altimeters(**changes):
    return patched(altimeters=[dict({"main_height": "700 ft"}, **changes)])


# A plan (or its text), and what the one line names: the key and what was found there.
PLANS = [
    (patched(site__latitude="41.7625"), ["site.latitude", "41.7625"]),
    (patched(site__latitude="91 deg"), ["site.latitude", "91 deg"]),
    (patched(site__latitude="nan deg"), ["site.latitude", "nan"]),
    (patched(site__longitude="-181 deg"), ["site.longitude", "-181"]),
    (patched(site__elevation="2010"), ["site.elevation", "2010"]),
    (patched(site__elevation="2010 sec"), ["site.elevation", "2010 sec"]),
    (patched(site__elevation="90 km"), ["site.elevation", "90 km"]),
    (patched(site__temperature="27 K/m"), ["site.temperature", "27 K/m"]),
    (patched(site__temperature="-300 degC"), ["site.temperature", "-300"]),
    (patched(site__pressure="29.92"), ["site.pressure", "29.92"]),
    (patched(site__declination="200 deg"), ["site.declination", "200 deg"]),
    (patched(rocket__mass="0 lb"), ["rocket.mass", "0 lb"]),
    (patched(rocket__mass="18.5 lb +/- 2 ft"), ["rocket.mass", "2 ft"]),
    (patched(rocket__mass="18.5 lb +/- -1 lb"), ["rocket.mass", "-1 lb"]),
    (patched(rocket__mass="18,5 lb"), ["rocket.mass", "18,5"]),
    (patched(rocket__mass="18 lb 8 oz"), ["rocket.mass", "18 lb 8 oz"]),
    (patched(rocket__mass="1e999 lb"), ["rocket.mass", "1e999"]),
    (patched(rocket__mass=None), ["rocket.mass"]),
    (patched(rocket__mass=["18.5 lb"]), ["rocket.mass"]),
    (patched(rocket__mass={"low": "19 lb", "high": "18 lb"}), ["rocket.mass"]),
    (patched(rocket__mass={"mean": "19 lb"}), ["rocket.mass"]),
    (patched(rocket__sections="nose"), ["rocket.sections"]),
    (patched(rocket__sections=[{"name": "nose", "mass": "-1 lb"}]),
     ["rocket.sections[0].mass", "-1 lb"]),
    (patched(apogee__height="-5 ft"), ["apogee.height", "-5 ft"]),
    (patched(apogee__height="60 km"), ["apogee.height", "60 km"]),
    (patched(apogee__height="5200 'ft'"), ["apogee.height"]),
    (patched(apogee__bearing="sideways"), ["apogee.bearing", "sideways"]),
    (patched(apogee__heading="361 deg"), ["apogee.heading", "361"]),
    (patched(apogee__spread="-1 ft"), ["apogee.spread", "-1 ft"]),
    (patched(drogue__area_basis="flat"), ["drogue.area_basis", "flat"]),
    (patched(drogue__type="parasol"), ["drogue.type", "parasol"]),
    (patched(drogue__drag_coefficient="-1.5"), ["drogue.drag_coefficient", "-1.5"]),
    (patched(drogue__diameter="18"), ["drogue.diameter", "18"]),
    (patched(drogue__spill_hole="19 inch"), ["drogue"]),
    (without("drogue", "area_basis"), ["drogue", "area_basis"]),
    (without("main", "diameter"), ["main"]),
    (patched(main__rate={"speed": "17 ft/s", "mass": "20 lb"}), ["main"]),
    (patched(main__cd=0.8), ["main.cd", "main.drag_coefficient"]),
    (patched(main__held="pocket"), ["main.held", "pocket"]),
    (altimeters(main_height="700"), ["altimeters[0].main_height", "700"]),
    (altimeters(works=1.5), ["altimeters[0].works", "1.5"]),
    (altimeters(works="99.5"), ["altimeters[0].works", "99.5"]),
    (altimeters(fire_delay="0.1 ft"), ["altimeters[0].fire_delay", "0.1 ft"]),
    (altimeters(drogue_delay="-1 h"), ["altimeters[0].drogue_delay", "-1 h"]),
    (patched(altimeters={"name": "primary"}), ["altimeters"]),
    (patched(faults__main_early=-0.1), ["faults.main_early", "-0.1"]),
    (patched(wind__surface__speed="8 knotts"), ["wind.surface.speed", "8 knotts"]),
    (patched(wind__surface__speed="-8 mph"), ["wind.surface.speed", "-8 mph"]),
    (patched(wind__surface__direction="225"), ["wind.surface.direction", "225"]),
    (patched(wind__surface__direction="SWS"), ["wind.surface.direction", "SWS"]),
    (patched(wind__age="3"), ["wind.age", "3"]),
    (patched(wind__time="tomorrow"), ["wind.time", "tomorrow"]),
    (patched(wind__time="2027-02-30T15:00Z"), ["wind.time", "2027-02-30"]),
    (patched(wind__profiles=[]) | {"wind": {}}, ["wind"]),
    (patched(limits__inside_field=95), ["limits.inside_field", "95"]),
    (patched(limits__keep_out="one"), ["limits.keep_out", "one"]),
    (patched(limits__landing_energy="75 ft"), ["limits.landing_energy", "75 ft"]),
    (patched(heights__from="2000 ft"), ["heights"]),
    (patched(heights__step="0 ft"), ["heights.step", "0 ft"]),
    (patched(crews__posts=-1), ["crews.posts", "-1"]),
    (patched(run__landings=1e12), ["run.landings"]),
    (patched(run__seed=1.5), ["run.seed", "1.5"]),
    (patched(base="no_such.json"), ["no_such.json"]),
    (patched(base="plan.json"), ["plan.json"]),
    (patched(title=5), ["title", "5"]),
    (b'{"title": "\xff\xfe"}', ["plan.json"]),
    (b'{"title": "a\nb"}', ["plan.json"]),
    (b'{"title": "a\\u0000b"}', ["plan.json"]),
    (b'{"title": "a"} trailing', ["plan.json"]),
    (b"{" * 100000, ["plan.json"]),
    (b"\x00\x01\x02", ["plan.json"]),
]


def ring(*points):
    return json.dumps({"type": "Polygon", "coordinates": [list(points)]})


# A boundary file's content, and words of the line.
FIELDS = [
    ("", []),
    ("{}", []),
    ("[1, 2, 3]", []),
    ('{"type": "Polygon", "coordinates": []}', []),
    ('{"type": "Point", "coordinates": [-98.44, 41.76]}', []),
    ('{"type": "FeatureCollection", "features": []}', []),
    (ring(*SQUARE[:2], SQUARE[0]), []),
    (ring(*SQUARE[:-1]), []),
    (ring([-98.46, 41.75], [-98.42, 41.78], [-98.42, 41.75], [-98.46, 41.78], [-98.46, 41.75]), []),
    (ring(*[[y, x] for x, y in SQUARE]), []),
    (ring(*[[x, "north"] for x, y in SQUARE]), []),
    (ring(*[[500000 + i, 4620000 + i * i] for i in range(4)], [500000, 4620000]), []),
    (b"\x00\x00\x27\x0a" + b"\x00" * 96, []),
    ('{"type": "Polygon", "coordinates": [[[-98.452, 41.757], [-98.426', []),
]


class BadInput(Case):
    def refused(self, plan, words):
        before = sorted(os.listdir(self.folder))
        status, out, err = run("brief", plan, "-n", "2000", "-o", self.path("out"))
        self.assertEqual((status, out), (1, ""), err)
        self.assertEqual(sorted(os.listdir(self.folder)), before)
        lines = [line for line in err.splitlines() if line.startswith("pappus: error: ")]
        self.assertEqual(len(lines), 1, err)
        for word in words:
            self.assertIn(word, lines[0])
        self.assertLess(len(lines[0]), 600)

    def test_plans(self):
        self.assertGreater(len(PLANS), 60)
        for i, (plan, words) in enumerate(PLANS):
            with self.subTest(f"{i}: {words}"):
                self.refused(self.write("plan.json", plan), words)

    def test_fields(self):
        for i, (content, words) in enumerate(FIELDS):
            self.write("field.geojson", content)
            for where in ("boundary", "keep_out"):
                plan = patched()
                plan["field"] = {where: "field.geojson"}
                with self.subTest(f"{i}: {where}"):
                    self.refused(self.write("plan.json", plan), ["field.geojson", *words])

    def test_shapefile_without_parts(self):
        for missing in (".prj", ".shx", ".dbf"):
            path = write_shapefile(self.path("field.shp"), 32614)
            os.remove(self.path("field" + missing))
            plan = self.write("plan.json", patched(field__boundary=path))
            with self.subTest(missing):
                if missing == ".dbf":  # names only
                    self.assertEqual(run("check", plan)[0], 0)
                else:
                    self.refused(plan, ["field", missing])

    def test_plan_that_is_a_folder_or_absent(self):
        self.refused(self.folder, [])
        self.refused(self.path("absent.json"), ["absent.json"])


if __name__ == "__main__":
    main()
