"""Pump sets made from their parts, to be tested by causes.py: nothing here is taken from the library's own forms of a fault.

A set is a row of stages, each with its own Euler head less friction and shock losses, a ring whose leak is solved from the head across it
(V = sqrt(2 g H_gap / (f L/s + 1.5)), f = 0.025: open textbook chapter "Pump losses", eqs. 5.16 to 5.19), disc friction and recirculation; a passage and
a non-return valve that lose head as a pipe does; bearings; and a three-phase motor as a circuit for each phase (R1, X1, Xm, R2/s, X2), whose slip is found
where its torque meets the load. All figures of the makes are invented."""
from dataclasses import dataclass, field, replace

import numpy as np

G, RHO = 9.80665, 998.2
FREQUENCY_HZ, LINE_V = 50.0, 415.0


@dataclass(frozen=True)
class Make:
    """A model as drawn."""
    stages: int
    best_flow_m3s: float
    stage_head_m: float
    euler_slope: float      # of the Euler head, shares of the stage's head per Q/Q_best
    shock: float
    friction: float
    recirculation: float
    ring_diameter_m: float
    ring_length_m: float
    ring_gap_m: float
    valve_zeta: float
    passage_m2: float


@dataclass(frozen=True)
class Unit:
    """One set as built: what differs from the drawing, and its fault."""
    stage_level: np.ndarray
    trim: float = 1.0
    roughness: float = 1.0
    gap: float = 1.0
    bearing: float = 0.012            # share of rated shaft power
    rotor_r: float = 1.0
    stator_r: float = 1.0
    magnetising: float = 1.0
    dead: tuple = ()                  # stages that do not work
    joint_m2: float = 0.0             # open area of a joint before the meter
    extra_zeta: float = 0.0
    drag: float = 0.0                 # constant torque more, share of rated
    thrust_drag: float = 0.0          # the same in proportion to head
    air_from: float = 9.0
    air_depth: float = 0.0
    backwards: bool = False
    frequency_hz: float = FREQUENCY_HZ
    voltage: float = 1.0
    drift: float = 0.0                # a change that no cause describes, see unknown()
    misread: dict = field(default_factory=dict)


def draw_make(rng, inches, stages):
    if inches == 8:
        best, head, ring, area = 0.016, 14.0, (0.11, 0.012, 0.00022), 0.0075
    else:
        best, head, ring, area = 0.0014, 6.5, (0.042, 0.006, 0.00012), 0.0009
    return Make(stages, best * rng.uniform(0.7, 1.3), head * rng.uniform(0.85, 1.15), rng.uniform(0.38, 0.48), rng.uniform(0.17, 0.26),
                rng.uniform(0.13, 0.18), rng.uniform(0.40, 0.6), *ring, 1.2, area)


def draw_unit(rng, make):
    n = rng.normal
    return Unit(stage_level=1 + 0.012 * n(size=make.stages), trim=1 + 0.004 * n(), roughness=1 + 0.08 * n(), gap=1 + 0.12 * n(),
                bearing=0.012 * (1 + 0.4 * abs(n())), rotor_r=1 + 0.04 * n(), stator_r=1 + 0.03 * n(), magnetising=1 + 0.03 * n())


def stages(make, unit, through, speed):
    """Head and shaft power of every stage (a row each) at the flow through the set and a speed (share of rated); a ring's leak is found by repetition."""
    trim, level = unit.trim * speed, np.delete(unit.stage_level, list(unit.dead))[:, None]
    gap = make.ring_gap_m * unit.gap
    resistance = 0.025 * make.ring_length_m / gap + 1.5
    leak = 0.04 * make.best_flow_m3s * np.ones_like(level)
    for _ in range(5):
        x = (through + leak) / make.best_flow_m3s / trim
        euler = (1.16 + make.euler_slope) - make.euler_slope * x
        loss = make.friction * unit.roughness * x**2 + (0.16 - make.friction) * x**2 + make.shock * (x - 1)**2
        head = make.stage_head_m * level * (unit.trim**2.15 * speed**2) * (euler - loss)
        leak = np.pi * make.ring_diameter_m * gap * np.sqrt(2 * G * np.maximum(0.75 * head, 0) / resistance)
    base = RHO * G * make.best_flow_m3s * make.stage_head_m * level * (unit.trim**3.1 * speed**3)
    power = base * (x * euler + make.recirculation * np.maximum(1 - x, 0)**2 + 0.08)
    return head, power


def pump(make, unit, flow, speed):
    """Head at the outlet, shaft power."""
    head, through = np.zeros_like(flow), flow
    for _ in range(6 if unit.joint_m2 else 1):
        through = flow + 0.62 * unit.joint_m2 * np.sqrt(2 * G * np.maximum(head, 0))
        each, power = stages(make, unit, through, speed)
        head, power = each.sum(axis=0), power.sum(axis=0)
        head = head - 0.04 * len(unit.dead) * make.stage_head_m * (through / make.best_flow_m3s)**2
        head = head - make.valve_zeta * (through / make.passage_m2)**2 / (2 * G)
    if unit.extra_zeta:
        head = head - unit.extra_zeta * np.abs(through / make.best_flow_m3s)**1.87
    if unit.air_depth:
        share = unit.air_depth / (1 + np.exp(-(flow / make.best_flow_m3s - unit.air_from) / 0.07))
        head, power = head * (1 - share), power * (1 - 0.55 * share)
    if unit.drift:
        x = flow / make.best_flow_m3s
        head, power = head * (1 + unit.drift * (x - 0.5)), power * (1 - unit.drift * np.cos(2.5 * x))
    return head, power


class Motor:
    """A circuit for each phase; rated so that the drawn set at best flow takes 0.9 of the rated shaft power. Per-unit of rated."""

    def __init__(self, make):
        drawn = Unit(stage_level=np.ones(make.stages))
        self.rated_w = float(pump(make, drawn, np.array([make.best_flow_m3s]), 1.0)[1][0]) / 0.9
        self.r1, self.x1, self.xm, self.r2, self.x2, self.iron = 0.045, 0.09, 2.6, 0.060, 0.10, 0.035
        slips = np.linspace(0.002, 0.2, 4000)
        self.rated_slip = float(slips[np.argmax(self.state(slips, 1.0, drawn)[0] >= 1.0)])

    def state(self, slip, voltage, unit):
        """Shaft power, input power, current, all per unit, of a balanced supply."""
        rotor = self.r2 * unit.rotor_r / slip + 1j * self.x2
        magnet = 1j * self.xm * unit.magnetising
        z = self.r1 * unit.stator_r + 1j * self.x1 + rotor * magnet / (rotor + magnet)
        current = 1.35 * voltage / z
        into_rotor = current * magnet / (rotor + magnet)
        shaft = np.abs(into_rotor)**2 * self.r2 * unit.rotor_r / slip * (1 - slip)
        input_power = 1.35 * voltage * current.real + self.iron * voltage**2
        return shaft, input_power, np.abs(current)

    def run(self, make, unit, flow):
        """Speed where motor and load agree: head, input power in W, current in A, power factor, speed as a share of synchronous."""
        frequency, reference = unit.frequency_hz / FREQUENCY_HZ, 1 - self.rated_slip
        best_head = make.stage_head_m * make.stages
        slip = np.full_like(flow, self.rated_slip)
        for _ in range(12):
            speed = frequency * (1 - slip) / reference
            head, power = pump(make, unit, flow, speed)
            torque = power / speed / self.rated_w + unit.bearing + unit.drag + unit.thrust_drag * head / best_head
            ratio = torque * speed / (self.state(slip, unit.voltage, unit)[0] * frequency)
            slip = slip * np.clip(ratio, 0.5, 1.5)
        shaft, input_power, current = self.state(slip, unit.voltage, unit)
        watts = self.rated_w * input_power * frequency
        amps = self.rated_w * current / (np.sqrt(3) * LINE_V) * 1.35
        factor = watts / (np.sqrt(3) * LINE_V * unit.voltage * amps)
        return head, watts, amps, factor, frequency * (1 - slip)


def run(make, motor, unit, flow):
    """What is true of a test: a dict of arrays."""
    if unit.backwards:
        forward = motor.run(make, replace(unit, backwards=False), np.zeros(1))
        x = flow / make.best_flow_m3s
        head = forward[0][0] * 0.55 * (1 - (x / 0.47)**1.7)
        watts = forward[1][0] * (0.8 + 0.9 * x)
        amps = forward[2][0] * (0.85 + 0.8 * x)
        return {"flow": flow, "head": head, "power": watts, "current": amps, "factor": np.full_like(flow, 0.8), "speed": np.full_like(flow, 0.95)}
    head, watts, amps, factor, speed = motor.run(make, unit, flow)
    return {"flow": flow, "head": head, "power": watts, "current": amps, "factor": factor, "speed": speed}


def misread(truth, unit):
    """The rig's and the record's faults."""
    seen = dict(truth)
    m = unit.misread
    seen["head"] = seen["head"] * m.get("head", 1.0) + m.get("offset", 0.0)
    seen["flow"] = seen["flow"] * m.get("flow", 1.0)
    seen["power"] = seen["power"] * m.get("ct", 1.0) * m.get("vt", 1.0)
    seen["current"] = seen["current"] * m.get("ct", 1.0)
    if m.get("wattmeter"):
        # Two wattmeters between lines read V I cos(phi -+ 30 deg); the second's current leads are swapped.
        phi = np.arccos(np.clip(seen["factor"], 0, 1))
        voltage = LINE_V * unit.voltage
        one = voltage * seen["current"] * np.cos(phi - np.pi / 6)
        two = voltage * seen["current"] * np.cos(phi + np.pi / 6)
        seen["power"] = np.abs(one - two)
    return seen
