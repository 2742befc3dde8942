"""Conformance probability of each check and each geometry against Monte Carlo through the whole chain, by other code.

Invented sets with a known true curve are read with instruments that err within their stated accuracy, and with scatter. The
program judges the logs; this file has its own reduction, fit (numpy) and geometry, written from the published rules (ISO
9906:2012, 4.4, from memory; ISO 2548 for the ellipse, from memory; IS 2 for rounding), and asks two things:

- calibration (JCGM 106:2012, clause 7, without prior knowledge): the sets are drawn evenly over a range far wider than the
  errors, so that among the sets that conform with a stated probability p a share p must truly conform: the sum of all p
  against the count of those whose true curve conforms, by check and grade. Standard deviation of the difference: the root of
  the sum of p (1 - p).
- one by one (JCGM 101:2008, clause 7): for a few sets near a limit all errors are drawn anew and taken off the readings that
  the program saw; the share of conforming curves against the probability printed.

CONFORMITY_SETS: sets a grade (default 120); CONFORMITY_DRAWS: draws a set of the second kind (default 2000).
"""
import json
import math
import os
import pathlib
import subprocess
import sys
import tempfile

import numpy as np

PROGRAM = os.path.abspath(os.environ["DUTYPROOF"])
SETS = int(os.environ.get("CONFORMITY_SETS", "120"))
DRAWS = int(os.environ.get("CONFORMITY_DRAWS", "2000"))
NEAR = 3  # sets a grade and check that are looked at one by one

# Known wrong, mended later: what the program says of these is not yet held against the truth. Whoever mends one takes it off.
KNOWN_WRONG = set()

# --- the bay --------------------------------------------------------------------------------------------------------------------

G, RHO, BORE, HEIGHT = 9.79, 997.0, 0.08, 1.2
Q_G, H_G, ETA_G, P_G, I_G, P_RATED, MOTOR = 4.3, 44.5, 0.555, 3.35, 8.2, 3.05, 0.82  # L/s, m, -, kW, A, kW shaft, -
RANGE_M = (38.0, 54.0)
# channel: unit, accuracy in % of reading, or of range, rectangular or normal with k = 2. Flow and pressure err the most, so that what the
# head curve carries along (duty line, ends of the head range) shows in efficiency, power and current.
INSTRUMENTS = {"flow": ("L/s", 1.2, "reading", "0 to 10", "rectangular"), "gauge pressure": ("kPa", 0.8, "range", "0 to 1000", "rectangular"),
               "input power": ("kW", 0.4, "reading", "0 to 10", "normal"), "current": ("A", 0.3, "reading", "0 to 20", "rectangular")}
SPAN = {"gauge pressure": 1000.0}
CHANNELS = list(INSTRUMENTS)
SCATTER = np.array([0.004, 0.6, 0.004, 0.01])  # standard deviation of one reading, in the channels' units
FLOWS, READINGS = np.linspace(0.0, 6.4, 9), 5  # far enough for the head range to be tested wholly by every set

# name: geometry, tolerances in % (flow minus, flow plus, head minus, head plus, power plus, efficiency minus), where efficiency and
# power are read, rounding, efficiency of
GRADES = {
    "cross": ("bilateral", 8, 8, 3, 3, 4, 3, "duty line", "none", "set"),
    "flat cross": ("bilateral", 3, 3, 5, 5, 4, 3, "guaranteed flow", "none", "set"),
    "narrow cross": ("bilateral", 1.2, 1.2, 1, 1, 4, 3, "duty line", "none", "pump"),
    "unilateral": ("unilateral", 0, 10, 0, 6, 4, 0, "duty line", "none", "set"),
    "ellipse": ("ellipse", 7, None, 4, None, 5, 4.5, "duty line", "none", "set"),
    "minimum": ("minimum", 4, None, 3, None, 4, 3, "duty line", "none", "set"),
    "rounded": ("bilateral", 3, 3, 5, 5, 4, 3, "duty line", "IS 2", "set"),
}


def guarantees(name):
    """Guaranteed values as written: those of the rounded profile have few places, so that rounding shows."""
    if name == "rounded":
        return {"flow": "4.3", "head": "44", "efficiency": "55", "power": "3.3", "current": "8.2"}
    return {"flow": f"{Q_G}", "head": f"{H_G}", "efficiency": f"{100 * ETA_G:.4g}", "power": f"{P_G}", "current": f"{I_G}"}


def write_bay(folder):
    (folder / "rig.csv").write_text(
        "item,value,unit,note\nflow method,meter,,\n" f"gravity,{G},m/s2,\nwater density,{RHO},kg/m3,\ndelivery bore,{1000 * BORE},mm,\n"
        f"gauge height,{HEIGHT},m,\nwater level,0,m,\nspeed basis,frequency,,\n")
    with open(folder / "instruments.csv", "w") as out:
        print("channel,serial,accuracy [%],basis,range,unit,distribution", file=out)
        for k, (channel, (unit, accuracy, basis, span, shape)) in enumerate(INSTRUMENTS.items()):
            print(f"{channel},I-{k},{accuracy},{basis},{span},{unit},{shape}", file=out)
    with open(folder / "grades.csv", "w") as out:
        print("grade,standard,aliases,geometry,flow plus [%],flow minus [%],head plus [%],head minus [%],power plus [%],current plus [%],"
              "efficiency minus set [%],efficiency minus pump [%],efficiency rule,efficiency at,power at,rounding,class,confidence,source", file=out)
        for name, (geometry, qm, qp, hm, hp, pp, em, at, rounding, _) in GRADES.items():
            blank = lambda x: "" if x is None else x
            print(f"{name},invented,,{geometry},{blank(qp)},{qm},{blank(hp)},{hm},{pp},,{em},{em},fixed,{at},{at},{rounding},2,invented,invented", file=out)
    with open(folder / "models.csv", "w") as out:
        print("model,phases,rated power [kW],rated current [A],rated frequency [Hz],guaranteed flow [L/s],guaranteed head [m],guaranteed efficiency [%],"
              "efficiency of,guaranteed input power [kW],head low [m],head high [m],grade,motor efficiency [%]", file=out)
        for name, grade in GRADES.items():
            said = guarantees(name)
            print(f"{name},3,{P_RATED},{said['current']},50,{said['flow']},{said['head']},{said['efficiency']},{grade[9]},{said['power']},"
                  f"{RANGE_M[0]},{RANGE_M[1]},{name},{100 * MOTOR}", file=out)


# --- reduction, fit, geometry: many tests at once, arrays of shape (tests, points) -------------------------------------------------


def reduce(readings):
    """Means (tests, channels, points) in the channels' units -> flow L/s, head m, input power kW, current A."""
    q, pressure, power, current = (readings[:, k, :] for k in range(4))
    velocity = q / 1000 / (math.pi / 4 * BORE**2)
    return q, HEIGHT + 1000 * pressure / (RHO * G) + velocity**2 / (2 * G), power, current


class Curves:
    """Least squares of a degree in scaled flow; values on a grid fine enough for the crossings (linear between them: off by 1e-4 m of head at most)."""

    GRID = 200

    def __init__(self, q, values, degrees):
        self.low, self.high = q.min(axis=1), q.max(axis=1)
        self.grid = self.low[:, None] + (self.high - self.low)[:, None] * np.linspace(0, 1, self.GRID + 1)
        self.head, self.power, self.current = (self.fitted(q, v, d) for v, d in zip(values, degrees))

    def fitted(self, q, value, degree):
        scale = lambda flow: (2 * flow - (self.low + self.high)[:, None]) / (self.high - self.low)[:, None]
        design = scale(q)[:, :, None] ** np.arange(degree + 1)
        coefficients = np.linalg.solve(design.transpose(0, 2, 1) @ design, design.transpose(0, 2, 1) @ value[:, :, None])
        x, out = scale(self.grid), 0.0
        for k in range(degree, -1, -1):
            out = out * x + coefficients[:, k, :]
        return out

    def at(self, values, q):
        """Values at one flow a test; NaN outside the tested flows."""
        place = (q - self.low) / (self.high - self.low) * self.GRID
        i = np.clip(np.nan_to_num(place).astype(int), 0, self.GRID - 1)
        row = np.arange(len(values))
        out = values[row, i] + (place - i) * (values[row, i + 1] - values[row, i])
        return np.where((place >= 0) & (place <= self.GRID), out, np.nan)

    def cross(self, difference):
        """The rightmost flow at which a difference comes down to zero; NaN where it does not."""
        turns = (difference[:, :-1] > 0) & (difference[:, 1:] <= 0)
        i = self.GRID - 1 - np.argmax(turns[:, ::-1], axis=1)
        row = np.arange(len(difference))
        left, right = difference[row, i], difference[row, i + 1]
        flow = self.grid[row, i] + (self.grid[row, i + 1] - self.grid[row, i]) * left / (left - right)
        return np.where(turns.any(axis=1), flow, np.nan)


def round_places(value, places):
    """IS 2: to the places of the guarantee as written; a half goes to the even digit, which no continuous value meets."""
    step = 10.0 ** (places - 1 - np.floor(np.log10(np.abs(value))))
    return np.round(value * step) / step


def conform(name, curves):
    """Which of many curves conform, by check; and all checks together."""
    geometry, qm, qp, hm, hp, pp, em, at, rounding, of = GRADES[name]
    said = guarantees(name)
    q_g, h_g, eta_g, p_g, i_g = (float(said[k]) for k in ("flow", "head", "efficiency", "power", "current"))
    eta_g /= 100
    shown = (lambda v, text: round_places(v, len(text.replace(".", "")))) if rounding == "IS 2" else (lambda v, text: v)
    n = len(curves.head)
    h = shown(curves.at(curves.head, np.full(n, q_g)), said["head"])
    q = shown(curves.cross(curves.head - h_g), said["flow"])
    if geometry == "ellipse":
        good = (h_g * hm / 100 / (h - h_g)) ** 2 + (q_g * qm / 100 / (q - q_g)) ** 2 >= 1
    elif geometry == "minimum":
        good = (h >= h_g * (1 - hm / 100)) & (q >= q_g * (1 - qm / 100))
    else:
        hl, ql = (h_g, q_g) if geometry == "unilateral" else (h_g * (1 - hm / 100), q_g * (1 - qm / 100))
        good = ((h >= hl) & (h <= h_g * (1 + hp / 100))) | ((q >= ql) & (q <= q_g * (1 + qp / 100)))
    flow = curves.cross(curves.head - curves.grid * h_g / q_g) if at == "duty line" else np.full(n, q_g)
    p = curves.at(curves.power, flow)
    eta = RHO * G * flow / 1000 * curves.at(curves.head, flow) / (1000 * p * (MOTOR if of == "pump" else 1))
    within = (curves.head >= RANGE_M[0]) & (curves.head <= RANGE_M[1])
    ends = [curves.cross(curves.head - h) for h in RANGE_M]

    def greatest(values):
        inside = np.where(within, values, -np.inf).max(axis=1)
        return np.fmax(inside, np.fmax(curves.at(values, ends[0]), curves.at(values, ends[1])))

    checks = {"flow and head": good, "efficiency": shown(100 * eta, said["efficiency"]) >= 100 * eta_g * (1 - em / 100),
              "input power": shown(p, said["power"]) <= p_g * (1 + pp / 100),
              "current": shown(greatest(curves.current), said["current"]) <= i_g, "overload power": greatest(curves.power) <= P_RATED / MOTOR}
    checks["all"] = np.logical_and.reduce(list(checks.values()))
    return checks


# --- sets and their readings ----------------------------------------------------------------------------------------------------------


def true_values(q, head, power, current):
    """An invented set; the three factors are drawn evenly. Parabolas, so that no degree is too low."""
    return (head * (60.3 - 1.0 * q - 0.62 * q**2), power * (1.95 + 0.42 * q - 0.016 * q**2), current * (4.2 + 0.86 * q - 0.022 * q**2))


def limits(means):
    """Half-widths of the instruments' limits at readings of shape (..., channels, points)."""
    out = np.empty_like(means)
    for k, channel in enumerate(CHANNELS):
        accuracy = INSTRUMENTS[channel][1] / 100
        out[..., k, :] = accuracy * SPAN[channel] if channel in SPAN else accuracy * means[..., k, :]
    return out


def instrument_errors(rng, count):
    """One error an instrument and test, in limits, for all its readings."""
    return np.stack([rng.normal(0, 0.5, count) if row[4] == "normal" else rng.uniform(-1, 1, count) for row in INSTRUMENTS.values()], axis=1)


def make_sets(rng, name):
    """Readings of sets whose factors are drawn evenly, far wider than the errors; and which of them conform."""
    factors = np.column_stack([rng.uniform(0.90, 1.12, SETS), rng.uniform(0.90, 1.10, SETS), rng.uniform(0.90, 1.10, SETS)])
    q = FLOWS * np.ones((SETS, 1))
    truth = true_values(q, *(factors[:, [k]] for k in range(3)))
    velocity = q / 1000 / (math.pi / 4 * BORE**2)
    pressure = (truth[0] - HEIGHT - velocity**2 / (2 * G)) * RHO * G / 1000
    exact = np.stack([q, pressure, truth[1], truth[2]], axis=1)
    # A reading is the true value plus the error; limits are of the reading, so that the truth is reading - error x limit(reading).
    u = instrument_errors(rng, SETS)[:, :, None]
    relative = np.array([0.0 if c in SPAN else INSTRUMENTS[c][1] / 100 for c in CHANNELS])[None, :, None]
    absolute = np.array([SPAN[c] * INSTRUMENTS[c][1] / 100 if c in SPAN else 0.0 for c in CHANNELS])[None, :, None]
    means = (exact + u * absolute) / (1 - u * relative)
    readings = means[:, :, :, None] + SCATTER[None, :, None, None] * rng.normal(size=means.shape + (READINGS,))
    # Conformance of the truth: the true curve over its tested flows, without a fit.
    curves = Curves(q, truth, (2, 2, 2))
    return readings, conform(name, curves)


def write_logs(folder, name, readings):
    names = []
    for i, one in enumerate(readings):
        serial = f"{name.replace(' ', '-')}-{i}"
        with open(folder / f"{serial}.csv", "w") as out:
            print(f"# serial: {serial}\n# model: {name}", file=out)
            print("point," + ",".join(f"{c} [{INSTRUMENTS[c][0]}]" for c in CHANNELS) + ",frequency [Hz]", file=out)
            for p in range(one.shape[1]):
                for r in range(READINGS):
                    print(f"{p + 1}," + ",".join(f"{x:.9g}" for x in one[:, p, r]) + ",50", file=out)
        names.append(serial)
    return names


ITEMS = {"flow and head": "flow and head", "input power": "input power", "current over head range": "current",
         "input power over head range": "overload power"}


def stated(document):
    """What the program says: probability by check, and of all."""
    out = {ITEMS.get(c["item"], "efficiency"): c.get("conformity_probability") for c in document["duties"][0]["checks"]}
    out["all"] = document.get("conformity_probability")
    return out


def run_program(folder, serials):
    with open(folder / "units.csv", "w") as out:
        print("serial,log", file=out)
        for serial in serials:
            print(f"{serial},{serial}.csv", file=out)
    done = subprocess.run([PROGRAM, "certify", "--no-papers", "--json", "--quiet", str(folder / "units.csv")], capture_output=True, text=True)
    documents = [json.loads(line) for line in done.stdout.split("\n") if line.strip()]
    if len(documents) != len(serials):
        sys.exit(f"conformity: {len(documents)} of {len(serials)} documents\n{done.stderr[:2000]}")
    return {d["serial"]: d for d in documents}


def posterior(rng, name, readings, document):
    """Share of conforming curves when all errors are drawn anew and taken off the readings."""
    mean, error = readings.mean(axis=2), readings.std(axis=2, ddof=1) / math.sqrt(READINGS)
    u = instrument_errors(rng, DRAWS)[:, :, None]
    scatter = rng.standard_t(READINGS - 1, size=(DRAWS,) + mean.shape) * error
    moved = mean[None] - u * limits(mean)[None] - scatter
    q, *values = reduce(moved)
    degrees = [document["curves"][k]["degree"] for k in ("head", "input_power", "current")]
    return {check: good.mean() for check, good in conform(name, Curves(q, values, degrees)).items()}


def main():
    rng = np.random.default_rng(20260317)
    failed, worst_sum, worst_one = False, 0.0, 0.0
    with tempfile.TemporaryDirectory() as place:
        folder = pathlib.Path(place)
        write_bay(folder)
        sets = {name: make_sets(rng, name) for name in GRADES}
        serials = {name: write_logs(folder, name, readings) for name, (readings, _) in sets.items()}
        documents = run_program(folder, [s for name in GRADES for s in serials[name]])
    for name, (readings, truth) in sets.items():
        said = [stated(documents[s]) for s in serials[name]]
        drawn = {}
        for check in truth:
            known = [i for i in range(SETS) if said[i].get(check) is not None]
            p = np.array([said[i][check] for i in known])
            count, error = truth[check][known].sum(), math.sqrt((p * (1 - p)).sum())
            near = sorted((i for i in known if 0.03 < said[i][check] < 0.97), key=lambda i: abs(said[i][check] - 0.5))[:NEAR]
            apart = []
            for i in near:
                if i not in drawn:
                    drawn[i] = posterior(rng, name, readings[i], documents[serials[name][i]])
                apart.append(said[i][check] - drawn[i][check])
            largest = max(apart, key=abs, default=0.0)
            wrong = (name, check) in KNOWN_WRONG
            # Sums: three of their standard deviations, and half a set for the little that the choice of degree widens p. One by
            # one: four standard deviations of a share at worst (0.5), for a hundred comparisons; for all checks together the program
            # draws 4000 times itself; and 0.01, for it takes the scatter as one normal and counts the choice of degree, which is
            # no error here.
            draws = 1 / (1 / DRAWS + 1 / 4000) if check == "all" else DRAWS
            good = abs(p.sum() - count) <= 3 * error + 0.5 and abs(largest) <= 4 * 0.5 / math.sqrt(draws) + 0.01 and len(known) > SETS / 2
            if not wrong:
                failed = failed or not good
                worst_sum = max(worst_sum, abs(p.sum() - count) / max(error, 0.5))
                worst_one = max(worst_one, abs(largest))
            if not good or "-v" in sys.argv:
                print(f"conformity, {name}, {check}: {len(known)} sets, sum of probabilities {p.sum():.1f} +/- {error:.1f}, truly conform {count}; "
                      f"of {len(near)} near a limit, Monte Carlo apart by {largest:+.3f} at most"
                      f"{'' if good else ' NOT OK, known' if wrong else ' NOT OK'}{' KNOWN WRONG, BUT OK' if wrong and good else ''}")
    print(f"conformity probability: {len(GRADES)} grades, {SETS} sets each: sums of probabilities against true counts, largest deviation {worst_sum:.1f} standard "
          f"deviations; one by one against {DRAWS} draws (+/- {0.5 / math.sqrt(DRAWS):.3f}): {worst_one:.3f}; {len(KNOWN_WRONG)} known wrong left out")
    return 1 if failed else 0


sys.exit(main())
