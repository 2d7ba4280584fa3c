"""Prints the roots that tests/data/world/solve-for.md compares with, found by scipy's brentq (made with scipy 1.17.1).

    pip install scipy==1.17.1 && python tests/roots.py
"""

import math

from scipy.optimize import brentq

G = 9.80665

# The speed at which rolling and air take 30 kW, in m/s: a cubic.
MASS, ROLLING, DENSITY, AREA = 1500.0, 0.012, 1.2, 0.36 * 2.2
speed = brentq(
    lambda v: (MASS * G * ROLLING + DENSITY / 2 * AREA * v * v) * v - 30e3, 1.0, 60.0, xtol=1e-13, rtol=1e-14
)
print(f"road.speed {speed!r} m/s")

# The current at which a pack of 350 V and 0.14 ohm gives 90 kW: the smaller root of a quadratic.
current = brentq(lambda i: (350.0 - 0.14 * i) * i - 90e3, 0.0, 1200.0, xtol=1e-13, rtol=1e-14)
closed = (350.0 - math.sqrt(350.0**2 - 4 * 0.14 * 90e3)) / (2 * 0.14)
print(f"pack.current {current!r} A, closed form {closed!r} A")
