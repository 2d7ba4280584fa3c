"""Values of the sprint over a change of gear in tests/data/world/traction.md, made once.

Needs scipy (1.17.1 with numpy 2.4.6): time and distance by solve_ivp over time, with an event at the change of gear,
at the end of the change, and at the wanted speed. Nothing of the program is used.
"""

import math

from scipy.integrate import solve_ivp
from scipy.optimize import brentq

MASS, SHARE, RADIUS, CHANGE = 1250.0, 0.05, 0.29, 0.7
TORQUE, POWER, EFFICIENCY = 190.0, 55e3, 0.94
RATIOS, LIMIT = (9.8, 5.6), 7000 * 2 * math.pi / 60
EXACT = {"rtol": 1e-12, "atol": 1e-12}


def road(speed):
    return 0.012 * MASS * 9.80665 + 0.5 * 1.2 * 0.68 * speed * abs(speed)


def drive(speed, ratio):
    turning = speed * ratio / RADIUS
    torque = TORQUE if turning * TORQUE <= POWER else POWER / turning
    return torque * ratio * EFFICIENCY / RADIUS


def until(force, start, speed):
    """Time, speed and way at which a speed is reached under a force."""

    def moves(_, state):
        return [(force(state[0]) - road(state[0])) / (MASS * (1 + SHARE)), state[0]]

    def there(_, state):
        return state[0] - speed

    there.terminal = True
    found = solve_ivp(moves, (0, 200), start, events=there, max_step=0.01, **EXACT)
    return found.t_events[0][0], found.y_events[0][0]


def main():
    change = LIMIT * RADIUS / RATIOS[0]
    # Up to the limit second gear never pulls more.
    assert all(drive(v, RATIOS[1]) <= drive(v, RATIOS[0]) * (1 + 1e-12) for v in [change * i / 500 for i in range(501)])
    first, state = until(lambda v: drive(v, RATIOS[0]), [0.0, 0.0], change)
    rolls = solve_ivp(
        lambda _, s: [-road(s[0]) / (MASS * (1 + SHARE)), s[0]], (0, CHANGE), state, max_step=0.01, **EXACT
    )
    second, end = until(lambda v: drive(v, RATIOS[1]), rolls.y[:, -1], 100 / 3.6)
    print(f"changes at {change * 3.6:.9g} km/h, goes on at {rolls.y[0, -1] * 3.6:.9g} km/h")
    print(f"time {first + CHANGE + second:.9g} s, distance {end[1]:.9g} m")
    # The corner of second gear, where constant torque ends.
    corner = brentq(lambda v: v * RATIOS[1] / RADIUS * TORQUE - POWER, 1, 100)
    print(f"constant power in second gear from {corner * 3.6:.9g} km/h")


main()
