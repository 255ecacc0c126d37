#!/usr/bin/python3
"""Computes climate/testdata/scipy-slab.csv and scipy-room.csv anew.

An independent route to what climate.Slab and climate.Room forecast: finite
volumes with the unknown in the middle of each cell (the surface's temperature
follows from the fluxes), stiff integrators of SciPy with their own control of
the error, started again wherever the weather bends, and a thermostat of three
modes (full, holding, off) that change at events located by the integrator.

The equations are those of the doc comments: rho c dT/dt = d/dx(k dT/dx);
C dTa/dt = (UA + M cp n)(To - Ta) + h A (Ts - Ta) + P;
M dW/dt = M n (Wo - W) + burned + dried + emitted; the like for carbon dioxide.

    /usr/bin/python3 internal/scipycheck/reference.py       # a few minutes

Temperatures are in degrees Celsius, humidity and carbon dioxide in g/kg of dry
air, fuel in kg, coats in kg/m2.
"""
import bisect
import json
import math
import os
import platform
import sys

import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.sparse import lil_matrix

HERE = os.path.dirname(os.path.abspath(__file__))
DATA = os.path.join(HERE, "..", "..", "climate", "testdata")

ZERO = 273.15
CP, R_DRY, R_VAPOUR = 1006.0, 287.042, 461.523  # J/(kg K)
EPSILON = 0.621945
LATENT = 2.45e6  # J/kg
M_CO2, M_DRY = 44.009, 28.966  # g/mol
LEWIS = 0.86


def load():
    with open(os.path.join(DATA, "scipy-cases.json")) as f:
        return json.load(f)


# ---- moist air


def ln_saturation(t):
    """ln of the saturation pressure over water (Pa), t in degC.

    Hyland and Wexler (1983); below 0 degC Murphy and Koop (2005) eq. 10.
    """
    k = t + ZERO
    if t >= 0:
        return (-5.8002206e3 / k + 1.3914993 - 4.8640239e-2 * k + 4.1764768e-5 * k**2
                - 1.4452093e-8 * k**3 + 6.5459673 * math.log(k))
    return (54.842763 - 6763.22 / k - 4.210 * math.log(k) + 0.000367 * k
            + math.tanh(0.0415 * (k - 218.8)) * (53.878 - 1331.22 / k - 9.44523 * math.log(k) + 0.014025 * k))


def saturation(t):
    return math.exp(ln_saturation(t))


def dew_point(e):
    return brentq(lambda t: ln_saturation(t) - math.log(e), -90, 90, xtol=1e-10)


def ratio(e, p):
    """g of water per kg of dry air, at vapour pressure e."""
    return 1e3 * EPSILON * e / (p - e)


def pressure(w, p):
    """Vapour pressure, w in g/kg."""
    return p * w / (1e3 * EPSILON + w)


def evaporation(ts, ta, e, p, hc):
    """kg/(m2 s) from a wet surface: Lewis relation, density and concentrations at the mean temperature."""
    mean = (ts + ta) / 2 + ZERO
    rho = p / (R_DRY * mean)
    conc = (saturation(ts) - e) / mean
    return hc / (rho * CP * LEWIS ** (2 / 3)) * conc / R_VAPOUR


def burn(formula):
    """Heating values (J/kg) and products (kg/kg) of CcHh: IUPAC masses, CODATA enthalpies."""
    c, h = formula["carbon"], formula["hydrogen"]
    kg = (12.011 * c + 1.008 * h) / 1e3
    high = formula["formation"] + c * 393.51e3 + h / 2 * 285.83e3
    return {"hhv": high / kg, "lhv": (high - h / 2 * 44.004e3) / kg,
            "water": h / 2 * 18.015e-3 / kg, "co2": c * 44.009e-3 / kg}


# ---- what drives


class Weather:
    """Straight between readings, held past the ends: temperature and vapour pressure."""

    def __init__(self, d):
        self.temp = [float(t) for t in d["temp"]]
        self.at = [float(t) for t in d.get("seconds", 3600.0 * np.arange(len(self.temp)))]
        if "rh" in d:
            self.e = [r * saturation(t) for r, t in zip(d["rh"], self.temp)]

    def value(self, y, t):
        i = bisect.bisect(self.at, t)
        if i == 0 or i == len(self.at):
            return y[max(i - 1, 0)]
        x = (t - self.at[i - 1]) / (self.at[i] - self.at[i - 1])
        return y[i - 1] * (1 - x) + y[i] * x

    def bends(self, sharp):
        """Where the integrator starts again: at every reading, or at those next to sharp slopes (K/s)."""
        out = set()
        for a, b, p, q in zip(self.at, self.at[1:], self.temp, self.temp[1:]):
            if abs(q - p) >= sharp * (b - a):
                out |= {a, b}
        return out


# ---- the slab


class Grid:
    """Cells that widen with depth; an interface of layers is a face."""

    def __init__(self, case, first, growth):
        dx, k, vol, top = [], [], [], 0.0
        for thick, cond, rho, c in case["layers"]:
            # size(x) = first + growth x, so the cell's number goes as ln(size)/growth
            number = lambda x: math.log1p(growth * x / first) / growth
            n = max(2, math.ceil(number(top + thick) - number(top)))
            s = np.linspace(number(top), number(top + thick), n + 1)
            faces = first * np.expm1(growth * s) / growth
            dx += list(np.diff(faces))
            k += [cond] * n
            vol += [rho * c] * n
            top += thick
        dx, k = np.array(dx), np.array(k)
        self.n, self.h, self.dx = len(dx), case["film"], dx
        self.cap = np.array(vol) * dx
        half = dx / 2 / k
        self.g = np.append(1 / (half[:-1] + half[1:]), 1 / half[-1] if case.get("deep") is not None else 0.0)
        self.deep = case.get("deep") or 0.0
        self.top = 1 / half[0]  # from the surface to the middle of the first cell
        self.mid = np.cumsum(dx) - dx / 2
        self.resist = np.cumsum(dx / k) - half

    def steady(self, case, surface):
        if case.get("deep") is None:
            return np.full(self.n, float(surface))
        total = sum(l[0] / l[1] for l in case["layers"])
        return surface + (self.deep - surface) * self.resist / total

    def rates(self, temp, into):
        """dT/dt for a flux into the first cell."""
        q = np.empty(self.n + 1)
        q[0] = into
        q[1:-1] = self.g[:-1] * (temp[:-1] - temp[1:])
        q[-1] = self.g[-1] * (temp[-1] - self.deep)
        return (q[:-1] - q[1:]) / self.cap


class Solver:
    def __init__(self, method="Radau", rtol=1e-8, first=2e-5, growth=0.03, sharp=0.0):
        self.method, self.rtol, self.first, self.growth, self.sharp = method, rtol, first, growth, sharp

    def options(self, sparsity, band):
        o = {"method": self.method, "rtol": self.rtol, "atol": self.rtol}
        if self.method == "LSODA":
            o.update(lband=band, uband=band)
        else:
            o["jac_sparsity"] = sparsity
        return o


def moments(hours, every):
    end = hours * 3600.0
    t = np.arange(0, end + 1e-6, every)
    return t if t[-1] == end else np.append(t, end)


def knots(at, end):
    return sorted({0.0, float(end)} | {float(t) for t in at if 0 < t < end})


def run_slab(case, weather, solver):
    """Seconds and surface temperatures."""
    g = Grid(case, solver.first, solver.growth)
    air = Weather(weather)
    out = moments(case["hours"], case["every"])
    surface = np.empty(len(out))
    surface[0] = case["initial"]
    y = np.full(g.n, float(case["initial"]))
    u = 1 / (1 / g.h + 1 / g.top)
    pattern = lil_matrix((g.n, g.n))
    for i in range(g.n):
        pattern[i, max(0, i - 1):i + 2] = 1
    options = solver.options(pattern.tocsc(), 1)
    ends = knots(air.bends(solver.sharp), out[-1])
    for t0, t1 in zip(ends, ends[1:]):
        due = np.flatnonzero((out > t0) & (out <= t1))
        t_eval = out[due] if len(due) and out[due[-1]] == t1 else np.append(out[due], t1)
        s = solve_ivp(lambda t, y: g.rates(y, u * (air.value(air.temp, t) - y[0])), (t0, t1), y, t_eval=t_eval, **options)
        if not s.success:
            raise RuntimeError(s.message)
        y = s.y[:, -1]
        ta = np.array([air.value(air.temp, t) for t in out[due]])
        surface[due] = ta - u * (ta - s.y[0, :len(due)]) / g.h
    return out, surface


# ---- the room

FULL, HOLD, OFF = "heaters at maximum", "heaters hold", ""


class Room:
    """State: carbon dioxide, coats, fuel, water, air, then the slab's cells."""

    def __init__(self, case, weather, solver):
        self.case, self.air = case, Weather(weather)
        c = case
        self.p = c.get("pressure", 101325.0)
        self.mass = self.p / (R_DRY * (c["air"] + ZERO)) * c["volume"]
        self.heat_cap = self.mass * CP + c.get("contents", 0) * c.get("contents_heat", 500.0)
        self.ua = c["envelope"]
        self.co2_out = 1e3 * c.get("co2", 420e-6) * M_CO2 / M_DRY
        self.area = c.get("floor", 0.0)
        self.coats = c.get("coats", [])
        self.heaters = []
        for h in c.get("heaters", []):
            f = burn(h["fuel"]) if "fuel" in h else None
            share = h.get("efficiency") or (f["lhv"] / f["hhv"] if f else 1.0)
            self.heaters.append(dict(h, burns=f, share=share, ends="tank" in h))
        self.n_coat, self.n_heat = len(self.coats), len(self.heaters)
        self.i_coat, self.i_fuel = 1, 1 + self.n_coat
        self.i_w = self.i_fuel + self.n_heat
        self.i_air = self.i_w + 1
        head = self.i_air + 1
        self.i_slab = head
        start = [self.co2_out] + [k["water"] for k in self.coats]
        start += [h.get("tank", 0.0) for h in self.heaters]
        start += [ratio(c["rh"] * saturation(c["air"]), self.p), c["air"]]
        self.grid = None
        if self.area:
            self.grid = Grid(c["slab"], solver.first, solver.growth)
            start += list(self.grid.steady(c["slab"], c.get("surface", c["air"])))
        self.y = np.array(start, float)
        n = len(start)
        pattern = lil_matrix((n, n))
        pattern[:head, :head + 1] = 1  # all in the air, and the first cell
        for i in range(head, n):
            pattern[i, max(0, i - 1):i + 2] = 1
        if self.area:
            pattern[head, :head] = 1
        self.sharp = solver.sharp
        self.options = solver.options(pattern.tocsc(), head)
        self.mode, self.told, self.events = None, OFF, []
        self.set, self.emitted = None, 0.0

    def setting(self, t):
        s = None
        for at, temp in self.case.get("thermostat", []):
            if at <= t:
                s = temp
        return s

    def emitting(self, t):
        """What the bare slab gives off, kg/s."""
        return sum(e["area"] * e["flux"] for e in self.case.get("emissions", []) if e["from"] <= t < e["to"])

    def changes(self, t):
        n = self.case["air_changes"] / 3600
        for d in self.case.get("openings", []):
            if d["from"] <= t < d["to"]:
                n += d["air_changes"] / 3600
        return n

    def most(self, y):
        """What each heater can give now, W."""
        return [h["max"] * h["share"] if not h["ends"] or y[self.i_fuel + i] > 0 else 0.0 for i, h in enumerate(self.heaters)]

    def surface(self, t, y):
        """Surface temperature, kg/(m2 s) of each coat, W/m2 into the first cell."""
        ta = y[self.i_air]
        if not self.area:
            return ta, [0.0] * self.n_coat, 0.0
        g, t1 = self.grid, y[self.i_slab]
        wet = [i for i, c in enumerate(self.coats) if c["at"] <= self.t0 < c.get("covered", math.inf)]
        rate = [0.0] * self.n_coat
        out = LATENT * self.emitted / self.area
        if not wet:
            ts = (g.h * ta + g.top * t1 - out) / (g.h + g.top)
            return ts, rate, g.top * (ts - t1)
        e, ts = pressure(y[self.i_w], self.p), t1
        for _ in range(5):  # converges by (h + latent dm/dT)/top, below 1e-3, each time
            for i in wet:
                c, left = self.coats[i], y[self.i_coat + i]
                share = min(1.0, max(0.0, left) / (c["critical"] * c["water"]))
                rate[i] = share * max(0.0, evaporation(ts, ta, e, self.p, c["convection"]))
            cool = LATENT * sum(m * self.coats[i]["area"] / self.area for i, m in enumerate(rate))
            ts = (g.h * ta + g.top * t1 - cool - out) / (g.h + g.top)
        return ts, rate, g.top * (ts - t1)

    def others(self, t, y, ts):
        """Heat that the air takes up but for the heaters', W."""
        to = self.air.value(self.air.temp, t)
        w = (self.ua + self.mass * CP * self.n) * (to - y[self.i_air])
        if self.area:
            w += self.grid.h * self.area * (ts - y[self.i_air])
        return w

    def heat(self, t, y, ts):
        if self.mode == FULL:
            return self.can
        if self.mode == HOLD:
            return -self.others(t, y, ts)
        return 0.0

    def rates(self, t, y):
        ts, coat, into = self.surface(t, y)
        eo = self.air.value(self.air.e, t)
        other = self.others(t, y, ts)
        p = {FULL: self.can, HOLD: -other}.get(self.mode, 0.0)
        d = np.empty_like(y)
        water, carbon, left = self.emitted, 0.0, p
        for i, h in enumerate(self.heaters):
            give = min(max(left, 0.0), self.limits[i])
            left -= give
            flow = give / h["share"] / h["burns"]["hhv"] if h["burns"] else 0.0
            d[self.i_fuel + i] = -flow
            if h.get("unvented"):
                water += flow * h["burns"]["water"]
                carbon += flow * h["burns"]["co2"]
        for i, m in enumerate(coat):
            d[self.i_coat + i] = -m
            water += m * self.coats[i]["area"]
        d[0] = self.n * (self.co2_out - y[0]) + 1e3 * carbon / self.mass
        d[self.i_w] = self.n * (ratio(eo, self.p) - y[self.i_w]) + 1e3 * water / self.mass
        d[self.i_air] = 0.0 if self.mode == HOLD else (other + p) / self.heat_cap
        if self.area:
            d[self.i_slab:] = self.grid.rates(y[self.i_slab:], into)
        return d

    # -- events

    def watched(self):
        """Functions that rise through 0, with what it is called up and down, and of which heater or coat."""
        w, out = self.case.get("watch", {}), []
        ln_e = lambda y: math.log(pressure(y[self.i_w], self.p))
        if self.area:
            margin = lambda m: lambda t, y: ln_saturation(self.surface(t, y)[0] - m) - ln_e(y)
            out.append((margin(0.0), "surface above the dew point", "surface below the dew point"))
            if "margin" in w:
                out.append((margin(w["margin"]), "margin kept", "margin broken"))
            if "surface" in w:
                out.append((lambda t, y: self.surface(t, y)[0] - w["surface"], "surface above limit", "surface below limit"))
        if "rh" in w:
            out.append((lambda t, y: ln_e(y) - ln_saturation(y[self.i_air]) - math.log(w["rh"]), "humidity above limit", "humidity below limit"))
        if "co2" in w:
            limit = 1e3 * w["co2"] * M_CO2 / M_DRY
            out.append((lambda t, y: y[0] - limit, "carbon dioxide above limit", "carbon dioxide below limit"))
        out = [o + (0,) for o in out]
        for i, c in enumerate(self.coats):  # 5 % left is dry
            out.append((lambda t, y, i=i, c=c: y[self.i_coat + i] - 0.05 * c["water"], "coat wet", "coat dry", i))
        return out

    def choose(self, t, y, fresh):
        """The thermostat's mode at t; fresh: something jumped there."""
        self.limits = self.most(y)
        self.can = sum(self.limits)
        if self.set is None or self.can == 0:
            self.mode = OFF
        else:
            off = y[self.i_air] - self.set
            if fresh and abs(off) > 1e-9:
                self.mode = FULL if off < 0 else OFF
            elif fresh or self.mode == HOLD:
                need = -self.others(t, y, self.surface(t, y)[0])
                self.mode = FULL if need > self.can else OFF if need < 0 else HOLD
        self.tell(t, y)

    def tell(self, t, y):
        """Notes a change of what the heaters do: at the maximum or not."""
        if self.set is None or self.can == 0:
            now = OFF
        else:
            now = FULL if self.mode == FULL else HOLD
        if now != self.told and now != OFF and (self.told != OFF or now == FULL):
            self.events.append((t, now, 0))
        self.told = now

    def piece(self, t0, t1, due, watched):
        """Integrates a stretch in which nothing jumps but the modes."""
        t, got = t0, []
        while t < t1:
            marks, ends = [], []

            def add(f, direction, then):
                g = lambda t, y: f(t, y)
                g.direction, g.terminal = direction, then is not None
                marks.append(g)
                ends.append(then)

            for f, _, _, _ in watched:
                add(f, 0, None)
            if self.mode == FULL:
                add(lambda t, y: y[self.i_air] - self.set, 1, HOLD)
            elif self.mode == HOLD:
                need = lambda t, y: -self.others(t, y, self.surface(t, y)[0])
                add(lambda t, y: need(t, y) - self.can, 1, FULL)
                add(need, -1, OFF)
            elif self.set is not None and self.can > 0:
                add(lambda t, y: y[self.i_air] - self.set, -1, HOLD)
            for i, h in enumerate(self.heaters):
                if h["ends"] and self.limits[i] > 0:
                    add(lambda t, y, i=i: y[self.i_fuel + i], -1, i)
            ahead = due[(due > t) & (due <= t1)]
            t_eval = ahead if len(ahead) and ahead[-1] == t1 else np.append(ahead, t1)
            s = solve_ivp(self.rates, (t, t1), self.y, t_eval=t_eval, events=marks or None, **self.options)
            if s.status < 0:
                raise RuntimeError(s.message)
            for (f, up, down, which), te, ye in zip(watched, s.t_events or [], s.y_events or []):
                for a, b in zip(te, ye):
                    later = f(a + 1e-3, b + 1e-3 * self.rates(a, b))
                    self.events.append((a, up if later > 0 else down, which))
            for k, a in enumerate(s.t):
                if k < len(ahead):
                    got.append((a, s.y[:, k], self.surface(a, s.y[:, k])[0]))
            if s.status == 0:
                self.y = s.y[:, -1]
                return got
            k = next(i for i, e in enumerate(ends) if e is not None and len(s.t_events[i]))
            t, self.y, then = float(s.t_events[k][-1]), s.y_events[k][-1].copy(), ends[k]
            if isinstance(then, int):
                self.y[self.i_fuel + then] = 0.0
                self.events.append((t, "tank empty", then))
                self.choose(t, self.y, True)
                continue
            self.mode = then
            if then == HOLD:
                self.y[self.i_air] = self.set
            self.tell(t, self.y)
        return got

    def run(self):
        c, end = self.case, self.case["hours"] * 3600.0
        out = moments(c["hours"], c["every"])
        refills = [(r["at"], i, r["add"]) for i, h in enumerate(self.heaters) for r in h.get("refills", [])]
        bends = list(self.air.bends(self.sharp)) + [s[0] for s in c.get("thermostat", [])] + [k["at"] for k in self.coats] + [r[0] for r in refills]
        for d in c.get("openings", []) + c.get("emissions", []):
            bends += [d["from"], d["to"]]
        bends += [k["covered"] for k in self.coats if "covered" in k]
        watched, states = self.watched(), []
        ends = knots(bends, end)
        for t0, t1 in zip(ends, ends[1:]):
            self.t0 = t0
            was = (self.set, self.mode is None)
            self.set, self.n = self.setting(t0), self.changes(t0)
            self.emitted = self.emitting(t0)
            fresh = was != (self.set, False)
            for at, i, add in refills:
                if at == t0:
                    fresh = fresh or self.y[self.i_fuel + i] == 0
                    self.y = self.y.copy()
                    self.y[self.i_fuel + i] += add
                    if states and states[-1][0] == t0:  # a state has what was refilled at its moment
                        states[-1] = (t0, self.y, states[-1][2])
                    self.events.append((t0, "tank refilled", i))
            self.choose(t0, self.y, fresh)
            if t0 == 0:
                for f, up, down, _ in watched:  # what is broken from the start
                    most = up.startswith(("humidity", "carbon"))
                    if (f(0.0, self.y) > 0) == most and f(0.0, self.y) != 0:
                        self.events.append((0.0, up if most else down, 0))
                states.append((0.0, self.y, c.get("surface", c["air"]) if self.area else c["air"]))
            states += self.piece(t0, t1, out, watched)
        self.states = states
        self.events.sort(key=lambda e: e[0])
        return self

    def row(self, t, y, ts):
        """Air, surface, dew point, carbon dioxide in ppm, water left in coats, fuel left (a main's: below 0)."""
        return [y[self.i_air], ts, dew_point(pressure(y[self.i_w], self.p)), 1e3 * y[0] * M_DRY / M_CO2,
                sum(y[self.i_coat + i] * k["area"] for i, k in enumerate(self.coats)),
                *[y[self.i_fuel + i] for i in range(self.n_heat)]]


def run_room(case, weather, solver):
    return Room(case, weather, solver).run()


def differ(a, b):
    """The largest difference of air and surface in two runs of a room, but for
    the hour after a tank ran dry (it is as early or late as that), and of events, s."""
    if sorted(e[1:] for e in a.events) != sorted(e[1:] for e in b.events):
        return math.inf, math.inf
    key = lambda e: (e[1], e[2], e[0])
    late = max([abs(p[0] - q[0]) for p, q in zip(sorted(a.events, key=key), sorted(b.events, key=key))], default=0.0)
    dry = [e[0] for r in (a, b) for e in r.events if e[1] == "tank empty"]
    off = 0.0
    for p, q in zip(a.states, b.states):
        if not any(t <= p[0] < t + 3600 for t in dry):
            off = max(off, abs(p[1][a.i_air] - q[1][b.i_air]), abs(p[2] - q[2]))
    return off, late


# ---- writing


def main():
    cases = load()
    fine, half = Solver(), Solver(first=1e-5, growth=0.015)
    made = "by internal/scipycheck/reference.py with SciPy %s, NumPy %s, Python %s: %s, rtol 1e-8, finite volumes" % (
        scipy.__version__, np.__version__, platform.python_version(), fine.method)

    rows, worst, cells = [], 0.0, []
    for c in cases["slabs"]:
        t, s = run_slab(c, cases["weathers"][c["air"]], half)
        _, coarse = run_slab(c, cases["weathers"][c["air"]], fine)
        off = float(np.max(np.abs(s - coarse)))
        worst = max(worst, off)
        cells.append(Grid(c, half.first, half.growth).n)
        print("%-24s %4d cells; with half as many %.1e K" % (c["name"], cells[-1], off), file=sys.stderr)
        rows += ["%s,%g,%.6f" % (c["name"], a, b) for a, b in zip(t, s)]
    with open(os.path.join(DATA, "scipy-slab.csv"), "w") as f:
        f.write("# Made %s of %d to %d cells; half as many change %.1e K at most. Surface of the slabs in scipy-cases.json.\n" % (
            made, min(cells), max(cells), worst))
        f.write("case,seconds,surface_C\n" + "\n".join(rows) + "\n")

    rows, worst, latest = [], 0.0, 0.0
    for c in cases["rooms"]:
        r = run_room(c, cases["weathers"][c["weather"]], half)
        coarse = run_room(c, cases["weathers"][c["weather"]], fine)
        off, late = differ(r, coarse)
        latest = max(latest, late)
        worst = max(worst, off)
        print("%-24s %4d cells; with half as many %.1e K, %.2f s" % (c["name"], r.grid.n if r.grid else 0, off, late), file=sys.stderr)
        for s in r.states:
            v = r.row(*s)
            v += [0.0] * (7 - len(v))
            rows.append("%s,state,%g,,,%.6f,%.6f,%.6f,%.4f,%.7f,%.7f,%.7f" % (c["name"], s[0], *v))
        for t, what, heater in r.events:
            rows.append("%s,event,%.3f,%s,%d,,,,,,," % (c["name"], t, what, heater))
    with open(os.path.join(DATA, "scipy-room.csv"), "w") as f:
        f.write("# Made %s; half as many cells change %.1e K at most, but for the hour after a tank ran dry, and events by %.1f s. States and events of the rooms in scipy-cases.json.\n" % (made, worst, latest))
        f.write("case,kind,seconds,what,heater,air_C,surface_C,dew_C,co2_ppm,coats_kg,fuel0_kg,fuel1_kg\n" + "\n".join(rows) + "\n")


if __name__ == "__main__":
    main()
