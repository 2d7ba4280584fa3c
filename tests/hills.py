"""The expected values of tests/data/world/hills.md, integrated apart from the program.

Made with Python 3.11 and the PyPI package scipy 1.17.1:

    pip install scipy==1.17.1
    python tests/hills.py

Speed is a straight line over time between samples, and the slope's sine is the rise over the distance driven. Nothing is
in closed form here: every energy is a quadrature over time, cut where the force changes its sign.
"""

from math import atan, sin, sqrt

import scipy
from scipy.integrate import quad
from scipy.optimize import brentq

assert scipy.__version__ == "1.17.1", scipy.__version__

G = 9.80665
MASS, F0, F1, F2 = 1500.0, 176.58, 0.0, 0.413
EFFICIENCY, SHARE, BACK, AUXILIARY = 0.88, 0.6, 0.85, 300.0
VOLTAGE, RESISTANCE = 370.0, 0.06
KMH = 1 / 3.6
# Of the road load, W on top of the auxiliaries, and the share of what is recovered that a cold pack takes.
USUAL, WINTER = (1.0, 0.0, 1.0), (1.1, 2000.0, 0.3)

# Seconds, km/h, m: tests/data/world/evidence/over-the-hill.csv.
OVER = [
    (0, 0, 210), (10, 36, 211), (40, 54, 236), (100, 54, 290), (130, 40, 303), (150, 40, 303), (180, 60, 285),
    (240, 60, 229), (270, 30, 214), (282, 0, 210),
]
# km, km/h, m: up-to-the-pass.csv.
PASS = [(0, 50, 400), (2, 50, 520), (5, 60, 700), (6, 40, 765)]


def by_time(points):
    """From distance, at a constant acceleration between points."""
    samples, time = [], 0.0
    for at, (km, speed, height) in enumerate(points):
        if at:
            time += 1000 * (km - points[at - 1][0]) / ((speed + points[at - 1][1]) / 2 * KMH)
        samples.append((time, speed, height))
    return samples


def integral(function, lasts, cuts):
    ends = [0.0, *sorted(cuts), lasts]
    return sum(quad(function, a, b, epsabs=1e-9, epsrel=1e-13, limit=200)[0] for a, b in zip(ends, ends[1:]))


def drive(samples, season=USUAL, full=1.0):
    more, heater, cold = season
    driving = braking = squares = cells = distance = climbed = duration = 0.0
    for (t, v, h), (u, w, k) in zip(samples, samples[1:]):
        lasts, v, w = u - t, v * KMH, w * KMH
        rate, driven = (w - v) / lasts, lasts * (v + w) / 2
        sine = (k - h) / driven
        speed = lambda s: v + rate * s
        load = lambda s: F0 * sqrt(1 - sine**2) + F1 * speed(s) + F2 * speed(s)**2
        force = lambda s: more * load(s) + MASS * rate + MASS * G * sine
        cuts = [brentq(force, 0, lasts)] if force(0) * force(lasts) < 0 else []
        wheel = lambda s: force(s) * speed(s)

        def terminals(s):
            power = wheel(s)
            back = power * SHARE * full * cold * BACK
            return AUXILIARY + heater + (power / EFFICIENCY if power > 0 else back)

        def current(s):
            power = terminals(s)
            return 2 * power / (VOLTAGE + sqrt(VOLTAGE**2 - 4 * RESISTANCE * power))

        driving += integral(lambda s: max(wheel(s), 0), lasts, cuts)
        braking -= integral(lambda s: min(wheel(s), 0), lasts, cuts)
        squares += integral(lambda s: current(s)**2, lasts, cuts)
        cells += integral(lambda s: VOLTAGE * current(s), lasts, cuts)
        distance, climbed, duration = distance + driven, climbed + max(k - h, 0), duration + lasts
    return {
        "duration": duration, "distance": distance / 1000, "climbed": climbed,
        "at_wheel": driving / distance / 3.6, "braking": braking / distance / 3.6,
        "climbing": MASS * G * climbed / distance / 3.6, "rms_current": sqrt(squares / duration),
        "consumption": cells / distance / 3.6,
    }


def climb(height, speed, grade, season=USUAL):
    more, heater, cold = season
    sine = sin(atan(grade))
    length, speed = height / sine, speed * KMH
    level = more * (F0 * sqrt(1 - sine**2) + F1 * speed + F2 * speed**2)
    up, down = level + MASS * G * sine, level - MASS * G * sine
    power = up * speed / EFFICIENCY + AUXILIARY + heater
    current = 2 * power / (VOLTAGE + sqrt(VOLTAGE**2 - 4 * RESISTANCE * power))
    time = length / speed
    return {
        "length": length / 1000, "force": up, "power": power / 1000, "energy": VOLTAGE * current * time / 3.6e6,
        "recovered": max(-down, 0) * speed * SHARE * cold * BACK * time / 3.6e6,
    }


for name, samples in [("over", OVER), ("pass", by_time(PASS))]:
    for key, value in drive(samples).items():
        print(name, key, f"{value:.10g}")
    print(name, "consumption_full", f"{drive(samples, full=0.2)['consumption']:.10g}")
    print(name, "consumption_winter", f"{drive(samples, WINTER)['consumption']:.10g}")
for season, name in [(USUAL, "climb"), (WINTER, "climb in winter")]:
    for key, value in climb(600, 60, 0.08, season).items():
        print(name, key, f"{value:.10g}")
