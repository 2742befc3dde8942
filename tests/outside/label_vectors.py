#!/usr/bin/python3
"""Label indices computed a second time with numpy and scipy: the EU index solved for by brentq, the US index in its own units,
tolerance factors by scipy's noncentral t, and whole logs through the program.

Sources: Regulation (EU) 547/2012, annex III (surface: secondary source; loads: from memory); 10 CFR 431 subpart Y (C-values as
read, formulas from memory); ISO 16269-6 and Hahn and Meeker 1991 (factors; from memory).
"""
import json
import os
import pathlib
import subprocess
import sys

import numpy as np
from scipy import optimize, stats

np.seterr(all="ignore")  # scipy tries values beyond its own range on the way

HERE = pathlib.Path(__file__).resolve().parent
PROBE = os.path.join(sys.argv[1] if len(sys.argv) > 1 else os.environ["PROBES"], "label_probe")
PROGRAM = os.environ["DUTYPROOF"]
LOG = HERE.parent / "cli" / "bays" / "labels" / "logs" / "a.csv"
GPM, FOOT, HP = 231 * 0.0254**3 / 60, 0.3048, 550 * 0.3048 * 0.45359237 * 9.80665
LOADS, SHARES = np.array([0.75, 1.0, 1.10]), np.array([0.947, 1.0, 0.985])
failed = False


def report(name, deviation, allowed):
    global failed
    good = deviation <= allowed
    failed = failed or not good
    print(f"{'ok  ' if good else 'FAIL'} label: {name}: largest deviation {deviation:.1e} (allowed {allowed:.0e})")


def probe(name, rows):
    lines = "".join(name + " " + " ".join(repr(float(v)) for v in row) + "\n" for row in rows)
    run = subprocess.run([PROBE], input=lines, capture_output=True, text=True, check=True)
    return np.array([float(line) for line in run.stdout.split()])


def eu_required(index, n, stages, q, h, c10, c40):
    x, y = np.log(n * np.sqrt(q) / (h / stages) ** 0.75), np.log(q * 3600)
    c = c10 + (index - 0.10) / 0.30 * (c40 - c10)
    return (88.59 * x + 13.46 * y - 11.48 * x**2 - 0.85 * y**2 - 0.38 * x * y - c) / 100


def eu_index(eta, *pump):
    return optimize.brentq(lambda index: eu_required(index, *pump) - eta, -20, 20, xtol=1e-14)


def us_mean_input(shaft_hp, rated_hp, full):
    r = np.asarray(shaft_hp) / rated_hp
    y = np.where(r > 1, 1.0, np.polyval([-0.4508, 1.2399, -0.4301, 0.6410], r))
    return float(np.mean(shaft_hp + (rated_hp / full - rated_hp) * y))


def us_index(gpm, ft, hp, n, stages, c, rated_hp, full):
    q, ns = np.log(gpm[1]), np.log(n * gpm[1] ** 0.5 / (ft[1] / stages) ** 0.75)
    standard = (-0.85 * q**2 - 0.38 * ns * q - 11.48 * ns**2 + 17.80 * q + 179.80 * ns - (c + 555.6)) / 100
    return us_mean_input(hp, rated_hp, full), us_mean_input(gpm * ft / 3956 / (SHARES * standard), rated_hp, full)


def check_vectors():
    rng = np.random.default_rng(547)
    pumps = [(2900, 9, q / 3600, h, eta, 134.31, 128.79)
             for q, h, eta in zip(rng.uniform(2, 60, 200), rng.uniform(20, 200, 200), rng.uniform(0.3, 0.8, 200))]
    want = [eu_index(p[4], *p[:4], *p[5:]) for p in pumps]
    report("EU index of 200 pumps, solved by brentq", np.max(np.abs(probe("eu", pumps) - want)), 1e-9)  # rounding; indices to about 10
    at_edges = [eu_required(i, 2900, 9, 0.005, 63.0, 134.31, 128.79) for i in (0.1, 0.4)]
    report("EU vector, 64.1591 % and 69.6791 %", np.max(np.abs(np.array(at_edges) * 100 - [64.1591, 69.6791])), 5e-5)  # as printed

    gpm, ft, hp = np.array([75, 100, 110.0]), np.array([205, 180, 166.0]), np.array([5.60, 6.30, 6.55])
    per, per_std = us_index(gpm, ft, hp, 3600, 9, 134.85, 7.5, 0.68)
    got = probe("us", [[*(gpm * GPM), *(ft * FOOT), *(hp * HP), 3600, 9, 134.85, 7.5 * HP, 0.68]])[0]
    report("US vector, PEI 0.861976", max(abs(per / per_std - 0.861976), abs(got - 0.861976)), 5e-7)  # as printed
    report("US vector, both computations", abs(got - per / per_std), 1e-12)  # rounding


def check_statistics():
    rows = [(n, p, g) for n in (2, 3, 4, 5, 8, 10, 20, 50, 200) for p in (0.90, 0.95, 0.99) for g in (0.90, 0.95)]
    want = [stats.nct.ppf(g, n - 1, stats.norm.ppf(p) * n**0.5) / n**0.5 for n, p, g in rows]
    report("tolerance factors, 54 by noncentral t", np.max(np.abs(probe("tolerance", rows) / want - 1)), 1e-6)  # scipy's quantile
    rows = [(0.98, 0.1, 4, 1), (0.98, 0.01, 4, 1), (1.3, 0.1, 4, 0), (1.3, 0.01, 12, 0)]
    half = [stats.t.ppf(0.95, n - 1) * s / n**0.5 for _, s, n, _ in rows]
    want = [max(m, (m + d) / 1.05) if less else min(m, (m - d) / 0.95) for (m, _, _, less), d in zip(rows, half)]
    report("represented value", np.max(np.abs(probe("represented", rows) - want)), 1e-10)  # t quantile


def curve(result, name):
    return lambda q: np.polyval(result["curves"][name]["coefficients"][::-1], q)


def check_log(model, expect):
    """The program's own curves, everything after them here. The motor is 75 % at every load."""
    run = subprocess.run([PROGRAM, "reduce", "--json", "--no-papers", "--model", model, str(LOG)], capture_output=True, text=True)
    result = json.loads(run.stdout)
    head, power = curve(result, "head"), curve(result, "input_power")
    low, high = result["curves"]["head"]["flow_range_m3_s"]
    found = optimize.minimize_scalar(lambda q: -1000 * 9.8 * q * head(q) / (0.75 * power(q)), bounds=(low, high), method="bounded",
                                     options={"xatol": 1e-12})
    q = LOADS * found.x
    want = expect(q, head(q), power(q))
    # The best-efficiency flow is only found to about 1e-8, efficiency being flat there; the index takes it up once.
    report(f"{model}, from the log", abs(result["label"]["index"] - want), 1e-6)


def expect_eu(q, h, p1):
    eta, k = 9800 * q * h / (0.75 * p1), 2900 / 2850
    pump = (2900, 9, q[1] * k, h[1] * k**2, 134.31, 128.79)
    return min(eu_index(e / a, *pump) for e, a in zip(eta, SHARES))


def us_loads(q, h, p):
    k = 3600 / 3450
    return q * k / GPM, h * k**2 / FOOT, p * k**3 / HP


def expect_us(q, h, p1):
    per, per_std = us_index(*us_loads(q, h, 0.75 * p1), 3600, 9, 134.85, 11000 / HP, 0.75)
    return per / per_std


def expect_us_measured(q, h, p1):
    gpm, ft, hp = us_loads(q, h, p1)
    return float(np.mean(hp)) / us_index(gpm, ft, hp, 3600, 9, 134.85, 11000 / HP, 0.75)[1]


check_vectors()
check_statistics()
check_log("EU", expect_eu)
check_log("US", expect_us)
check_log("US-MEASURED", expect_us_measured)
sys.exit(1 if failed else 0)
