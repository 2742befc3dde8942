#!/usr/bin/env python3
"""Every unit of the library against GNU units: each to its SI unit, and each pair of a dimension to one another.

Needs: a C compiler (CC, default cc) and the program units (Debian package units).
Prints one line a dimension with the largest relative deviation; fails when it is more than a few roundings.
"""
import ctypes
import os
import pathlib
import subprocess
import sys
import tempfile

TOP = pathlib.Path(__file__).resolve().parents[2]
TOLERANCE = 1e-14  # both sides multiply a handful of doubles, each rounding at most 1.1e-16

# What GNU units calls them. A revolution is a number here, as it is in the library; rpm is the library's unit of speed.
EXPRESSION = {
    "ratio": {"%": "percent", "1": "1"},
    "flow": {
        "L/s": "liter/s", "L/min": "liter/min", "L/h": "liter/hour", "m³/h": "m^3/hour", "m³/min": "m^3/min",
        "m³/s": "m^3/s", "m³/d": "m^3/day", "ML/d": "megaliter/day", "US gpm": "usgallon/min",
        "US gph": "usgallon/hour", "imp gpm": "brgallon/min", "imp gph": "brgallon/hour", "ft³/s": "ft^3/s",
        "ft³/min": "ft^3/min",
    },
    "pressure": {
        "Pa": "Pa", "hPa": "hPa", "kPa": "kPa", "MPa": "MPa", "mbar": "mbar", "bar": "bar", "kgf/cm²": "kgf/cm^2",
        "psi": "psi", "atm": "atm", "torr": "torr", "mmHg": "mmHg", "inHg": "inHg", "m water": "m water",
        "cm water": "cm water", "mm water": "mm water", "ft water": "ft water", "in water": "inch water",
    },
    "length": {"m": "m", "cm": "cm", "mm": "mm", "µm": "micron", "km": "km", "in": "inch", "ft": "ft"},
    "volume": {"m³": "m^3", "L": "liter", "mL": "ml", "ft³": "ft^3", "US gal": "usgallon", "imp gal": "brgallon"},
    "mass": {"kg": "kg", "g": "g", "t": "tonne", "lb": "lb"},
    "time": {"s": "s", "ms": "ms", "min": "min", "h": "hour", "d": "day"},
    "power": {"W": "W", "kW": "kW", "MW": "MW", "hp": "horsepower", "metric hp": "metrichorsepower",
              "electric hp": "electrichorsepower"},
    "voltage": {"V": "V", "kV": "kV", "mV": "mV"},
    "current": {"A": "A", "kA": "kA", "mA": "mA"},
    "frequency": {"Hz": "Hz", "kHz": "kHz"},
    "speed": {"rpm": "1/min", "rev/s": "1/s", "rad/s": "1/(2 pi s)"},
    "resistance": {"Ω": "ohm", "µΩ": "microohm", "mΩ": "milliohm", "kΩ": "kiloohm", "MΩ": "megaohm", "GΩ": "gigaohm"},
    "angle": {"rad": "1", "°": "degree"},
    "density": {"kg/m³": "kg/m^3", "kg/L": "kg/liter", "g/cm³": "g/cm^3", "g/L": "g/liter", "lb/ft³": "lb/ft^3",
                "slug/ft³": "slug/ft^3"},
    "acceleration": {"m/s²": "m/s^2", "cm/s²": "cm/s^2", "ft/s²": "ft/s^2"},
    "meter constant": {"rev/kWh": "1/(kW hour)", "imp/kWh": "1/(kW hour)", "imp/Wh": "1/(W hour)"},
}
SI = {"ratio": "1", "flow": "m^3/s", "pressure": "Pa", "length": "m", "volume": "m^3", "mass": "kg", "time": "s",
      "power": "W", "voltage": "V", "current": "A", "frequency": "Hz", "speed": "1/min", "resistance": "ohm",
      "angle": "1", "density": "kg/m^3", "acceleration": "m/s^2", "meter constant": "1/J"}
TEMPERATURE = {"°C": "tempC", "°F": "tempF", "K": "tempK"}


class Unit(ctypes.Structure):
    _fields_ = [("name", ctypes.c_char_p), ("dimension", ctypes.c_int), ("factor", ctypes.c_double),
                ("offset", ctypes.c_double)]


def load(folder):
    """src/base/units.c as a shared library."""
    made = os.path.join(folder, "units.so")
    subprocess.run([*os.environ.get("CC", "cc").split(), "-std=c17", "-O2", "-ffp-contract=off", "-shared", "-fPIC",
                    f"-I{TOP}/src", f"-I{TOP}/src", "-o", made, str(next(TOP.glob("src/**/units.c")))], check=True)
    library = ctypes.CDLL(made)
    library.unit_at.restype = ctypes.POINTER(Unit)
    library.unit_at.argtypes = [ctypes.c_size_t]
    library.dimension_name.restype = ctypes.c_char_p
    for convert in (library.unit_to_si, library.unit_from_si):
        convert.restype = ctypes.c_double
        convert.argtypes = [ctypes.POINTER(Unit), ctypes.c_double]
    return library


def gnu(questions):
    """What GNU units answers to a list of (have, want), all asked of one process."""
    asked = "".join(f"{have}\n{want}\n" for have, want in questions)
    answer = subprocess.run(["units", "-q", "-t", "-o", "%.17g"], input=asked, capture_output=True, text=True,
                            check=True, env={**os.environ, "LC_ALL": "C", "HOME": "/nonexistent"}).stdout.split("\n")
    numbers = [float(line) for line in answer if line.strip()]
    if len(numbers) != len(questions):
        sys.exit(f"units: {len(numbers)} answers to {len(questions)} questions: {answer[:5]}")
    return numbers


def units_by_dimension(library):
    found, index = {}, 0
    while unit := library.unit_at(index):
        dimension = library.dimension_name(unit.contents.dimension).decode()
        found.setdefault(dimension, {})[unit.contents.name.decode()] = unit
        index += 1
    return found


def main():
    with tempfile.TemporaryDirectory() as folder:
        library = load(folder)
    found = units_by_dimension(library)
    bad = total = 0
    for dimension, units in found.items():
        names = TEMPERATURE if dimension == "temperature" else EXPRESSION.get(dimension, {})
        if units.keys() != names.keys():
            print(f"{dimension}: not compared: {sorted(units.keys() ^ names.keys())}")
            bad += 1
            continue
        questions, ours = [], []
        if dimension == "temperature":
            for a in units:
                for b in units:
                    for reading in (-10.0, 4.0, 20.0, 37.5, 99.0):
                        start = reading + 273.15 if a == "K" else reading
                        questions.append((f"{names[a]}({start!r})", names[b]))
                        ours.append(library.unit_from_si(units[b], library.unit_to_si(units[a], start)))
            # near 0 °C a relative deviation says nothing: kelvin is the scale
            worst = max(abs(x - y) / 273.15 for x, y in zip(ours, gnu(questions)))
        else:
            for a in units:
                questions.append((names[a], SI[dimension]))
                ours.append(library.unit_to_si(units[a], 1.0))
                for b in units:
                    questions.append((names[a], names[b]))
                    ours.append(library.unit_from_si(units[b], library.unit_to_si(units[a], 1.0)))
            worst = max(abs(x / y - 1) for x, y in zip(ours, gnu(questions)))
        total += len(questions)
        good = worst <= TOLERANCE
        bad += not good
        print(f"{dimension}: {len(units)} units, {len(questions)} conversions, largest relative deviation {worst:.1e}"
              f"{'' if good else ' FAIL'}")
    print(f"units against GNU units: {total} conversions, {bad} dimensions failed")
    return 1 if bad or not total else 0


if __name__ == "__main__":
    sys.exit(main())
