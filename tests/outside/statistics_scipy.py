#!/usr/bin/python3
"""Student t, normal and combined quantiles against scipy, and the distribution of a sum of errors against numeric convolution.

    PROBES=build/probe PROBE=build/probe/probe /usr/bin/python3 tests/outside/statistics_scipy.py"""
import math
import os
import subprocess

from scipy import integrate, stats

from probing import compare, finish, probe


def student_of_fits():
    """The factor of a fit's confidence band, over the degrees of freedom that a test has."""
    got, want = [], []
    for freedom in list(range(2, 31)) + [60, 120, 400]:
        points = "".join(f"{i} {math.sin(3.7 * i)}\n" for i in range(freedom + 2))
        done = subprocess.run([os.path.join(os.environ["PROBES"], "fit_probe"), "1"], input=points, capture_output=True, text=True, check=True)
        lines = {line.split()[0]: line.split()[1:] for line in done.stdout.splitlines() if line}
        if int(lines["freedom"][0]) == freedom:
            got.append(float(lines["student_t"][0]))
            want.append(stats.t.ppf(0.975, freedom))
    compare("Student t, two-sided 95 %", got, want, 1e-8, "GSL's inverse is good to about 1e-9")


def printed_student():
    """Two-sided 95 % as printed in JCGM 100:2008, table G.2."""
    printed = {1: 12.71, 2: 4.30, 3: 3.18, 4: 2.78, 5: 2.57, 6: 2.45, 8: 2.31, 10: 2.23, 20: 2.09, 50: 2.01}
    got = probe("spread_expanded", [[0, 0, 1, freedom] for freedom in printed])
    compare("expanded uncertainty of a scatter, JCGM 100 table G.2", got, list(printed.values()), 0.0025, "printed to 0.01")


def normal():
    rows = [[0, 0, 0.7, 1e12, x] for x in (-4, -2, -1.3, -0.5, 0.01, 0.4, 1.0, 2.2, 3.9)]
    compare("normal distribution", probe("spread_probability", rows), [stats.norm.cdf(row[4] / 0.7) for row in rows], 1e-9, "t of 1e12 degrees is normal to 1e-12")
    (got,) = probe("spread_expanded", [[0, 0, 1, 1e12]])
    compare("normal quantile", [got], [stats.norm.ppf(0.975)], 1e-8, "a search to 1e-9")


def convolution():
    """Rectangles of half-widths a and b with a normal error: the mean of the normal distribution over both."""
    rows, want = [], []
    for a, b, sd in ((1, 0, 0.3), (1, 0.5, 0.2), (2, 1.9, 0.05), (0.3, 0.1, 1)):
        for x in (-2.1, -0.7, 0.2, 1.1, 1.9):
            rows.append([a, b, sd, 1e12, x])
            if b == 0:
                value, _ = integrate.quad(lambda u: stats.norm.cdf((x - u) / sd) / (2 * a), -a, a, epsabs=1e-12)
            else:
                value, _ = integrate.dblquad(lambda v, u: stats.norm.cdf((x - u - v) / sd) / (4 * a * b), -a, a, -b, b, epsabs=1e-10)
            want.append(value)
    keep = [i for i, w in enumerate(want) if w > 1e-4]  # below it the quadrature's own error counts
    got = probe("spread_probability", rows)
    compare("rectangular and normal errors together", [got[i] for i in keep], [want[i] for i in keep], 1e-6, "the quadrature is good to 1e-10 absolute, of 1e-4 at least")


student_of_fits()
printed_student()
normal()
convolution()
finish()
