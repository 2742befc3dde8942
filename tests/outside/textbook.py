#!/usr/bin/python3
"""Worked examples of textbooks as logs through the command line: each is a bay and a log of its own, reduced by the program.

    DUTYPROOF=build/dutyproof /usr/bin/python3 tests/outside/textbook.py

The source stands beside each example. A tolerance is half a unit of the last place that the source prints, unless said."""
import json
import math
import os
import pathlib
import subprocess
import sys
import tempfile

TOP = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("DUTYPROOF", str(TOP / "build" / "dutyproof"))

FOOT, GALLON, POUND = 0.3048, 231 * 0.0254**3, 0.45359237
PSI = POUND * 9.80665 / 0.0254**2
HORSEPOWER = 550 * FOOT * POUND * 9.80665

failed = []


def reduce(rig, model, log, motors=None):
    """The points of a log. rig: items; model: columns; log: columns, each a list of cells."""
    with tempfile.TemporaryDirectory() as folder:
        base = pathlib.Path(folder)
        items = {"bay": "textbook,", "gravity": "9.81,m/s2", "water density": "1000,kg/m3", "air pressure": "100,kPa",
                 "flow method": "meter,", "delivery bore": "100,mm", "gauge height": "0,m", "water level": "0,m",
                 "speed basis": "measured,", **rig}
        (base / "rig.csv").write_text("item,value,unit\n" + "".join(f"{k},{v}\n" for k, v in items.items() if v is not None))
        columns = {"model": "example", "poles": "4", "phases": "3", "rated voltage [V]": "415", "rated frequency [Hz]": "50", **model}
        (base / "models.csv").write_text(",".join(columns) + "\n" + ",".join(columns.values()) + "\n")
        rows = zip(*log.values())
        (base / "log.csv").write_text("# serial: X\n" + ",".join(log) + "\n" + "".join(",".join(map(str, row)) + "\n" for row in rows))
        if motors is not None:
            (base / "motors.csv").write_text(motors)
        run = subprocess.run([PROGRAM, "reduce", "--json", "--no-papers", str(base / "log.csv")], capture_output=True, text=True)
        if run.returncode not in (0, 1):
            sys.exit(f"exit status {run.returncode}\n{run.stderr}")
        return json.loads(run.stdout)["points"]


def check(name, got, want, allowed):
    deviation = abs(got - want) if got is not None else math.inf
    good = deviation <= allowed
    print(f"{'ok  ' if good else 'FAIL'} {name}: {got if got is None else round(got, 6)}, source {want}, deviation {deviation:.2g} of {allowed:.2g}")
    if not good:
        failed.append(name)


def wire_to_water():
    """Y. A. Cengel and J. M. Cimbala, Fluid Mechanics, Ex. 5-12: 50 L/s, 100 to 300 kPa in one bore, 15 kW at the terminals,
    motor 90 %: pump efficiency 74.1 %."""
    (point,) = reduce({"suction bore": "100,mm", "suction gauge height": "0,m"}, {"motor efficiency [%]": "90"},
                      {"point": [1], "flow [L/s]": [50], "suction pressure [kPa]": [0], "gauge pressure [kPa]": [200],
                       "input power [kW]": [15], "speed [rpm]": [1450]})
    check("Cengel 5-12, pump efficiency %", 100 * point["as_tested"]["pump_efficiency"], 74.1, 0.05)
    check("Cengel 5-12, overall %", 100 * point["as_tested"]["set_efficiency"], 100 * 10 / 15, 1e-9)  # 10 kW of 15 kW


def speed_translation():
    """R. W. Fox and A. T. McDonald, Introduction to Fluid Mechanics, Ex. 7.6: 1170 to 1750 rpm, 300 gpm become 448.72 gpm, and the
    printed head of 49.05 ft and input of 6.96 hp are those of 1170 rpm by the square and the cube of the ratio."""
    tested_ft, power_hp = 49.05 * (1170 / 1750) ** 2, 6.96 * (1170 / 1750) ** 3
    (point,) = reduce({"delivery bore": "4,m", "water density": "1.94,slug/ft3", "gravity": "32.2,ft/s2"},
                      {"rated speed [rpm]": "1750"},
                      {"point": [1], "flow [US gpm]": [300], "gauge pressure [psi]": [tested_ft * 1.94 * 32.2 / 144],
                       "input power [hp]": [power_hp], "speed [rpm]": [1170]})
    rated = point["at_rated"]
    check("Fox 7.6, flow gpm", rated["flow_m3_s"] * 60 / GALLON, 448.72, 0.005)
    check("Fox 7.6, head ft", rated["head_m"] / FOOT, 49.05, 0.005)
    check("Fox 7.6, input hp", rated["input_power_w"] / HORSEPOWER, 6.96, 0.005)


def efficiencies():
    """Power and efficiency from pressure, flow and input."""
    # S. Sarkar, Fluid Mechanics and Hydraulic Machines, Ex. 10.6: 0.04 m3/s, 30 m, 75 %: 11.772 and 15.696 kW
    (point,) = reduce({"delivery bore": "4,m"}, {}, {"point": [1], "flow [m3/s]": [0.04], "gauge pressure [kPa]": [30 * 9.81],
                                                      "input power [kW]": [15.696], "speed [rpm]": [1450]})
    check("Sarkar 10.6, efficiency %", 100 * point["as_tested"]["set_efficiency"], 75.0, 0.005)
    check("Sarkar 10.6, output kW", 9.81 * 0.04 * point["as_tested"]["head_m"], 11.772, 0.0005)
    # A. V. Arasu, Turbomachines, Ex. 8.13: 57.2 m3/h, 42.1 m, 76 %: 8.634 kW
    (point,) = reduce({"delivery bore": "4,m"}, {}, {"point": [1], "flow [m3/h]": [57.2], "gauge pressure [kPa]": [42.1 * 9.81],
                                                      "input power [kW]": [8.634], "speed [rpm]": [2875]})
    check("Arasu 8.13, efficiency %", 100 * point["as_tested"]["set_efficiency"], 76.0, 0.01)  # of 8.634 +- 0.0005 kW
    # N. de Nevers, Fluid Mechanics for Chemical Engineers, Ex. 10.1: 50 gpm, 30 to 100 psia, 2.8 hp: 73 % (from memory)
    (point,) = reduce({"suction bore": "100,mm", "suction gauge height": "0,m"}, {},
                      {"point": [1], "flow [US gpm]": [50], "suction pressure [psi]": [30], "gauge pressure [psi]": [100],
                       "input power [hp]": [2.8], "speed [rpm]": [1750]})
    check("de Nevers 10.1, efficiency %", 100 * point["as_tested"]["set_efficiency"], 73, 0.5)
    check("de Nevers 10.1 by hand %", 100 * point["as_tested"]["set_efficiency"], 100 * 50 * GALLON / 60 * 70 * PSI / (2.8 * HORSEPOWER), 1e-9)
    # Bureau of Energy Efficiency (India), guide book 4, ch. 7: 0.40 m3/s, 54 m, 996 kg/m3, 325 kW, motor 88 %: 65 and 74 % (from memory)
    (point,) = reduce({"delivery bore": "4,m", "water density": "996,kg/m3", "suction bore": "4,m", "suction gauge height": "0,m"},
                      {"motor efficiency [%]": "88"},
                      {"point": [1], "flow [m3/s]": [0.40], "suction pressure [kPa]": [1 * 0.996 * 9.81], "gauge pressure [kPa]": [55 * 0.996 * 9.81],
                       "input power [kW]": [325], "speed [rpm]": [1450]})
    check("energy audit, set %", 100 * point["as_tested"]["set_efficiency"], 64.94, 0.005)
    check("energy audit, pump %", 100 * point["as_tested"]["pump_efficiency"], 73.79, 0.005)


def wattmeters():
    """J. Bird, Electrical Circuit Theory and Technology: only the sum of two wattmeters is the power."""
    def power(one, two):
        (point,) = reduce({}, {}, {"point": [1], "flow [L/s]": [5], "gauge pressure [kPa]": [300], "wattmeter 1 [W]": [one],
                                   "wattmeter 2 [W]": [two], "speed [rpm]": [1450]})
        return point["as_tested"]["input_power_w"]
    check("Bird 19.16, W", power(10618.8, 1381.2), 12000, 0.1)
    volts, phase = 415.0, complex(8, 8)
    for name, one, two, line in (("star", 8489.35, 2274.71, volts / math.sqrt(3) / abs(phase)), ("delta", 25468.05, 6824.14, math.sqrt(3) * volts / abs(phase))):
        watts = math.sqrt(3) * volts * line * math.cos(math.atan2(8, 8))
        check(f"Bird 19.18 {name}, W", power(one, two), watts, 0.01 * 2)  # two readings printed to 0.01 W; the book's product is rounded
    # Unbalanced delta, 200 V, 10 ohm at 60, 0 and 60 degrees: two books read 6000 + 2000 W and 0 + 8000 W, by the pair of lines
    # that each chose; below power factor 0.5 one of them reads backwards
    check("unbalanced delta, one book, W", power(6000, 2000), 8000, 1e-9)
    check("unbalanced delta, the other, W", power(0, 8000), 8000, 1e-9)
    # Power factor 0.3 (73 degrees): W = V I cos(30 +- 73 degrees), one of them negative
    angle = math.acos(0.3)
    one, two = (400 * 10 * math.cos(math.radians(30) + s * angle) for s in (1, -1))
    assert one < 0
    check("two wattmeters at power factor 0.3, W", power(one, two), math.sqrt(3) * 400 * 10 * 0.3, 1e-6)


def energy_meter():
    """A disc of 600 rev/kWh: 10 revolutions in 40 s are 10/600 kWh in 40 s, 1500 W (by the definition of the constant)."""
    (point,) = reduce({"meter constant": "600,rev/kWh"}, {}, {"point": [1], "flow [L/s]": [2], "gauge pressure [kPa]": [300],
                                                             "meter revolutions": [10], "meter time [s]": [40], "speed [rpm]": [1450]})
    check("energy meter, W", point["as_tested"]["input_power_w"], 10 / 600 * 3.6e6 / 40, 1e-9)
    (point,) = reduce({"meter constant": "1600,imp/kWh", "current ratio": "10,"}, {},
                      {"point": [1], "flow [L/s]": [2], "gauge pressure [kPa]": [300], "meter revolutions": [32],
                       "meter time [s]": [60], "speed [rpm]": [1450]})
    check("energy meter behind a 10:1 transformer, W", point["as_tested"]["input_power_w"], 10 * 32 / 1600 * 3.6e6 / 60, 1e-9)


def traps():
    """What is often got wrong."""
    # 1 kgf/cm2 at 20 degC is 10.02 m of water, not the 10.33 m of one atmosphere (98066.5 Pa / (998.2 kg/m3 x 9.80665 m/s2))
    (point,) = reduce({"delivery bore": "4,m", "gravity": "9.80665,m/s2", "water density": None},
                      {}, {"point": [1], "flow [L/s]": [1], "gauge pressure [kgf/cm2]": [1], "input power [kW]": [1],
                           "water temperature [C]": [20], "speed [rpm]": [1450]})
    check("1 kgf/cm2 at 20 degC, m", point["as_tested"]["head_m"], 10.02, 0.005)
    # Readings are averaged before they are reduced: of weir heads 80 and 120 mm the flow is that of 100 mm, not the mean flow
    weir = {"flow method": "v-notch,", "notch angle": "90,deg", "discharge coefficient": "0.6,", "approach width": "1,m", "notch crest height": "0.5,m"}
    common = {"gauge pressure [kPa]": [300, 300], "input power [kW]": [3, 3], "speed [rpm]": [1450, 1450]}
    (two,) = reduce(weir, {}, {"point": [1, 1], "weir head [mm]": [80, 120], **common})
    (one,) = reduce(weir, {}, {"point": [1], "weir head [mm]": [100], **{k: v[:1] for k, v in common.items()}})
    check("mean weir head first, L/s", 1e3 * two["as_tested"]["flow_m3_s"], 1e3 * one["as_tested"]["flow_m3_s"], 1e-9)
    check("V-notch of 90 degrees, Cd 0.6, 0.1 m, L/s", 1e3 * one["as_tested"]["flow_m3_s"], 1e3 * 8 / 15 * 0.6 * math.sqrt(2 * 9.81) * 0.1**2.5, 1e-9)


wire_to_water()
speed_translation()
efficiencies()
wattmeters()
energy_meter()
traps()
sys.exit(1 if failed else 0)
