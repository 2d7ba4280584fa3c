"""The expected uncertainties of tests/data/uncertainty/{propagation,resistance,thermometer}.md, worked apart from the program.

Made with Python 3.11 and the PyPI package uncertainties 3.2.3, which differentiates by itself:

    pip install uncertainties==3.2.3 numpy
    python tests/uncertainty_values.py

It prints the comments that stand in those journals. Each formula is written out here from statics, kinematics and the
circuit, not read from the program.
"""

from math import pi, sqrt

import uncertainties
from uncertainties import correlated_values, ufloat
from uncertainties.umath import cos, sin, sqrt as usqrt

assert uncertainties.__version__ == "3.2.3", uncertainties.__version__

INCH = 0.0254
RPM = 2 * pi / 60
KMH = 1 / 3.6


def rectangular(value, half):
    return ufloat(value, half / sqrt(3))


def triangular(value, half):
    return ufloat(value, half / sqrt(6))


def normal(value, half, coverage=2):
    return ufloat(value, half / coverage)


def readings(*values):
    n = len(values)
    mean = sum(values) / n
    return ufloat(mean, sqrt(sum((value - mean) ** 2 for value in values) / (n - 1) / n))


def tell(name, result, unit, factor=1.0):
    print(f"<!-- value: {name} = {result.nominal_value / factor:.12g} {unit}, relative 1e-9 -->")
    print(f"<!-- uncertainty: {name} = {result.std_dev / factor:.9g} {unit}, relative 1e-5 -->")


def chain():
    diameter = normal(0.6415, 0.004)
    factor = rectangular(0.97, 0.01)
    axle, gears = rectangular(4.10, 4.10 * 0.002), triangular(1.85, 0.005)
    limit = rectangular(9000, 150) * RPM
    speed = rectangular(120, 1) * KMH
    circumference = pi * factor * diameter
    wheel = speed / circumference * 2 * pi
    motor = wheel * axle * gears
    tell("drive.rolling_circumference", circumference, "m")
    tell("drive.wheel_speed", wheel, "rpm", RPM)
    tell("drive.motor_speed", motor, "rpm", RPM)
    tell("drive.geared_top_speed", limit / (axle * gears) * circumference / (2 * pi), "km/h", KMH)
    tell("drive.speed_margin", limit / motor - 1, "1")
    return motor


def ledger():
    front, rear = readings(652.4, 651.6, 652.8, 651.9), rectangular(433, 2)
    base = rectangular(2.480, 0.005)
    engine, engine_x = rectangular(118, 1), rectangular(0.10, 0.05)
    motor, motor_x = normal(48, 0.5), 0.40
    pack, pack_x = rectangular(210, 210 * 0.02), rectangular(1.20, 0.03)
    people, people_x = ufloat(75, 0), 1.30
    mass = rectangular(1085.2, 2)
    net = motor + pack - engine
    moment = motor * motor_x + pack * pack_x - engine * engine_x
    rear_after = rear + moment / base
    front_after = front + net - moment / base
    tell("kerb.net_change", net, "kg")
    tell("kerb.converted_mass", mass + net, "kg")
    tell("kerb.rear_axle", rear_after, "kg")
    tell("kerb.front_axle", front_after, "kg")
    tell("kerb.front_share", front_after / (front_after + rear_after), "1")
    tell("kerb.cg_x", rear_after * base / (front_after + rear_after), "m")
    tell("kerb.laden_rear_axle", rear_after + 2 * people * people_x / base, "kg")
    return mass + net


def battery():
    volts, full = rectangular(3.20, 0.02), normal(3.65, 0.01)
    charge = rectangular(86, 1)
    ohms = triangular(0.9e-3, 0.1e-3)
    links = rectangular(20e-3, 4e-3)
    cell, housing = rectangular(1.95, 0.03), normal(34, 1.5)
    power = rectangular(40e3, 2e3)
    voltage = 90 * volts
    resistance = 90 * ohms + links
    root = usqrt(voltage * voltage - 4 * resistance * power)
    current = 2 * power / (voltage + root)
    mass = 90 * cell + housing
    energy = voltage * charge * 3600
    tell("pack.full_voltage", 90 * full, "V")
    tell("pack.energy", energy, "kWh", 3.6e6)
    tell("pack.mass", mass, "kg")
    tell("pack.specific_energy", energy / mass, "J/kg")
    tell("pack.resistance", resistance, "Ω")
    tell("pack.peak_current", current, "A")
    tell("pack.voltage_at_peak", voltage - current * resistance, "V")
    tell("pack.heat_at_peak", current * current * resistance, "W")
    tell("pack.collapse_power", voltage * voltage / (4 * resistance), "kW", 1e3)
    return mass


def resistance():
    v = [5.007, 4.994, 5.005, 4.990, 4.999]
    i = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
    phi = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]
    lists = [v, i, phi]
    n = len(v)
    means = [sum(values) / n for values in lists]
    spread = [
        [
            sum((x - means[a]) * (y - means[b]) for x, y in zip(lists[a], lists[b])) / (n - 1) / n
            for b in range(3)
        ]
        for a in range(3)
    ]
    v, i, phi = correlated_values(means, spread)
    tell("impedance.resistance", v / i * cos(phi), "Ω")
    tell("impedance.reactance", v / i * sin(phi), "Ω")
    tell("impedance.modulus", v / i, "Ω")
    tell("impedance.sum", v / i * cos(phi) + v / i * sin(phi), "Ω")


def thermometer():
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    n = len(t)
    theta = [x - 20 for x in t]
    d = n * sum(x * x for x in theta) - sum(theta) ** 2

    def fit(b):
        one = (sum(b) * sum(x * x for x in theta) - sum(x * y for x, y in zip(theta, b)) * sum(theta)) / d
        two = (n * sum(x * y for x, y in zip(theta, b)) - sum(b) * sum(theta)) / d
        return one, two

    one, two = fit(b)
    s = sqrt(sum((y - one - two * x) ** 2 for x, y in zip(theta, b)) / (n - 2))
    print(f"s = {s:.12g}")
    one, two = fit([ufloat(y, s) for y in b])
    tell("line.intercept", one, "K")
    tell("line.slope", two, "1")
    tell("line.at_30", one + 10 * two, "K")


for work in (chain, ledger, battery, resistance, thermometer):
    print(f"\n# {work.__name__}\n")
    work()
