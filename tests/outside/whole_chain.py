#!/usr/bin/python3
"""Reduces every log of samples/ a second time and compares with `dutyproof reduce --json`.

    DUTYPROOF=build/dutyproof /usr/bin/python3 tests/outside/whole_chain.py

Nothing is shared with the program: the tables are read by the csv module, water is IAPWS-97 by the iapws package, the
orifice by the fluids package (ISO 5167-2), curves by numpy, roots by scipy, and the tolerances of the grades are written
out below. What the program may choose for itself, the degree of a curve, is taken from its result. Prints one line a
log; exits 1 when a deviation exceeds its tolerance or a verdict differs from samples' own list.
"""
import csv
import gzip
import io
import json
import math
import os
import pathlib
import subprocess
import sys

import numpy as np
from fluids.flow_meter import C_Reader_Harris_Gallagher
from iapws import IAPWS97
from scipy.optimize import brentq

TOP = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("DUTYPROOF", str(TOP / "build" / "dutyproof"))
EXPECTED = TOP / "tests" / "samples" / "expected.csv"

# Same formulas on the same cells: only the document's last digits (12 significant), root finders and the step of 1/20000
# of the flow in which a greatest value (flat there) is looked for may differ.
TOLERANCE = 1e-8
# Weir: here the fully contracted Ce = 0.578; the program reads Ce for the channel's depth and width from a figure, up to 0.579 at
# these heads: 0.2 % in flow, and 1.7 times that in head where the curve is steepest.
TOLERANCE_WEIR = 4e-3
# Continuous record: steady stretches are found by another rule here, so the means are of other samples. Two standard errors of the
# flow at the point that swings most, 0.16 % by the program's own statement.
TOLERANCE_RECORD = 3.2e-3

UNITS = {"": 1.0, "%": 0.01, "L/min": 1 / 6e4, "US gpm": 231 * 0.0254**3 / 60, "bar": 1e5, "psi": 0.45359237 * 9.80665 / 0.0254**2,
         "kgf/cm2": 98066.5, "kPa": 1e3, "MPa": 1e6, "m": 1.0, "mm": 1e-3, "in": 0.0254, "ft": 0.3048, "L": 1e-3, "s": 1.0, "kW": 1e3,
         "W": 1.0, "V": 1.0, "A": 1.0, "Hz": 1.0, "rpm": 1.0, "degC": 1.0, "deg": math.pi / 180, "rev/kWh": 1 / 3.6e6, "ohm": 1.0, "Mohm": 1e6, "K": 1.0,
         "ft/s2": 0.3048, "slug/ft3": 0.45359237 * 9.80665 / 0.3048 / 0.3048**3}

# ISO 9906:2012 Table 8 and 4.4.2, ISO 2548:1973 class C, all from memory: flow, head, efficiency of the set, power; as fractions.
GRADES = {"2b": (0.08, 0.05, 0.05, 0.08), "3b": (0.09, 0.07, 0.07, 0.09), "small pump": (0.10, 0.08, None, None),
          "class c": (0.07, 0.04, 0.045, None)}


# --- tables -------------------------------------------------------------------------------------------------------------


def si(text, unit):
    if unit == "degF":
        return (float(text) - 32) / 1.8
    return float(text) * UNITS[unit]


def split_heading(heading):
    for left, right in ("[]", "()"):
        if heading.rstrip().endswith(right):
            name, unit = heading.rstrip()[:-1].split(left)
            return name.strip().lower(), unit.strip()
    return heading.strip().lower(), ""


def table(path, skip=0):
    """Headings, rows (dicts by heading) and the remarks of a table."""
    raw = gzip.open(path).read() if path.suffix == ".gz" else path.read_bytes()
    lines = raw.decode("utf-8-sig").splitlines()[skip:]
    remarks = {}
    for line in lines:
        if line.startswith("#") and ":" in line:
            key, value = line[1:].split(":", 1)
            remarks[key.strip().lower()] = value.strip()
    body = [line for line in lines if line.strip() and not line.startswith("#")]
    delimiter = max(",;\t", key=body[0].count)
    rows = list(csv.reader(io.StringIO("\n".join(body)), delimiter=delimiter))
    if delimiter != ",":
        rows = [rows[0]] + [[cell.replace(",", ".") for cell in row] for row in rows[1:]]
    return rows[0], [dict(zip(rows[0], row)) for row in rows[1:]], remarks


def quantities(path):
    """Rows of a table with unit headings, numbers in SI, blanks left out."""
    headings, rows, _ = table(path)
    out = []
    for row in rows:
        item = {}
        for heading in headings:
            name, unit = split_heading(heading)
            cell = row.get(heading, "").strip()
            if cell:
                try:
                    item[name] = si(cell, unit)
                except ValueError:
                    item[name] = cell
        out.append(item)
    return out


def read_rig(folder):
    rig, columns = {}, {}
    for row in table(folder / "rig.csv")[1]:
        name, value, unit = row["item"].strip(), row["value"].strip(), (row.get("unit") or "").strip()
        if name.startswith("column "):
            columns[value] = (name[7:], unit)
        else:
            try:
                rig[name] = si(value, unit)
            except ValueError:
                rig[name] = value
    return rig, columns


def read_corrections(folder):
    if not (folder / "instruments.csv").exists():
        return {}
    return {r["channel"]: (float(r["gain"]), float(r["zero"]) * UNITS[r["unit"]]) for r in table(folder / "instruments.csv")[1]}


def read_log(path, rig, columns, corrections):
    headings, rows, remarks = table(path, int(rig.get("log header row", 1)) - 1)
    log = {}
    for heading in headings:
        name, unit = columns[heading] if heading in columns else split_heading(heading)
        value = np.array([si(row[heading], unit) for row in rows])
        gain, zero = corrections.get(name, (1.0, 0.0))
        value = gain * (value - zero)
        if name.startswith("current"):
            value = value * rig.get("current ratio", 1)
        if name.startswith("voltage"):
            value = value * rig.get("voltage ratio", 1)
        if name in ("input power", "wattmeter 1", "wattmeter 2"):
            value = value * rig.get("current ratio", 1) * rig.get("voltage ratio", 1)
        log[name] = value
    return log, remarks


# --- points ---------------------------------------------------------------------------------------------------------------


def steady_stretches(log):
    """Blocks of two seconds; a stretch is where their median flow stays put for at least 20 s while the set runs."""
    flow, power = log["flow"], log["input power"]
    block = 20
    n = len(flow) // block
    mean = np.median(flow[: n * block].reshape(n, block), axis=1)  # median: one wild sample does not move it
    on = power[: n * block].reshape(n, block).min(axis=1) > 0.2 * np.median(power)
    level = np.full(n, -1)
    start, found = 0, []
    for i in range(1, n + 1):
        centre = np.median(mean[start:i])
        if i == n or not on[i] or not on[start] or abs(mean[i] - centre) > 0.018 * np.median(flow[power > 0]):
            if on[start] and (i - start) * block >= 200:
                found.append((start, i))
            start = i
    for k, (a, b) in enumerate(found):
        level[a + 1 : b - 1] = k  # ends left out: the valve may still have been moving
    rows = np.repeat(level, block)
    return [np.flatnonzero(rows == k) for k in range(len(found))]


def mean_readings(log):
    if "point" in log:
        numbers = log["point"]
        groups = [np.flatnonzero(numbers == k) for k in sorted(set(numbers)) if k > 0]
    else:
        groups = steady_stretches(log)
    means = []
    for rows in groups:
        sound = rows
        if "point" not in log:
            flow = log["flow"][rows]
            sound = rows[np.abs(flow - np.median(flow)) <= 0.2 * max(np.median(flow), 1e-9)] if np.median(flow) > 1e-5 else rows
        means.append({name: value[sound].mean() for name, value in log.items()})
    return means


# --- physics ----------------------------------------------------------------------------------------------------------------


def site(rig):
    g = rig.get("gravity")
    if g is None:
        g = 9.7803 * (1 + 0.0053 * math.sin(rig["site latitude"]) ** 2) - 3e-6 * rig["site altitude"]
    p = rig.get("air pressure")
    if p is None:  # ISO 2533, in geopotential altitude
        altitude = 6356766 * rig["site altitude"] / (6356766 + rig["site altitude"])
        p = 101325 * (1 - 0.0065 * altitude / 288.15) ** (9.80665 / (287.05287 * 0.0065))
    return g, p


def water(t_c, p_pa):
    state = IAPWS97(T=t_c + 273.15, P=p_pa / 1e6)
    return state.rho, state.mu


def colebrook(reynolds, k_over_d):
    if reynolds < 2300:
        return 64 / reynolds
    x = brentq(lambda x: x + 2 * math.log10(k_over_d / 3.7 + 2.51 * x / reynolds), 1, 30, xtol=1e-14)
    return 1 / x**2


def flow_of(rig, m, rho, mu, g):
    method = rig["flow method"]
    if method == "meter":
        return m["flow"]
    if method == "tank volume":
        return m["tank volume"] / m["filling time"]
    if method == "v-notch":  # Kindsvater-Shen, fully contracted, 90 degrees: ISO 1438
        h = m["weir head"]
        return 0.578 * 8 / 15 * math.sqrt(2 * g) * math.tan(rig["notch angle"] / 2) * (h + 0.85e-3) ** 2.5 if h > 0 else 0.0
    pipe, throat, dp = rig["flow pipe bore"], rig["throat bore"], m["differential pressure"]
    if dp <= 0:
        return 0.0
    q = 0.6 * math.pi / 4 * throat**2 * math.sqrt(2 * dp / rho)
    for _ in range(60):
        c = C_Reader_Harris_Gallagher(pipe, throat, rho, mu, rho * q, taps="D")  # D and D/2
        q = c / math.sqrt(1 - (throat / pipe) ** 4) * math.pi / 4 * throat**2 * math.sqrt(2 * dp / rho)
    return q


def head_of(rig, m, q, rho, mu, g):
    area = math.pi / 4 * rig["delivery bore"] ** 2
    v = q / area
    loss = 0.0
    if q > 0:
        f = colebrook(rho * v * rig["delivery bore"] / mu, rig["delivery roughness"] / rig["delivery bore"]) if "delivery length" in rig else 0
        loss = (f * rig.get("delivery length", 0) / rig["delivery bore"] + rig.get("delivery loss coefficient", 0)) * v * v / (2 * g)
    if "suction pressure" in m:
        v1 = q / (math.pi / 4 * rig["suction bore"] ** 2)
        lift, dp = rig["gauge height"] - rig["suction gauge height"], m["gauge pressure"] - m["suction pressure"]
        return lift + dp / (rho * g) + (v * v - v1 * v1) / (2 * g) + loss
    level = m.get("water level", rig.get("water level"))
    return rig["gauge height"] - level + m["gauge pressure"] / (rho * g) + v * v / (2 * g) + loss


def mean_of(m, single, three):
    return m[single] if single in m else float(np.mean([m[name] for name in three])) if three[0] in m else None


def steffen(x, y, at):
    """Monotone cubic of M. Steffen, Astron. Astrophys. 239 (1990) 443."""
    h, s = np.diff(x), np.diff(y) / np.diff(x)
    p = (s[:-1] * h[1:] + s[1:] * h[:-1]) / (h[:-1] + h[1:])
    inner = (np.sign(s[:-1]) + np.sign(s[1:])) * np.minimum(np.minimum(abs(s[:-1]), abs(s[1:])), 0.5 * abs(p))
    slope = np.concatenate([[s[0]], inner, [s[-1]]])
    i = min(max(int(np.searchsorted(x, at)) - 1, 0), len(h) - 1)
    t = at - x[i]
    return ((slope[i] + slope[i + 1] - 2 * s[i]) / h[i] ** 2 * t + (3 * s[i] - 2 * slope[i] - slope[i + 1]) / h[i]) * t * t + slope[i] * t + y[i]


def reduce_point(rig, model, motors, m, g, air_pa):
    root = math.sqrt(3) if model["phases"] == 3 else 1.0
    p = {"temperature": m["water temperature"], "voltage": mean_of(m, "voltage", ["voltage ry", "voltage yb", "voltage br"]),
         "current": mean_of(m, "current", ["current r", "current y", "current b"]), "frequency": m.get("frequency"), "speed": m.get("speed")}
    mean_pa = air_pa + (m["gauge pressure"] + m.get("suction pressure", 0.0)) / 2
    rho, mu = water(m["water temperature"], mean_pa)
    rho = rig.get("water density", rho)
    p["density"] = rho
    p["flow"] = flow_of(rig, m, rho, mu, g)
    p["head"] = head_of(rig, m, p["flow"], rho, mu, g)
    if "input power" in m:
        p["power"] = m["input power"]
    elif "wattmeter 1" in m:
        p["power"] = m["wattmeter 1"] + m["wattmeter 2"]
    elif "meter revolutions" in m:
        p["power"] = m["meter revolutions"] / (rig["meter constant"] * m["meter time"])
    else:
        p["power"] = root * p["voltage"] * p["current"] * m["power factor"]
    p["hydraulic"] = rho * g * p["flow"] * p["head"]
    p["set"] = p["hydraulic"] / p["power"]
    if "motor" in model:
        x, y, n = (np.array([r[c] for r in motors if r["motor"] == model["motor"]]) for c in ("input power", "shaft power", "speed"))
        p["shaft"] = float(steffen(x, y, p["power"]))
        p["motor speed"] = float(steffen(x, n, p["power"])) * p["frequency"] / model["rated frequency"]
    elif "motor efficiency" in model:
        p["shaft"] = p["power"] * model["motor efficiency"]
    if "shaft" in p:
        p["pump"] = p["hydraulic"] / p["shaft"]
    basis = rig.get("speed basis")
    p["k"] = {"measured": lambda: model["rated speed"] / p["speed"], "frequency": lambda: model["rated frequency"] / p["frequency"],
              "motor": lambda: model["rated speed"] / p["motor speed"]}[basis]()
    if p["current"] is not None:  # at rated voltage the rated power is drawn with the same power factor
        volts = p["voltage"] / model["rated voltage"] if p["voltage"] is not None and "rated voltage" in model else 1.0
        p["rated current"] = p["current"] * p["k"] ** 3 * volts
    return p


# --- comparison ---------------------------------------------------------------------------------------------------------------


class Deviation:
    """The largest deviation met, relative to the quantity's own size (or to the log's largest of its kind, near zero)."""

    def __init__(self, tolerance):
        self.tolerance, self.worst, self.where, self.count = tolerance, 0.0, "-", 0

    def take(self, where, ours, theirs, size=None):
        self.count += 1
        size = abs(theirs) if size is None else size
        if ours is None or not math.isfinite(ours):
            deviation = math.inf
        else:
            deviation = abs(ours - theirs) / size if size > 0 else abs(ours - theirs)
        if not deviation <= self.worst:
            self.worst, self.where = deviation, where


PAIRS = [("flow_m3_s", "flow"), ("head_m", "head"), ("input_power_w", "power"), ("shaft_power_w", "shaft"), ("current_a", "current"),
         ("voltage_v", "voltage"), ("frequency_hz", "frequency"), ("speed_rpm", "speed"), ("set_efficiency", "set"), ("pump_efficiency", "pump")]


def compare_points(document, points, deviation):
    for d, p in zip(document, points):
        for key, ours in PAIRS:
            if p.get(ours) is None:
                continue
            largest = max(abs(q[ours]) for q in points if q.get(ours) is not None)
            value = d["as_tested"].get(key)
            deviation.take(f"point {d['point']} {ours}", value, p[ours], largest)
        for key, ours, power in (("flow_m3_s", "flow", 1), ("head_m", "head", 2), ("input_power_w", "power", 3)):
            largest = max(abs(q[ours]) for q in points)
            deviation.take(f"point {d['point']} {ours} at rated", d["at_rated"].get(key), p[ours] * p["k"] ** power, largest)
        deviation.take(f"point {d['point']} density", d["water"]["density_kg_m3"], p["density"])


class Fit:
    """Least squares in scaled flow by numpy, evaluated as such."""

    def __init__(self, flow, value, degree):
        self.poly = np.polynomial.Polynomial.fit(flow, value, degree)
        self.low, self.high = float(min(flow)), float(max(flow))

    def __call__(self, q):
        return float(self.poly(q))

    def inside(self, q):
        return self.low - 1e-9 * (self.high - self.low) <= q <= self.high + 1e-9 * (self.high - self.low)

    def cross(self, a, b):
        """Rightmost Q with y(Q) = a + b Q in the tested flows."""
        q = np.linspace(self.high, self.low, 4001)
        d = self.poly(q) - (a + b * q)
        for i in range(len(q) - 1):
            if d[i] == 0:
                return float(q[i])
            if d[i] * d[i + 1] < 0:
                return brentq(lambda x: float(self.poly(x)) - (a + b * x), q[i + 1], q[i], xtol=1e-15)
        return None


def fits_of(result, points):
    flow = [p["flow"] * p["k"] for p in points]
    values = {"head": [p["head"] * p["k"] ** 2 for p in points], "input_power": [p["power"] * p["k"] ** 3 for p in points],
              "current": [p["rated current"] for p in points] if "rated current" in points[0] else None, "shaft_power": [p["shaft"] * p["k"] ** 3 for p in points] if "shaft" in points[0] else None}
    out = {}
    for name, value in values.items():
        if value is None:
            continue
        degree = result["curves"].get(name, result["curves"].get("input_power", {})).get("degree")
        if degree:
            out[name] = Fit(flow, value, degree)
    out["density"] = Fit(flow, [p["density"] for p in points], 2)  # the water's, where it was pumped
    return out


def compare_curves(result, fits, deviation):
    for name in ("head", "input_power", "current"):
        document = result["curves"].get(name)
        if not document:
            continue
        c = document["coefficients"]
        q = np.linspace(fits[name].low, fits[name].high, 41)
        largest = max(abs(fits[name](x)) for x in q)
        for x in q:
            deviation.take(f"curve {name}", sum(ci * x**i for i, ci in enumerate(c)), fits[name](x), largest)


# --- verdict --------------------------------------------------------------------------------------------------------------------


def efficiency(fits, g, q, power="input_power"):
    return g * fits["density"](q) * q * fits["head"](q) / fits[power](q)


def flow_and_head(grade, q_g, h_g, fits):
    """True, False, or None where the curve does not reach."""
    t_q, t_h = GRADES[grade][:2]
    head = fits["head"](q_g) if fits["head"].inside(q_g) else None
    flow = fits["head"].cross(h_g, 0.0)
    if grade == "class c":
        if head is None or flow is None:
            return None
        if head == h_g or flow == q_g:
            return True
        return (h_g * t_h / (head - h_g)) ** 2 + (q_g * t_q / (flow - q_g)) ** 2 >= 1
    arms = [abs(head - h_g) <= t_h * h_g if head is not None else None, abs(flow - q_g) <= t_q * q_g if flow is not None else None]
    if True in arms:
        return True
    return None if head is None else False


def judge(model, duty, motor, fits, g):
    """Own verdict, value and limit (SI) of each thing that the duty states, by the name that the result document uses."""
    grade, q_g, h_g = str(duty["grade"]).lower(), duty["guaranteed flow"], duty["guaranteed head"]
    checks = {"flow and head": (flow_and_head(grade, q_g, h_g, fits), None, None)}
    t_eta, t_power = GRADES[grade][2:]
    in_range, reaches = np.array([]), False
    if "head low" in duty and "head high" in duty:
        q = np.linspace(fits["head"].low, fits["head"].high, 20001)
        h = fits["head"].poly(q)
        ends = [fits["head"].cross(duty[end], 0.0) for end in ("head low", "head high")]
        in_range = np.append(q[(h >= duty["head low"]) & (h <= duty["head high"])], [end for end in ends if end is not None])
        reaches = h[-1] <= duty["head low"]
        checks["current over head range"] = checks["input power over head range"] = (None, None, None)
    if grade == "small pump":
        tested = np.linspace(fits["shaft_power"].low, fits["shaft_power"].high, 2001)
        t_eta = (10 * (1 - max(fits["shaft_power"].poly(tested)) / 1e4) + 7) / 100
    on_line = fits["head"].cross(0.0, h_g / q_g)

    def limited(value, limit, sign):
        return (None, None, limit) if value is None else (sign * value <= sign * limit, value, limit)

    if "guaranteed efficiency" in duty:
        eta = None if on_line is None else efficiency(fits, g, on_line)
        checks["set efficiency"] = limited(eta, duty["guaranteed efficiency"] * (1 - t_eta), -1)
    if "guaranteed input power" in duty:
        power = None if on_line is None else fits["input_power"](on_line)
        checks["input power"] = limited(power, duty["guaranteed input power"] * (1 + t_power), 1)
    if len(in_range):
        input_w, shaft_w = (np.array([row[c] for row in motor]) for c in ("input power", "shaft power"))
        rated_input_w = brentq(lambda p: float(steffen(input_w, shaft_w, p)) - model["rated power"], input_w[0], input_w[-1])
        for item, curve, limit in (("current over head range", "current", model["rated current"]),
                                   ("input power over head range", "input_power", rated_input_w)):
            greatest = float(max(fits[curve].poly(in_range)))
            good = False if greatest > limit else True if reaches else None
            checks[item] = (good, None if good is None else greatest, limit)
    return checks, on_line


def compare_checks(document, checks, deviation):
    differing = [f"{item}: not in the result" for item in set(checks) - {check["item"] for check in document}]
    for check in document:
        if check["item"] not in checks:
            differing.append(f"{check['item']}: in the result only")
            continue
        good, value, limit = checks[check["item"]]
        verdict = {True: "pass", False: "fail", None: "not judged"}[None if good is None else bool(good)]
        if check["verdict"] != verdict:
            differing.append(f"{check['item']}: program {check['verdict']}, here {verdict}")
        if value is not None:
            deviation.take(f"{check['item']}", check.get("value"), value)
        if limit is not None:
            deviation.take(f"{check['item']}, limit", check.get("limit_low", check.get("limit_high")), limit)
    return differing


def compare_duties(result, duties, motor, fits, g, deviation):
    differing = []
    for document, duty in zip(result["duties"], duties):
        if "guaranteed flow" not in duty:
            continue
        q_g, h_g = duty["guaranteed flow"], duty["guaranteed head"]
        checks, on_line = judge(duties[0], duty, motor, fits, g)
        if fits["head"].inside(q_g):
            at = document["at_guaranteed_flow"]
            deviation.take("head at guaranteed flow", at.get("head_m"), fits["head"](q_g))
            deviation.take("power at guaranteed flow", at.get("input_power_w"), fits["input_power"](q_g))
            deviation.take("efficiency at guaranteed flow", at.get("set_efficiency"), efficiency(fits, g, q_g))
        crossing = fits["head"].cross(h_g, 0.0)
        if crossing is not None:
            deviation.take("flow at guaranteed head", document["at_guaranteed_head"].get("flow_m3_s"), crossing)
        if on_line is not None:
            line = document["on_duty_line"]
            deviation.take("flow on duty line", line.get("flow_m3_s"), on_line)
            deviation.take("efficiency on duty line", line.get("set_efficiency"), efficiency(fits, g, on_line))
        differing += compare_checks(document["checks"], checks, deviation)
    return differing


def compare_label(result, duty, deviation):
    """Schedule 7, second revision: stars from 1.00, 1.10 ... 1.40 of measured over minimum efficiency (secondary source)."""
    if "label" not in duty:
        return []
    label, duties = result.get("label") or {}, result["duties"][0]
    eta = [d["set_efficiency"] for d in (duties.get("on_duty_line", {}), duties.get("at_guaranteed_flow", {})) if "set_efficiency" in d]
    if not eta:
        return [] if "class" not in label else [f"label {label['class']} without an efficiency"]
    if "index" not in label:
        return ["label: no index in the result"]
    measured = min(eta, key=lambda e: abs(e - label["measured"]))
    index = measured / duty["label minimum efficiency"]
    deviation.take("label, measured efficiency", label["measured"], measured)
    deviation.take("label index", label["index"], index)
    stars = sum(index >= edge for edge in (1.0, 1.1, 1.2, 1.3, 1.4))
    return [] if label["class"].startswith(str(stars) if stars else "none") else [f"label: program {label['class']}, here {stars} star"]


def check_log(folder, path, expected):
    rig, columns = read_rig(folder)
    g, air_pa = site(rig)
    log, remarks = read_log(path, rig, columns, read_corrections(folder))
    duties = [m for m in quantities(folder / "models.csv") if m["model"] == remarks["model"]]
    motors = quantities(folder / "motors.csv") if (folder / "motors.csv").exists() else []
    points = [reduce_point(rig, duties[0], motors, m, g, air_pa) for m in mean_readings(log)]

    run = subprocess.run([PROGRAM, "reduce", "--json", "--no-papers", str(path)], capture_output=True, text=True)
    if run.returncode not in (0, 1):
        print(f"FAIL {folder.name}/{path.name}: exit {run.returncode}: {run.stderr.strip()}")
        return False
    result = json.loads(run.stdout)
    tolerance = TOLERANCE_WEIR if rig["flow method"] == "v-notch" else TOLERANCE_RECORD if "point" not in log else TOLERANCE
    deviation = Deviation(tolerance)
    deviation.take("gravity", result["site"]["gravity_m_s2"], g)
    deviation.take("air pressure", result["site"]["air_pressure_pa"], air_pa)
    if len(result["points"]) != len(points):
        print(f"FAIL {folder.name}/{path.name}: {len(result['points'])} points in the result, {len(points)} found here")
        return False
    compare_points(result["points"], points, deviation)
    fits = fits_of(result, points)
    if "head" not in fits or "input_power" not in fits:
        print(f"FAIL {folder.name}/{path.name}: no curves in the result; points deviate by {deviation.worst:.1e} ({deviation.where})")
        return False
    compare_curves(result, fits, deviation)
    motor = [row for row in motors if row["motor"] == duties[0].get("motor")]
    differing = compare_duties(result, duties, motor, fits, g, deviation) + compare_label(result, duties[0], deviation)
    if result["verdict"] != expected["verdict"]:
        differing.append(f"verdict {result['verdict']}, expected {expected['verdict']} ({expected['why']})")
    if result["calibration"] != expected["calibration"]:
        differing.append(f"calibration {result['calibration']}, expected {expected['calibration']}")
    if run.returncode != (0 if result["verdict"] == "pass" else 1):
        differing.append(f"exit status {run.returncode} with verdict {result['verdict']}")
    good = deviation.worst <= tolerance and not differing
    print(f"{'ok  ' if good else 'FAIL'} {folder.name}/{path.name}: {deviation.count} values, largest deviation {deviation.worst:.1e} "
          f"({deviation.where}; allowed {tolerance:.0e}), {result['verdict']}")
    for line in differing:
        print(f"     {line}")
    return good


def main():
    good = True
    for row in table(EXPECTED)[1]:
        folder = TOP / "samples" / row["bay"]
        good &= check_log(folder, folder / row["log"], row)
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
