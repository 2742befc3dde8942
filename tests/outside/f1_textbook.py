#!/usr/bin/python3
"""The published pump test of samples/textbook through the command line.

    DUTYPROOF=build/dutyproof /usr/bin/python3 tests/outside/f1_textbook.py

Source: R. W. Fox and A. T. McDonald, Introduction to Fluid Mechanics, Example 10.3 (p. 504). The table below is its
data reduced by hand in US units with the book's own rho = 1.94 slug/ft3, g = 32.2 ft/s2 and motor efficiency 0.90; the
book's printed answers at 1000 gpm (from memory: about 89 ft, 22.6 hp, 28.5 hp, 79 %) agree with it.
"""
import json
import os
import pathlib
import subprocess
import sys

TOP = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("DUTYPROOF", str(TOP / "build" / "dutyproof"))
LOG = TOP / "samples" / "textbook" / "logs" / "fox-mcdonald-10-3.csv"

FOOT, GPM = 0.3048, 231 * 0.0254**3 / 60
HORSEPOWER, MOTOR_HORSEPOWER = 550 * FOOT * 0.45359237 * 9.80665, 746.0  # the table takes hydraulic and motor power so, as is usual in US units
RHO_G = 1.94 * 32.2 * 0.45359237 * 9.80665 / FOOT**3  # N/m3; slug/ft3 x ft/s2 = lbf/ft3

# gpm, head ft, hydraulic hp, shaft hp, pump efficiency %
TABLE = [(0, 123.37, 0.0, 15.14, 0.0), (500, 112.76, 14.27, 22.04, 64.75), (800, 100.32, 20.31, 26.07, 77.90), (1000, 89.18, 22.57, 28.51, 79.16),
         (1100, 80.93, 22.53, 29.61, 76.10), (1200, 69.82, 21.20, 30.53, 69.45), (1400, 42.85, 15.18, 31.96, 47.50),
         (1500, 25.49, 9.68, 32.80, 29.50)]
BOOK_AT_1000 = (89.0, 22.6, 28.5, 79.0)

# Half a unit of the table's last place; its efficiency is a quotient of powers that were rounded to 0.01 hp first: 0.03 points.
TOLERANCE = (0.0051, 0.0051, 0.0051, 0.03)
TOLERANCE_BOOK = (0.5, 0.05, 0.05, 0.5)  # half a unit of the printed last place


def reduce_log():
    run = subprocess.run([PROGRAM, "reduce", "--json", "--no-papers", str(LOG)], capture_output=True, text=True)
    if run.returncode != 1:  # nothing is guaranteed, so nothing can be judged
        sys.exit(f"exit status {run.returncode}, expected 1 (not judged)\n{run.stderr}")
    result = json.loads(run.stdout)
    if result["verdict"] != "not judged":
        sys.exit(f"verdict {result['verdict']!r}, expected 'not judged'")
    return result


def in_book_units(point):
    state = point["as_tested"]
    hydraulic_w = RHO_G * state["flow_m3_s"] * state["head_m"]
    return (state["flow_m3_s"] / GPM, state["head_m"] / FOOT, hydraulic_w / HORSEPOWER, state["shaft_power_w"] / MOTOR_HORSEPOWER,
            100 * state["pump_efficiency"] * MOTOR_HORSEPOWER / HORSEPOWER)


def compare(name, rows, columns, tolerance):
    worst = max(rows, key=lambda row: row[0] if row[0] == row[0] else float("inf"))
    good = worst[0] <= tolerance
    print(f"{'ok  ' if good else 'FAIL'} {name}: largest deviation {worst[0]:.4f} {columns} at {worst[1]} (allowed {tolerance})")
    return good


def main():
    result = reduce_log()
    ours = [in_book_units(point) for point in result["points"]]
    if len(ours) != len(TABLE):
        sys.exit(f"{len(ours)} points, expected {len(TABLE)}")
    good = True
    for i, (name, unit) in enumerate((("head", "ft"), ("hydraulic power", "hp"), ("shaft power", "hp"), ("pump efficiency", "%"))):
        rows = [(abs(a[i + 1] - b[i + 1]), f"{b[0]} gpm") for a, b in zip(ours, TABLE)]
        good &= compare(name, rows, unit, TOLERANCE[i])
        at_1000 = abs(ours[3][i + 1] - BOOK_AT_1000[i])
        good &= compare(f"{name}, as the book prints it", [(at_1000, "1000 gpm")], unit, TOLERANCE_BOOK[i])
    good &= compare("flow", [(abs(a[0] - b[0]), f"{b[0]} gpm") for a, b in zip(ours, TABLE)], "gpm", 1e-6)
    good &= compare("head at rated speed is that of the test", [(abs(p["at_rated"]["head_m"] - p["as_tested"]["head_m"]), p["point"]) for p in result["points"]],
                    "m", 1e-9)
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
