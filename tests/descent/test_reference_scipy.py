# SPDX-License-Identifier: GPL-3.0-or-later
"""The reference integrator against SciPy.

The equation of motion (src/descent/fall.h) is written down a second time here and
integrated by scipy.integrate.solve_ivp with DOP853, its own events and its own
smooth air: the 1976 standard troposphere. Landings must agree within 0.2 m.
"""
import math
import os
import subprocess
import sys

import numpy as np
from scipy.integrate import solve_ivp

G = 9.80665
HEIGHTS = np.concatenate([np.arange(0.0, 500.0, 20.0), np.arange(500.0, 4001.0, 50.0)])
FIELDS = ("mass before after start east north height ve vn vup apogee apogee_fire "
          "drogue_cds drogue_open drogue_fill drogue_cx held main_cds main_open main_fill main_cx "
          "main_fire").split()
RESULTS = ("time east north ve vn vup drogue_fire_mps main_fire_mps drogue_load main_load "
           "main_fire_m main_full_m main_full_s").split()


def density(height):
    """1976 standard atmosphere below 11 km, geometric taken as geopotential."""
    share = 1.0 - 0.0065 * height / 288.15
    return 1.225 * share ** (G * 0.0289644 / (8.31432 * 0.0065) - 1.0)


def winds(rng):
    """Power law below 300 m, shear and veer above, a ragged part at every node."""
    speed = rng.uniform(2, 12) * np.minimum(HEIGHTS / 300.0, 1.0) ** 0.143
    speed = speed + rng.uniform(0, 0.006) * HEIGHTS
    towards = rng.uniform(0, 2 * math.pi) + rng.uniform(-4e-4, 4e-4) * HEIGHTS
    ragged = np.minimum(HEIGHTS / 100.0, 1.0)
    u = speed * np.sin(towards) + ragged * rng.normal(0, 0.5, HEIGHTS.size)
    v = speed * np.cos(towards) + ragged * rng.normal(0, 0.5, HEIGHTS.size)
    return u, v


class Fall:
    """One fall, from event to event."""

    def __init__(self, given, u, v):
        self.__dict__.update(given)
        self.u, self.v = u, v
        self.fired = {"drogue": None, "main": None}
        self.full = {"drogue": False, "main": False}
        self.load = {"drogue": math.nan, "main": math.nan}
        self.counted_until = {"drogue": math.inf, "main": math.inf}
        self.waiting = [(z, d) for z, d in self.triggers if z < self.apogee]
        for z, delay in self.triggers:
            if z >= self.apogee and self.main_cds > 0:
                self.main_fire = min(self.main_fire, delay)
        self.result = dict.fromkeys(RESULTS, math.nan)
        self.result["main_full_m"] = 0.0

    def fire_time(self, name):
        return self.apogee_fire if name == "drogue" else self.main_fire

    def area_of(self, name, t, s):
        if self.fired[name] is None:
            return 0.0
        cds = getattr(self, name + "_cds")
        if self.full[name]:
            return cds
        time = getattr(self, name + "_open")
        since = t - self.fired[name]
        part = s / getattr(self, name + "_fill") if math.isnan(time) else since / time
        return cds * min(max(part, 0.0), 1.0) ** 2

    def area(self, t, y):
        out = t >= self.apogee_fire
        held = self.held if out and self.fired["main"] is None else 0.0
        body = self.after if out else self.before
        return body + held + self.area_of("drogue", t, y[6]) + self.area_of("main", t, y[7])

    def airspeed(self, y):
        east = y[3] - np.interp(y[2], HEIGHTS, self.u)
        north = y[4] - np.interp(y[2], HEIGHTS, self.v)
        return east, north, math.sqrt(east * east + north * north + y[5] * y[5])

    def slope(self, t, y):
        east, north, speed = self.airspeed(y)
        k = 0.5 * density(y[2]) * self.area(t, y) * speed / self.mass
        return [y[3], y[4], y[5], -k * east, -k * north, -G - k * y[5], speed, speed]

    def events(self):
        def event(function):
            function.terminal, function.direction = True, -1
            return function
        yield event(lambda t, y: y[2])
        for z, _ in self.waiting:
            yield event(lambda t, y, z=z: y[2] - z)
        for name, at in (("drogue", 6), ("main", 7)):
            if self.fired[name] is not None and not self.full[name]:
                if math.isnan(getattr(self, name + "_open")):
                    fill = getattr(self, name + "_fill")
                    yield event(lambda t, y, at=at, fill=fill: fill - y[at])

    def next_time(self, t):
        times = [self.apogee_fire, self.main_fire]
        for name in ("drogue", "main"):
            if self.fired[name] is not None and not self.full[name]:
                times.append(self.fired[name] + getattr(self, name + "_open"))
        later = [x for x in times if x > t + 1e-12 and math.isfinite(x)]
        return min(later, default=t + 2000.0)

    def take(self, t, y):
        """Triggers, firings and full openings that are due."""
        for z, delay in list(self.waiting):
            if y[2] <= z + 1e-7 and y[5] <= 0:
                self.waiting.remove((z, delay))
                if self.main_cds > 0:
                    self.main_fire = min(self.main_fire, t + delay)
        for name, at in (("drogue", 6), ("main", 7)):
            cds, time = getattr(self, name + "_cds"), getattr(self, name + "_open")
            if self.fired[name] is None:
                if cds > 0 and t >= self.fire_time(name) - 1e-12:
                    self.fired[name] = t
                    y[at] = 0.0
                    self.load[name] = 0.0
                    self.result[name + "_fire_mps"] = self.airspeed(y)[2]
                    if name == "main":
                        self.result["main_fire_m"] = y[2]
            elif not self.full[name]:
                fill = getattr(self, name + "_fill")
                by_time = t >= self.fired[name] + time - 1e-12
                if y[at] >= fill - 1e-6 if math.isnan(time) else by_time:
                    self.full[name] = True
                    self.counted_until[name] = t + 2.0  # design: to 2 s after full open
                    if name == "main":
                        self.result.update(main_full_m=y[2], main_full_s=t)

    def note_loads(self, solution, start, end):
        ends = [t for t in self.counted_until.values() if start < t < end]
        for t in sorted([*np.linspace(start, end, 400), *ends]):
            y = solution(t)
            q = 0.5 * density(y[2]) * self.airspeed(y)[2] ** 2
            for name, at in (("drogue", 6), ("main", 7)):
                if self.fired[name] is not None and t <= self.counted_until[name]:
                    load = getattr(self, name + "_cx") * q * self.area_of(name, t, y[at])
                    self.load[name] = max(self.load[name], load)

    def run(self):
        t = self.start
        y = np.array([self.east, self.north, self.height, self.ve, self.vn, self.vup, 0.0, 0.0])
        while True:
            self.take(t, y)
            found = solve_ivp(self.slope, (t, self.next_time(t)), y, "DOP853", rtol=1e-8, atol=1e-8,
                              events=list(self.events()), dense_output=True, max_step=1.0)
            assert found.success, found.message
            self.note_loads(found.sol, t, found.t[-1])
            t, y = found.t[-1], found.y[:, -1].copy()
            if y[2] <= 1e-6:
                break
        self.result.update(time=t, east=y[0], north=y[1], ve=y[3], vn=y[4], vup=y[5],
                           drogue_load=self.load["drogue"], main_load=self.load["main"])
        return self.result


def falls(rng):
    """Varied falls: every way of opening, early and late events, failures."""
    inf, nan = math.inf, math.nan
    for i in range(13):
        apogee = rng.uniform(600, 3000)
        fall = dict(mass=rng.uniform(2, 20), before=0.006, after=0.05 if i % 3 else 0.0, start=0.0,
                    east=rng.normal(0, 50), north=rng.normal(0, 50), height=apogee,
                    ve=rng.normal(0, 15), vn=rng.normal(0, 15), vup=0.0, apogee=apogee,
                    apogee_fire=rng.uniform(0, 2), drogue_open=0.3 if i % 2 else nan,
                    drogue_fill=rng.uniform(2, 6), drogue_cx=1.7, held=0.0,
                    main_open=nan if i % 2 else 1.2, main_fill=rng.uniform(10, 30), main_cx=1.4,
                    main_fire=inf,
                    triggers=[(rng.uniform(120, 300), 0.1), (rng.uniform(120, 300), 0.2)])
        fall["drogue_cds"] = 2 * fall["mass"] * G / (1.2 * rng.uniform(20, 35) ** 2)
        fall["main_cds"] = 2 * fall["mass"] * G / (1.2 * rng.uniform(5, 8) ** 2)
        if i == 7:  # main at apogee, the drogue failed
            fall.update(main_fire=fall["apogee_fire"], triggers=[], drogue_cds=0.0)
        if i == 8:  # drogue only
            fall.update(main_cds=0.0, triggers=[])
        if i == 9:  # main only, the body tumbles
            fall.update(drogue_cds=0.0, after=0.1)
        if i == 10:  # nothing fires
            fall.update(apogee_fire=inf, drogue_cds=0.0, main_cds=0.0, triggers=[])
        if i == 11:  # held bundle, one trigger above the apogee
            fall.update(held=0.03, triggers=[(150.0, 0.1), (apogee + 100, 30.0)])
        if i == 12:  # early event, on the way up
            fall.update(start=-1.5, apogee_fire=-1.5, height=apogee - 0.5 * G * 1.5 ** 2,
                        vup=1.5 * G)
        yield fall


def ours(tool, cases, u, v):
    lines = [str(HEIGHTS.size)]
    lines += [f"{z!r} {density(z)!r} {a!r} {b!r}" for z, a, b in
              zip(map(float, HEIGHTS), map(float, u), map(float, v))]
    lines.append(str(len(cases)))
    for case in cases:
        values = [case[name] for name in FIELDS] + [len(case["triggers"])]
        values += [x for trigger in case["triggers"] for x in trigger]
        lines.append(" ".join(repr(float(x)) for x in values))
    done = subprocess.run([tool], input="\n".join(lines), capture_output=True, text=True,
                          check=True)
    return [dict(zip(RESULTS, map(float, line.split()))) for line in done.stdout.splitlines()]


# Bounds: 0.2 m is the design's; the rest in proportion. Loads are the largest of
# finitely many points on both sides.
BOUNDS = dict(time=0.02, east=0.2, north=0.2, ve=0.01, vn=0.01, vup=0.01, drogue_fire_mps=0.01,
              main_fire_mps=0.01, main_fire_m=0.05, main_full_m=0.05, main_full_s=0.01)


def main():
    tool = os.path.join(os.path.dirname(os.path.abspath(sys.argv[1])), "tool_reference")
    rng = np.random.default_rng(20270417)
    u, v = winds(rng)
    cases = list(falls(rng))
    found = ours(tool, cases, u, v)
    assert len(found) == len(cases) == 13
    worst, wrong = 0.0, []
    for i, (case, mine) in enumerate(zip(cases, found)):
        right = Fall(case, u, v).run()
        worst = max(worst, math.hypot(mine["east"] - right["east"], mine["north"] - right["north"]))
        for name in RESULTS:
            a, b = mine[name], right[name]
            bound = BOUNDS.get(name, 0.005 * abs(b))
            if not (math.isnan(a) and math.isnan(b)) and not abs(a - b) <= bound:
                wrong.append(f"fall {i} {name}: {a} against {b}")
    print(f"largest distance between landings {worst:.4f} m")
    if wrong:
        sys.exit("\n".join(wrong))


if __name__ == "__main__":
    main()
