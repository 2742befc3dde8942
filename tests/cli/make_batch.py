#!/usr/bin/python3
"""Makes a batch of invented units for the tests: make_batch.py FOLDER UNITS [SEED]

A bay with one meter and two models, logs of eight readings, a slow drift of the meter and a few units that fail. The
numbers come from plain formulas and a generator of pseudo-random numbers of its own, so that they are the same
everywhere.
"""
import datetime
import pathlib
import sys

RIG = """item,value,unit,note
bay,Invented bay for the tests,,
gravity,9.81,m/s2,
air pressure,100,kPa,
flow method,meter,,
delivery bore,80,mm,
gauge height,2,m,
water level,1,m,
speed basis,measured,,
"""
INSTRUMENTS = """channel,serial,accuracy [%],basis,range,unit,gain,zero,calibrated,due,certificate
flow,FM-1,0.5,reading,0 to 20,L/s,1,0,2025-01-10,2026-01-09,C-1
gauge pressure,PT-1,0.25,range,0 to 10,bar,1,0,2025-01-10,2026-01-09,C-2
input power,PA-1,0.5,reading,0 to 20,kW,1,0,2025-01-10,2026-01-09,C-3
speed,SP-1,0.1,reading,0 to 3600,rpm,1,0,2025-01-10,2026-01-09,C-4
water temperature,TT-1,0.5,range,0 to 50,degC,1,0,2025-01-10,2026-01-09,C-5
"""
MODELS = """model,stages,rated frequency [Hz],rated speed [rpm],guaranteed flow [L/s],guaranteed head [m],guaranteed efficiency [%],efficiency of,grade
PX-40,6,50,2900,6,38,50,set,2B
PX-60,9,50,2900,5,58,50,set,3B
"""


class Dice:
    """Lehmer's generator with the multiplier of Park and Miller 1988."""

    def __init__(self, seed):
        self.state = seed

    def uniform(self):
        self.state = self.state * 48271 % 2147483647
        return self.state / 2147483647

    def normal(self):
        return sum(self.uniform() for _ in range(12)) - 6


def log(serial, model, day, factor, efficiency, dice):
    flow0, head0 = (6.0, 40.0) if model == "PX-40" else (5.0, 61.0)
    lines = [f"# serial: {serial}", f"# model: {model}", f"# tested: {day}",
             "point,flow [L/s],gauge pressure [bar],input power [kW],speed [rpm],water temperature [degC]"]
    for point in range(8):
        q = 0.2 * point
        head = head0 * factor * (1.32 - 0.02 * q - 0.15 * q**2 - 0.15 * q**3) * (1 + 0.001 * dice.normal())
        eta = max(0.05, efficiency * (2 * q - q * q) * (1 + 0.002 * dice.normal()))
        velocity = q * flow0 / 1000 / (3.141592653589793 / 4 * 0.08**2)
        gauge = (head - 1 - velocity**2 / 19.62) * 9.78 / 100
        power = 9.78 * q * flow0 / 1000 * head / eta if q > 0 else 0.55 * 9.78 * flow0 / 1000 * head0 / efficiency
        lines.append(f"{point + 1},{q * flow0:.3f},{gauge:.4f},{power:.4f},2900,25.0")
    return "\n".join(lines) + "\n"


def main():
    folder, units = pathlib.Path(sys.argv[1]), int(sys.argv[2])
    dice = Dice(int(sys.argv[3]) if len(sys.argv) > 3 else 7)
    models = int(sys.argv[4]) if len(sys.argv) > 4 else 2
    (folder / "logs").mkdir(parents=True, exist_ok=True)
    for name, text in (("rig", RIG), ("instruments", INSTRUMENTS), ("models", MODELS)):
        (folder / f"{name}.csv").write_text(text)
    rows = ["# batch: made for the tests", "serial,model,log,tested,tester,remarks"]
    for i in range(units):
        model = "PX-60" if models > 1 and i % 3 == 2 else "PX-40"
        serial, day = f"PX-{i + 1:04d}", (datetime.date(2025, 3, 3) + datetime.timedelta(i // 2)).isoformat()
        factor = 0.97 + 0.006 * dice.normal() + 0.03 * i / max(units, 40) - (0.09 if i % 37 == 20 else 0)
        efficiency = 0.56 + 0.006 * dice.normal() - (0.1 if i % 53 == 5 else 0)
        (folder / f"logs/{serial}.csv").write_text(log(serial, model, day, factor, efficiency, dice))
        rows.append(f"{serial},{model},logs/{serial}.csv,{day},crew {'AB'[i % 2]},")
        if i % 41 == 20:  # a retest
            name = f"logs/{serial}-again.csv"
            (folder / name).write_text(log(serial, model, day, 1.0, 0.56, dice))
            rows.append(f"{serial},{model},{name},{day},crew A,after a new impeller")
        if i % 67 == 33:  # a log that the logger cut off
            (folder / f"logs/{serial}.csv").write_text("point,flow [L/s]\n1,2.0\n2,3.")
        if i % 97 == 48:  # one that is no log
            (folder / f"logs/{serial}.csv").write_text("point,flow [L/s],gauge pressure [bar]\n1,two,0.4\n")
    (folder / "units.csv").write_text("\n".join(rows) + "\n")


main()
