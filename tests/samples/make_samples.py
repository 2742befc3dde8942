#!/usr/bin/python3
"""Makes the logs and motor curves of samples/ again, byte for byte.

    /usr/bin/python3 tests/samples/make_samples.py [FOLDER]      (default: the samples folder beside tests)

Maker, town, models and units are invented. Each log is what the instruments of an imagined bay would show while an
imagined set runs there: a stage curve scaled by affinity to the speed that the motor really has at that load, voltage
and frequency; an unsteady supply; water that warms up; instruments with an error inside their accuracy, noise and a
last digit. Nothing here is shared with the program or with its tests, so that a mistake cannot hide in both.
"""
import gzip
import pathlib
import sys
import zlib
from dataclasses import dataclass, field, replace

import numpy as np

# --- the world -----------------------------------------------------------------------------------------------------


def gravity(latitude_deg, altitude_m):
    return 9.7803 * (1 + 0.0053 * np.sin(np.radians(latitude_deg)) ** 2) - 3e-6 * altitude_m


def density(t_c):
    """Water at 1 bar, kg/m3, within 0.01 kg/m3 between 0 and 40 degC (the usual laboratory fit)."""
    return 1000 * (1 - (t_c + 288.9414) / (508929.2 * (t_c + 68.12963)) * (t_c - 3.9863) ** 2)


def friction_factor(reynolds, relative_roughness):
    """Swamee-Jain: within 1 % of Colebrook-White, good enough for a pipe of a few metres."""
    reynolds = np.maximum(reynolds, 1.0)
    turbulent = 0.25 / np.log10(relative_roughness / 3.7 + 5.74 / np.maximum(reynolds, 4000) ** 0.9) ** 2
    return np.where(reynolds < 2300, 64 / reynolds, turbulent)


@dataclass
class Motor:
    """A water-filled squirrel-cage motor: what its curve at rated voltage and frequency comes from."""
    name: str
    rated_w: float
    efficiency: float
    slip: float
    power_factor: float
    volts: float
    phases: int
    fixed_share: float = 0.45  # of the rated losses: water friction and iron, whatever the load

    def at(self, shaft_w, volts=None, hertz=50.0):
        """Input power W, speed rpm and line current A at a shaft power."""
        volts = self.volts if volts is None else volts
        v, f, load = volts / self.volts, hertz / 50.0, shaft_w / self.rated_w
        loss_w = self.rated_w * (1 / self.efficiency - 1)
        input_w = shaft_w + loss_w * (self.fixed_share * (0.5 * f**3 + 0.5 * v**2) + (1 - self.fixed_share) * (load / v) ** 2)
        root = np.sqrt(3) if self.phases == 3 else 1.0
        rated_active_a = self.rated_w / self.efficiency / (root * self.volts)
        magnetising_a = rated_active_a * np.tan(np.arccos(self.power_factor)) * v / f
        current_a = np.hypot(input_w / (root * volts), magnetising_a)
        return input_w, 60 * hertz * (1 - self.slip * load / v**2), current_a


@dataclass
class Pump:
    """flow_m3s and stage_head_m: best point at the design speed; the shape below is common to all."""
    stages: int
    flow_m3s: float
    stage_head_m: float
    efficiency: float
    motor: Motor
    # What this one unit has of its own.
    head_factor: float = 1.0
    flow_factor: float = 1.0
    power_factor: float = 1.0
    extra_power_w: float = 0.0  # rubbing
    throttle: float = 0.0  # head lost at best flow, as a share of the best head

    def curve(self, flow_m3s, n):
        """Head m and shaft power W at a flow and a speed relative to the design speed."""
        q = flow_m3s / (self.flow_m3s * self.flow_factor * n)
        best_head_m = self.stages * self.stage_head_m
        head = best_head_m * self.head_factor * n**2 * (1.32 - 0.02 * q - 0.15 * q**2 - 0.15 * q**3)
        head = head - self.throttle * best_head_m * (flow_m3s / self.flow_m3s) ** 2
        best_power_w = 9765 * self.flow_m3s * best_head_m / self.efficiency
        power = best_power_w * self.power_factor * n**3 * (0.55 + 0.70 * q - 0.25 * q**2)
        return head, power + self.extra_power_w * n

    def run(self, flow_m3s, volts, hertz):
        """Where pump and motor agree: head m, input W, speed rpm, current A."""
        best_power_w = 9765 * self.flow_m3s * self.stages * self.stage_head_m / self.efficiency
        design_rpm = self.motor.at(best_power_w)[1]
        rpm = np.full_like(np.asarray(flow_m3s, float), design_rpm)
        for _ in range(40):
            head_m, shaft_w = self.curve(flow_m3s, rpm / design_rpm)
            input_w, rpm, current_a = self.motor.at(shaft_w, volts, hertz)
        return head_m, input_w, rpm, current_a


@dataclass
class Bay:
    """The pipework between set and gauge, as rig.csv states it, and how each instrument shows."""
    gauge_height_m: float
    water_level_m: float
    bore_m: float
    length_m: float
    roughness_m: float
    loss: float
    g: float = gravity(11.2, 410)
    shown: dict = field(default_factory=dict)

    def gauge_pa(self, head_m, flow_m3s, level_m, t_c):
        rho = density(t_c) + 0.45e-6 * head_m / 2 * 9790  # water gains 0.45 kg/m3 a MPa; mean of inlet and outlet
        v = flow_m3s / (np.pi / 4 * self.bore_m**2)
        f = friction_factor(v * self.bore_m / 0.87e-6, self.roughness_m / self.bore_m)
        lost_m = (f * self.length_m / self.bore_m + self.loss) * v**2 / (2 * self.g)
        return rho * self.g * (head_m - (self.gauge_height_m - level_m) - v**2 / (2 * self.g) - lost_m)


@dataclass
class Show:
    """How an instrument shows a true value given in its unit."""
    digit: float
    gain_error: float = 0.0
    noise: float = 0.0
    noise_floor: float = 0.0
    gain: float = 1.0  # as in instruments.csv: corrected = gain (reading - zero)
    zero: float = 0.0

    def read(self, true, rng):
        noisy = true * (1 + self.gain_error) + rng.normal(0, 1, np.shape(true)) * (self.noise * np.abs(true) + self.noise_floor)
        shown = noisy / self.gain + self.zero
        return np.round(shown / self.digit) * self.digit


def places(digit):
    return max(0, int(np.ceil(-np.log10(digit) - 1e-9)))


# --- models of the invented maker ------------------------------------------------------------------------------------

MOTORS = {
    "M100-1.1S": Motor("M100-1.1S", 1100, 0.640, 0.055, 0.93, 240, 1),
    "M150-5.5": Motor("M150-5.5", 5500, 0.775, 0.048, 0.82, 415, 3),
    "M150-7.5": Motor("M150-7.5", 7500, 0.790, 0.045, 0.83, 415, 3),
    "M200-15": Motor("M200-15", 15000, 0.835, 0.040, 0.84, 415, 3),
    "M200-22": Motor("M200-22", 22000, 0.850, 0.037, 0.85, 415, 3),
}
MODELS = {
    "QB100-12": Pump(12, 0.90e-3, 5.62, 0.585, MOTORS["M100-1.1S"]),
    "QB150-6": Pump(6, 5.0e-3, 12.7, 0.710, MOTORS["M150-5.5"]),
    "QB150-8": Pump(8, 5.0e-3, 12.7, 0.710, MOTORS["M150-7.5"]),
    "QB200-4": Pump(4, 14.0e-3, 19.2, 0.775, MOTORS["M200-15"]),
    "QB200-6": Pump(6, 14.0e-3, 19.2, 0.775, MOTORS["M200-22"]),
}

# --- bays ------------------------------------------------------------------------------------------------------------

MAIN = Bay(6.40, 3.60, 0.080, 4.5, 0.05e-3, 0.35)
MAIN.shown = {
    "flow [L/min]": Show(0.1, 0.0015, 0.0025, 0.15),
    "gauge pressure [bar]": Show(0.01, -0.001, 0.0008, 0.008, gain=1.0020, zero=0.03),
    "water level [m]": Show(0.01, 0.0, 0.0, 0.004),
    "voltage [V]": Show(0.1, 0.0005, 0.0008),
    "current [A]": Show(0.01, -0.001, 0.0015),
    "input power [kW]": Show(0.001, 0.001, 0.0015),
    "frequency [Hz]": Show(0.01, 0.0, 0.0, 0.008),
    "speed [rpm]": Show(1, 0.0, 0.0, 0.8),
    "water temperature [degC]": Show(0.1, 0.0, 0.0, 0.04),
}
WEIR = Bay(5.10, 2.85, 0.100, 6.0, 0.10e-3, 0.60)
TANK = Bay(4.20, 2.30, 0.040, 3.0, 0.05e-3, 0.40)
ORIFICE = Bay(5.60, 3.10, 0.0779, 5.0, 0.05e-3, 0.50)


def supply(rng, n, phases, volts, hertz):
    """A feeder that wanders: mean line voltage and frequency of each reading, and the share of each phase pair."""
    wander = np.cumsum(rng.normal(0, 0.35, n))
    v = volts + wander - wander.mean() + rng.normal(0, 0.3, n)
    f = hertz + 0.02 * np.sin(np.arange(n) / 3.1 + rng.uniform(0, 6)) + rng.normal(0, 0.012, n)
    return v, f, 1 + np.array([0.0, 0.004, -0.004]) if phases == 3 else np.ones(1)


def valve_settings(share, readings):
    """Flow of each reading, as a share of best flow, and its point number."""
    return np.repeat(share, readings), np.repeat(np.arange(1, len(share) + 1), readings)


STANDARD = (0.0, 0.30, 0.55, 0.78, 0.96, 1.02, 1.14, 1.30, 1.46)


def simulate(pump, bay, share, readings, rng, volts=409.0, hertz=49.95, start_c=26.4):
    """The true state at each reading."""
    q, point = valve_settings(np.asarray(share), readings)
    n = len(q)
    v, f, pairs = supply(rng, n, pump.motor.phases, volts, hertz)
    flow = q * pump.flow_m3s * np.where(q > 0, 1 + rng.normal(0, 0.0015, n), 0)
    head, power, rpm, amps = pump.run(flow, v, f)
    t = start_c + np.linspace(0, 1.6, n) ** 1.1
    level = bay.water_level_m - 0.02 * q + rng.normal(0, 0.002, n)
    return {"point": point, "flow": flow, "head": head, "power": power, "rpm": rpm, "amps": amps, "volts": v, "hertz": f,
            "pairs": pairs, "temperature": t, "level": level, "gauge": bay.gauge_pa(head, flow, level, t)}


LINE_SHARES = np.array([1.012, 0.995, 0.993])  # of the mean current in r, y, b


def show_main(state, rng, speed=False):
    """Columns of the main bay's logger, as shown."""
    s, out = MAIN.shown, {"point": state["point"].astype(float)}
    digits = {"point": 1}

    def put(name, key, true):
        out[name], digits[name] = s[key].read(true, rng), s[key].digit

    put("flow [L/min]", "flow [L/min]", state["flow"] * 6e4)
    out["flow [L/min]"][state["flow"] == 0] = 0.0  # the meter's low-flow cut-off
    put("gauge pressure [bar]", "gauge pressure [bar]", state["gauge"] / 1e5)
    put("water level [m]", "water level [m]", state["level"])
    if len(state["pairs"]) == 3:
        for name, share in zip(("ry", "yb", "br"), state["pairs"]):
            put(f"voltage {name} [V]", "voltage [V]", state["volts"] * share)
        for name, share in zip("ryb", LINE_SHARES):
            put(f"current {name} [A]", "current [A]", state["amps"] * share)
    else:
        put("voltage [V]", "voltage [V]", state["volts"])
        put("current [A]", "current [A]", state["amps"])
    put("input power [kW]", "input power [kW]", state["power"] / 1e3)
    put("frequency [Hz]", "frequency [Hz]", state["hertz"])
    if speed:
        put("speed [rpm]", "speed [rpm]", state["rpm"])
    put("water temperature [degC]", "water temperature [degC]", state["temperature"])
    return out, digits


def csv_text(columns, digits, delimiter=",", comma=False):
    lines = [delimiter.join(columns)]
    for row in zip(*columns.values()):
        cells = [f"{v:.{places(digits[name])}f}" for name, v in zip(columns, row)]
        cells = [c[1:] if c.startswith("-") and float(c) == 0 else c for c in cells]
        lines.append(delimiter.join(c.replace(".", ",") if comma else c for c in cells))
    return "\n".join(lines) + "\n"


def seeded(name):
    return np.random.default_rng(zlib.crc32(name.encode()))


# --- the units of the main bay -----------------------------------------------------------------------------------------


@dataclass
class Unit:
    log: str
    serial: str
    model: str
    tested: str
    tester: str
    faults: dict = field(default_factory=dict)
    readings: int = 3
    share: tuple = STANDARD
    speed: bool = False
    hertz: float = 49.95
    volts: float = 409.0


UNITS = [
    Unit("DN-1001", "DN-1001", "QB100-12", "2026-02-03", "crew A", dict(head_factor=1.004), volts=236.5, hertz=49.92),
    Unit("DN-1002", "DN-1002", "QB100-12", "2026-02-03", "crew A", dict(head_factor=0.995, power_factor=1.01), readings=1,
         volts=238.0, hertz=50.03),
    # A non-return valve that does not open fully: right at shut-off, short of head as the square of flow.
    Unit("DN-1003", "DN-1003", "QB100-12", "2026-02-04", "crew B", dict(throttle=0.20),
         share=(0.0, 0.30, 0.50, 0.70, 0.85, 0.95, 1.02, 1.12, 1.22), volts=237.2, hertz=49.97),
    Unit("DN-1504", "DN-1504", "QB150-8", "2026-02-04", "crew B", dict(head_factor=1.006), speed=True, volts=411.0, hertz=50.04),
    # Impellers of too large a trim, and a tight bush: head and flow still inside the tolerance, but the motor is overloaded.
    Unit("DN-1505", "DN-1505", "QB150-8", "2026-02-05", "crew A",
         dict(head_factor=1.040, flow_factor=1.01, power_factor=1.09, extra_power_w=260), volts=407.5, hertz=49.9),
    # Two phases swapped: the set runs backwards.
    Unit("DN-1506", "DN-1506", "QB150-8", "2026-02-05", "crew A", dict(head_factor=0.58, flow_factor=0.86, power_factor=0.72),
         share=(0.0, 0.25, 0.45, 0.65, 0.80, 0.95, 1.03, 1.15), volts=410.2, hertz=49.98),
    Unit("DN-1506-retest", "DN-1506", "QB150-8", "2026-02-06", "crew A", dict(head_factor=0.998), volts=408.8, hertz=49.88),
    Unit("DN-1507", "DN-1507", "QB150-6", "2026-02-06", "crew B", dict(head_factor=5 / 6, power_factor=5 / 6), volts=412.4, hertz=50.08),
    Unit("DN-1508", "DN-1508", "QB150-6", "2026-04-14", "crew B", dict(head_factor=1.002), volts=409.5, hertz=49.93),
    # The bay's delivery valve would not open further.
    Unit("DN-1509", "DN-1509", "QB150-6", "2026-02-10", "crew B", dict(head_factor=1.0),
         share=(0.0, 0.22, 0.38, 0.52, 0.64, 0.75, 0.84), volts=408.0, hertz=50.01),
    # Rough castings: head within tolerance, efficiency not.
    Unit("DN-2011", "DN-2011", "QB200-4", "2026-02-11", "crew A", dict(head_factor=0.96, power_factor=1.065),
         speed=True, volts=405.5, hertz=49.85),
    # A little of the same: efficiency within the measurement uncertainty of its limit.
    Unit("DN-2012", "DN-2012", "QB200-4", "2026-02-11", "crew A", dict(head_factor=0.985, power_factor=1.057), volts=406.3, hertz=49.94),
    Unit("DN-2013", "DN-2013", "QB200-4", "2026-02-12", "crew B", dict(head_factor=1.003, power_factor=0.985), volts=412.0, hertz=50.1),
]
RECORD = Unit("DN-2010", "DN-2010", "QB200-4", "2026-02-10", "crew A", dict(head_factor=1.002), volts=410.5, hertz=49.96)


def heading(unit):
    return f"# serial: {unit.serial}\n# model: {unit.model}\n# tested: {unit.tested}\n# tester: {unit.tester}\n"


def sheet_log(unit):
    rng = seeded(unit.log)
    pump = replace(MODELS[unit.model], **unit.faults)
    state = simulate(pump, MAIN, unit.share, unit.readings, rng, unit.volts, unit.hertz, 26.0 + rng.uniform(0, 1.2))
    return heading(unit) + csv_text(*show_main(state, rng, unit.speed))


def smooth_noise(rng, n, correlation):
    """First-order autoregressive noise of unit standard deviation: turbulence does not forget within a sample."""
    white, out = rng.normal(0, 1, n), np.empty(n)
    out[0] = white[0]
    for i in range(1, n):
        out[i] = correlation * out[i - 1] + np.sqrt(1 - correlation**2) * white[i]
    return out


def record_log(unit):
    """Eight minutes at 10 Hz: start against the closed valve, then the valve opened step by step."""
    rng = seeded(unit.log)
    pump = replace(MODELS[unit.model], **unit.faults)
    steps, hold, move = np.array(STANDARD), 440, 90  # samples of 0.1 s
    share = np.full(60, np.nan)  # before the start: the logger runs, the set does not
    share = np.concatenate([share, np.zeros(hold)])
    for low, high in zip(steps[:-1], steps[1:]):
        ramp = 0.5 - 0.5 * np.cos(np.pi * np.arange(1, move + 1) / move)
        share = np.concatenate([share, low + (high - low) * ramp, np.full(hold, high)])
    n = len(share)
    running = ~np.isnan(share)
    q = np.where(running, share, 0.0)
    q = q * (1 + 0.004 * smooth_noise(rng, n, 0.9))
    v = unit.volts + 1.2 * smooth_noise(rng, n, 0.998) + 0.3 * smooth_noise(rng, n, 0.5)
    f = unit.hertz + 0.025 * smooth_noise(rng, n, 0.997)
    flow = q * pump.flow_m3s
    head, power, rpm, amps = pump.run(flow, v, f)
    start = np.clip((np.arange(n) - 60) / 12.0, 0, 1)
    t = 26.6 + 1.5 * np.arange(n) / n
    level = MAIN.water_level_m - 0.02 * q + 0.004 * smooth_noise(rng, n, 0.98)
    gauge = np.where(running, np.maximum(MAIN.gauge_pa(head * start**2, flow, level, t), 0.0), 0.0) * (1 + 0.002 * smooth_noise(rng, n, 0.7))
    inrush = 1 + 4.0 * np.exp(-(np.arange(n) - 60) / 3.0)
    power, amps = power * np.where(running, np.minimum(inrush, 5), 0), amps * np.where(running, np.minimum(inrush, 5), 0)
    state = {"point": np.zeros(n), "flow": flow, "head": head, "power": power, "rpm": rpm, "amps": amps, "volts": v, "hertz": f,
             "pairs": 1 + np.array([0.0, 0.004, -0.004]), "temperature": t, "level": level, "gauge": gauge}
    columns, digits = show_main(state, rng)
    del columns["point"]
    columns = {"time [s]": np.arange(n) / 10.0, **columns}
    digits["time [s]"] = 0.1
    columns["flow [L/min]"][1750] *= 1.4  # one wild sample, and four that the logger lost
    columns = {name: np.delete(column, slice(3200, 3204)) for name, column in columns.items()}
    text = heading(unit) + csv_text(columns, digits)
    return gzip.compress(text.encode(), 9, mtime=0)


# --- the smaller bays --------------------------------------------------------------------------------------------------


def weir_log(serial, tested, faults):
    """90 degree V-notch, two wattmeters and ammeters behind 50/5 A transformers; a logger with headings of its own and decimal commas."""
    rng = seeded(serial)
    pump = replace(MODELS["QB200-6"], **faults)
    s = simulate(pump, WEIR, (0.0, 0.30, 0.55, 0.78, 0.96, 1.03, 1.15, 1.30, 1.45), 3, rng, 411.5, 50.02, 27.1)
    # Kindsvater-Shen for a fully contracted 90 degree notch: Q = 0.578 (8/15) sqrt(2 g) (h + 0.85 mm)^2.5
    h = (s["flow"] / (0.578 * 8 / 15 * np.sqrt(2 * WEIR.g))) ** 0.4 - 0.85e-3
    phi = np.arccos(np.clip(s["power"] / (np.sqrt(3) * s["volts"] * s["amps"]), -1, 1))
    w1 = s["volts"] * s["amps"] * np.cos(phi - np.pi / 6)
    columns, digits = {}, {}

    def put(name, true, show):
        columns[name], digits[name] = show.read(true, rng), show.digit

    columns["Pt"], digits["Pt"] = s["point"].astype(float), 1
    put("Notch_mm", np.maximum(h, 0) * 1e3, Show(0.1, 0.0, 0.0, 0.12))
    columns["Notch_mm"][s["flow"] == 0] = 0.0
    put("P_out", s["gauge"] / 98066.5, Show(0.01, 0.0008, 0.0008, 0.006))
    put("Sump", s["level"] * 1e3, Show(1, 0.0, 0.0, 2.0))
    for name, share in zip(("V12", "V23", "V31"), s["pairs"]):
        put(name, s["volts"] * share, Show(0.1, -0.0005, 0.0008))
    for name, share in zip(("I1", "I2", "I3"), LINE_SHARES):
        put(name, s["amps"] / 10 * share, Show(0.001, 0.001, 0.0012))
    put("W1", w1 / 10, Show(1, 0.001, 0.0012))
    put("W2", (s["power"] - w1) / 10, Show(1, 0.001, 0.0012))
    put("f", s["hertz"], Show(0.01, 0, 0, 0.006))
    put("Tw", s["temperature"], Show(0.1, 0, 0, 0.03))
    preamble = f"LOGGER UNIT 2;BAY WEIR\nSTART {tested} 09:40\nCHANNELS {len(columns)}\n"
    return preamble + csv_text(columns, digits, ";", True) + heading(Unit(serial, serial, "QB200-6", tested, "crew B"))


def tank_log(serial, tested, faults):
    """A sheet written by hand: measuring tank and stop watch, energy meter and stop watch."""
    rng = seeded(serial)
    pump = replace(MODELS["QB100-12"], **faults)
    s = simulate(pump, TANK, (0.0, 0.35, 0.60, 0.80, 0.96, 1.03, 1.16, 1.32), 1, rng, 237.5, 49.95, 26.8)
    n = len(s["flow"])
    seconds = np.round(60.0 + rng.normal(0, 0.3, n), 1)
    litres = np.round(s["flow"] * seconds * 1e3 * (1 + rng.normal(0, 0.001, n)) / 0.1) * 0.1
    revolutions = np.full(n, 20.0)  # of a meter with 600 rev/kWh
    meter_s = np.round(revolutions / 600 * 3.6e6 / s["power"] + rng.normal(0, 0.08, n), 1)
    columns = {"point": s["point"].astype(float), "tank volume [L]": litres, "filling time [s]": seconds,
               "gauge pressure [kgf/cm2]": Show(0.01, 0.001, 0.0005, 0.01).read(s["gauge"] / 98066.5, rng),
               "meter revolutions": revolutions, "meter time [s]": meter_s, "voltage [V]": np.round(s["volts"]),
               "current [A]": Show(0.05, 0.0, 0.002).read(s["amps"], rng), "frequency [Hz]": np.round(s["hertz"], 1),
               "water temperature [degC]": np.round(s["temperature"] * 2) / 2}
    digits = dict(zip(columns, (1, 0.1, 0.1, 0.01, 1, 0.1, 1, 0.01, 0.1, 0.1)))
    return heading(Unit(serial, serial, "QB100-12", tested, "crew C")) + csv_text(columns, digits)


def orifice_log(serial, tested, faults):
    """Orifice plate with D and D/2 tappings in a pipe of 77.9 mm, tabs between cells."""
    rng = seeded(serial)
    pump = replace(MODELS["QB150-8"], **faults)
    s = simulate(pump, ORIFICE, (0.0, 0.40, 0.62, 0.80, 0.97, 1.04, 1.16, 1.30, 1.42), 3, rng, 410.0, 50.0, 27.4)
    beta, area = 46.0 / 77.9, np.pi / 4 * 0.046**2
    rho = density(s["temperature"])
    dp = np.zeros(len(s["flow"]))
    c = 0.608  # of the plate, within 0.2 % over this range of flow
    dp = rho / 2 * (s["flow"] * np.sqrt(1 - beta**4) / (c * area)) ** 2
    columns, digits = {}, {}

    def put(name, true, show):
        columns[name], digits[name] = show.read(true, rng), show.digit

    columns["point"], digits["point"] = s["point"].astype(float), 1
    put("differential pressure (kPa)", dp / 1e3, Show(0.001, 0.0, 0.004))
    put("gauge pressure (MPa)", s["gauge"] / 1e6, Show(0.001, 0.0005, 0.0008))
    put("water level (m)", s["level"], Show(0.01, 0, 0, 0.003))
    put("voltage (V)", s["volts"], Show(0.1, 0, 0.0008))
    put("current (A)", s["amps"], Show(0.01, 0, 0.0015))
    pf = s["power"] / (np.sqrt(3) * s["volts"] * s["amps"])
    put("power factor", pf, Show(0.001, 0.001, 0.001))
    put("frequency (Hz)", s["hertz"], Show(0.01, 0, 0, 0.006))
    put("water temperature (degC)", s["temperature"], Show(0.1, 0, 0, 0.03))
    return heading(Unit(serial, serial, "QB150-8", tested, "crew C")) + csv_text(columns, digits, "\t")


# --- motors.csv ----------------------------------------------------------------------------------------------------------

MOTORS_HEAD = """# Motor curves: what each motor takes and gives at rated voltage and 50 Hz, water-filled, 2-pole.
# One row per load point, from no load to about 125 % load, as the motor bench measured it on the type sample.
# The program reads shaft power and speed between the rows; it never reads beyond the last one.
motor,input power [kW],shaft power [kW],speed [rpm],current [A]
"""


def motors_text(names):
    lines = []
    for name in names:
        motor = MOTORS[name]
        for load in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 1.15, 1.3):
            input_w, rpm, amps = motor.at(load * motor.rated_w)
            lines.append(f"{name},{input_w / 1e3:.3f},{load * motor.rated_w / 1e3:.3f},{rpm:.0f},{amps:.2f}")
    return MOTORS_HEAD + "\n".join(lines) + "\n"


# --- routine.csv --------------------------------------------------------------------------------------------------------

ROUTINE_HEAD = """# Routine results of the motors, one row per test; a later row of a serial replaces an earlier one. All windings are of copper.
# Cold windings carry the temperature they were measured at, hot ones that of the coolant at the end of the heat run (one motor a week).
# Their limits stand in models.csv; what has none is shown and not judged.
# High voltage kills: fence off, discharge the winding afterwards, licensed persons only. Local codes come first.
serial,tested,tester,winding ry [ohm],winding yb [ohm],winding br [ohm],winding main [ohm],winding auxiliary [ohm],winding temperature [degC],\
hot winding ry [ohm],coolant temperature [degC],insulation [Mohm],high voltage [V],high voltage time [s],high voltage result,\
no load voltage [V],no load current [A],no load power [W],locked rotor voltage [V],locked rotor current [A],locked rotor power [W],\
proof pressure [bar],proof time [s],proof result
"""
# Type values: winding at 20 degC, ohm; locked-rotor current at rated voltage over rated current.
WINDINGS = {"M100-1.1S": 2.40, "M150-5.5": 2.50, "M150-7.5": 1.85, "M200-15": 0.78}
ROUTINE_MOTORS = {"QB100-12": "M100-1.1S", "QB150-6": "M150-5.5", "QB150-8": "M150-7.5", "QB200-4": "M200-15"}


def routine_row(unit):
    rng = seeded("routine " + unit.serial)
    name = ROUTINE_MOTORS[unit.model]
    single, rated_v = name.endswith("S"), 240 if name.endswith("S") else 415
    cold = 25.0 + rng.uniform(0, 2)
    ohm = WINDINGS[name] * (235 + cold) / 255 * (1 + rng.normal(0, 0.004, 3))
    if unit.serial == "DN-2011":
        ohm[1] *= 1.06  # a joint of the yellow phase that was not brazed through
    three = [f"{r:.4g}" for r in ohm] + ["", ""] if not single else ["", "", "", f"{ohm[0]:.4g}", f"{2.1 * ohm[0]:.4g}"]
    coolant = 33.0
    hot = [f"{ohm[0] * (235 + coolant + 27.0) / (235 + cold):.4g}", f"{coolant:.1f}"] if unit.serial == "DN-2013" else ["", ""]
    input_w, _, amps = MOTORS[name].at(0.0)
    rated_a = MOTORS[name].at(MOTORS[name].rated_w)[2]
    locked_v = round(rated_v * 0.25)
    locked_a = rated_a * 5.2 * locked_v / rated_v * (1 + rng.normal(0, 0.01))
    locked_w = (1 if single else np.sqrt(3)) * locked_v * locked_a * 0.55
    cells = [unit.serial, unit.tested, "winding shop", *three, f"{cold:.1f}", *hot, f"{rng.uniform(150, 900):.0f}",
             f"{max(2 * rated_v + 1000, 1500)}", "60", "withstood", f"{rated_v}", f"{amps * (1 + rng.normal(0, 0.01)):.2f}",
             f"{input_w * (1 + rng.normal(0, 0.015)):.0f}", f"{locked_v}", f"{locked_a:.1f}", f"{locked_w:.0f}",
             "10" if single or name == "M150-5.5" else "12", "120", "held"]
    return ",".join(cells)


def routine_text():
    units = {unit.serial: unit for unit in sorted([*UNITS, RECORD], key=lambda unit: (unit.serial, unit.tested))}
    return ROUTINE_HEAD + "\n".join(routine_row(unit) for unit in units.values()) + "\n"


def write(path, content):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content if isinstance(content, bytes) else content.encode())


def main():
    top = pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parents[2] / "samples"
    for unit in UNITS:
        write(top / "dornapet" / "logs" / f"{unit.log}.csv", sheet_log(unit))
    write(top / "dornapet" / "logs" / f"{RECORD.log}.csv.gz", record_log(RECORD))
    write(top / "dornapet" / "routine.csv", routine_text())
    write(top / "dornapet" / "motors.csv", motors_text(["M100-1.1S", "M150-5.5", "M150-7.5", "M200-15"]))
    write(top / "dornapet-weir" / "logs" / "DW-2201.csv", weir_log("DW-2201", "2026-02-17", dict(head_factor=1.003)))
    write(top / "dornapet-weir" / "logs" / "DW-2202.csv",
          weir_log("DW-2202", "2026-02-17", dict(head_factor=0.93, flow_factor=0.93, power_factor=1.01)))
    write(top / "dornapet-weir" / "motors.csv", motors_text(["M200-22"]))
    write(top / "dornapet-tank" / "logs" / "DT-1101.csv", tank_log("DT-1101", "2026-02-19", dict(head_factor=1.002)))
    write(top / "dornapet-tank" / "motors.csv", motors_text(["M100-1.1S"]))
    write(top / "dornapet-orifice" / "logs" / "DO-1601.csv", orifice_log("DO-1601", "2026-02-20", dict(head_factor=1.001)))
    write(top / "dornapet-orifice" / "motors.csv", motors_text(["M150-7.5"]))


if __name__ == "__main__":
    main()
