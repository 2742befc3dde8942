#!/usr/bin/python3
"""The curve fit against the NIST Statistical Reference Datasets and against numpy and scipy.

Usage: regression_numpy.py [DIR]   DIR holds fit_probe; without it the environment's PROBES does.
"""
import csv
import math
import os
import subprocess
import sys

import numpy as np
from scipy import stats

HERE = os.path.dirname(os.path.abspath(__file__))
PROBE = os.path.join(sys.argv[1] if len(sys.argv) > 1 else os.environ["PROBES"], "fit_probe")
failed = False


def report(name, text, good):
    global failed
    failed = failed or not good
    print(f"{'ok  ' if good else 'FAIL'} regression: {name}: {text}")


def fit(x, y, degree, at=()):
    """Runs the probe; returns its lines as lists of numbers, by name."""
    lines = "".join(f"{float(a)!r} {float(b)!r}\n" for a, b in zip(x, y))
    run = subprocess.run([PROBE, str(degree), *(repr(float(q)) for q in at)], input=lines, capture_output=True, text=True, check=True)
    found = {}
    for line in run.stdout.splitlines():
        name, *numbers = line.split()
        found.setdefault(name, []).append([float(n) for n in numbers])
    return found


def read_rows(name):
    with open(os.path.join(HERE, "regression", name + ".csv"), encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def digits(got, want):
    """Digits that agree (log relative error), 15 at most: the certified values carry no more."""
    error = abs(got - want) / abs(want) if want != 0 else abs(got)
    return 15.0 if error == 0 else min(15.0, -math.log10(error))


def raw_sd(found):
    """Standard deviations of the coefficients in powers of Q, from the covariance of those in x = (Q - center) / scale."""
    center, scale = found["scale"][0]
    p = len(found["coefficient"][0])
    change = np.zeros((p, p))
    for i in range(p):
        power = np.poly1d([1 / scale, -center / scale]) ** i
        change[: i + 1, i] = power.coefficients[::-1]
    return np.sqrt(np.diag(change @ np.array(found["covariance"]) @ change.T))


# Fewest digits that must agree: of the estimates, their standard deviations and the residual's. A backward stable fit of 16
# digits loses what the problem itself is sensitive to: of the Wampler sets 4 and 5 the scatter is 1e5 and 1e7 times the coefficients.
NIST = {
    "norris": (12, 12, 13),
    "pontius": (11, 12, 12),
    "wampler1": (8, None, None),
    "wampler2": (11, None, None),
    "wampler3": (8, 11, 13),
    "wampler4": (7, 11, 13),
    "wampler5": (5, 11, 13),
}


def check_nist():
    certified = read_rows("certified")
    for name, (of_estimates, of_sd, of_residual) in NIST.items():
        want = [row for row in certified if row["set"] == name]
        data = read_rows(name)
        found = fit([float(r["x"]) for r in data], [float(r["y"]) for r in data], want[0]["degree"])
        estimates = min(digits(g, float(w["estimate"])) for g, w in zip(found["coefficient"][0], want))
        text, good = f"estimates agree in {estimates:.1f} digits", estimates >= of_estimates
        residual = found["residual"][0][0]
        if of_sd is None:  # certified zero: exact data
            greatest = max(abs(float(r["y"])) for r in data)
            text += f", residual {residual / greatest:.1e} of the greatest y (certified 0)"
            good = good and residual <= 1e-14 * greatest  # some ten roundings of the greatest y
        else:
            sd = min(digits(g, float(w["standard_deviation"])) for g, w in zip(raw_sd(found), want))
            rsd = digits(residual, float(want[0]["residual_standard_deviation"]))
            text += f", their deviations in {sd:.1f}, the residual deviation in {rsd:.1f}"
            good = good and sd >= of_sd and rsd >= of_residual
        report(f"NIST {name}", text, good)


def numpy_fit(x, y, degree):
    """Value, slope and 95 % band of the mean, and externally studentized residuals, by the textbook from numpy's QR."""
    center, scale = (x.min() + x.max()) / 2, (x.max() - x.min()) / 2
    design = np.polynomial.legendre.legvander((x - center) / scale, degree)
    q, r = np.linalg.qr(design)
    b = np.linalg.solve(r, q.T @ y)
    freedom = len(x) - degree - 1
    residuals = y - design @ b
    rss = residuals @ residuals
    s = math.sqrt(rss / freedom)
    inverse = np.linalg.inv(r)

    def at(flow):
        u = (flow - center) / scale
        v = np.polynomial.legendre.legvander(np.array([u]), degree)[0]
        slope = np.polynomial.legendre.legval(u, np.polynomial.legendre.legder(b)) / scale
        return v @ b, slope, stats.t.ppf(0.975, freedom) * s * np.linalg.norm(v @ inverse)

    h = (q**2).sum(axis=1)
    t = np.abs(residuals) * np.sqrt((freedom - 1) / (rss * (1 - h) - residuals**2)) if freedom > 1 else np.zeros(len(x))
    far = np.abs(residuals) > 1e-3 * np.abs(y).max()
    outliers = np.nonzero(far & (t > stats.t.isf(0.01 / (2 * 2 * len(x)), max(freedom - 1, 1))))[0]
    return at, s, list(outliers)


def pump_test(random, degree):
    """Points of an invented pump: 4 .. 16 flows from shut-off on, some repeated, scatter 0.5 %, at times one gross reading."""
    count = int(random.integers(max(degree + 3, 5), 17))
    flow = np.sort(random.uniform(0, 0.02, count)) * random.choice([1, 30])
    flow[0] = 0
    u = flow / flow.max()
    y = 80 * (1 + 0.1 * u - 0.9 * u**2) * (1 + random.normal(0, 0.005, count))
    if random.random() < 0.3:
        y[random.integers(count)] *= 1.2
    return flow, y


def check_numpy():
    random = np.random.default_rng(9906)
    worst = {"value": 0.0, "slope": 0.0, "band": 0.0, "residual": 0.0}
    agreed, named, trials = 0, 0, 300
    for trial in range(trials):
        degree = 1 + trial % 4
        flow, y = pump_test(random, degree)
        at, s, outliers = numpy_fit(flow, y, degree)
        places = [flow[0], 0.37 * flow[-1], flow[-1]]
        found = fit(flow, y, degree, places)
        for place, (_, *got) in zip(places, found["at"]):
            want = at(place)
            sizes = (80.0, 80.0 / flow[-1], abs(want[2]))
            for name, g, w, size in zip(("value", "slope", "band"), got, want, sizes):
                worst[name] = max(worst[name], abs(g - w) / size)
        worst["residual"] = max(worst["residual"], abs(found["residual"][0][0] - s) / s)
        agreed += [int(i) for i in found["outliers"][0]] == outliers
        named += len(outliers) > 0
    # Two stable ways of solving one well-scaled problem: its condition times 2e-16 stays below 1e-11. The band carries
    # GSL's Student quantile, which is iterated to about 1e-9.
    for name, error in worst.items():
        report(f"numpy, {trials} fits", f"{name} within {error:.1e}", error <= (1e-8 if name == "band" else 1e-11))
    report(f"numpy, {trials} fits", f"the same outliers in {agreed} (some in {named})", agreed == trials and named > 20)


def aicc(flow, y, degree):
    """Hurvich & Tsai (1989): n ln(RSS / n) + 2 k + 2 k (k + 1) / (n - k - 1), the scatter counted among the k parameters."""
    n, k = len(flow), degree + 2
    rss = np.polyfit(flow / flow.max(), y, degree, full=True)[1][0]
    return n * math.log(rss / n) + 2 * k + 2 * k * (k + 1) / (n - k - 1)


def check_degree():
    random = np.random.default_rng(1989)
    seen, agreed, trials = set(), 0, 200
    for trial in range(trials):
        n = 7 + trial % 10
        flow = np.linspace(0, 0.02, n)
        u = flow / 0.02
        bend = random.choice([0, 0.002, 0.02, 0.2], 3)
        y = 80 - 20 * u - 80 * (bend[0] * u**2 + bend[1] * u**3 + bend[2] * u**4) + random.normal(0, 0.2, n)
        want = min(range(2, min(4, n - 4) + 1), key=lambda d: aicc(flow, y, d))
        agreed += fit(flow, y, 0)["degree"][0][0] == want
        seen.add(want)
    report(f"AICc, {trials} choices", f"{agreed} agree, degrees {sorted(seen)} chosen", agreed == trials and len(seen) >= 3)


check_nist()
check_numpy()
check_degree()
sys.exit(1 if failed else 0)
