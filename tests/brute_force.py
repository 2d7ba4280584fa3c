"""Prints what tests/data/world/trade-study.md expects: every combination worked here, apart from the program.

    python tests/brute_force.py
"""

import itertools
import math

# Mass kg, top speed of the motor rpm, voltage window V, price EUR, lead time in weeks.
MOTORS = {
    "m1": (48, 12000, 240, 430, 4100, 6),
    "m2": (62, 9000, 180, 410, 2900, 2),
    "m3": (55, 10000, 200, 380, 3300, 10),
    "m4": (71, 13500, 300, 450, 5200, 4),
}
BOXES = {"b1": (1.8, 28, 700), "b2": (2.2, 30, 900), "b3": (2.7, 33, 1250), "b4": (3.3, 35, 1500)}
PACKS = {"80": 80, "92": 92, "100": 100}

AXLE, RADIUS, EMPTY = 3.73, 0.31, 1050.0
CELL, SHARE, FULL, LOW, CELL_PRICE, CELL_ENERGY = 2.4, 0.25, 4.2, 3.0, 60.0, 0.36


def work(motor, box, cells):
    mass, rpm, low, high, price, weeks = MOTORS[motor]
    ratio, box_mass, box_price = BOXES[box]
    pack = cells * CELL * (1 + SHARE)
    speed = rpm * 2 * math.pi / 60 / (ratio * AXLE) * RADIUS * 3.6
    return {
        "mass": EMPTY + mass + box_mass + pack,
        "speed": speed,
        "overall": ratio * AXLE,
        "price": price + box_price + cells * CELL_PRICE,
        "weeks": weeks,
        "window": cells * FULL <= high and cells * LOW >= low,
        "energy": cells * CELL_ENERGY,
    }


KEEP = [
    ("mass", lambda c: c["mass"] <= 1450),
    ("speed", lambda c: c["speed"] >= 115),
    ("climb", lambda c: c["overall"] >= 8),
    ("weeks", lambda c: c["weeks"] <= 8),
    ("high", None),
    ("low", None),
]


def main():
    rows = []
    for motor, box, pack in itertools.product(MOTORS, BOXES, PACKS):
        cells = PACKS[pack]
        case = work(motor, box, cells)
        case["high"] = cells * FULL <= MOTORS[motor][3]
        case["low"] = cells * LOW >= MOTORS[motor][2]
        missed = [name for name, test in KEEP if not (test(case) if test else case[name])]
        rows.append(((motor, box, pack), case, missed))
    kept = [(key, case) for key, case, missed in rows if not missed]
    print("candidates", len(rows), "kept", len(kept))
    key, best = min(kept, key=lambda row: row[1]["price"])
    print("lowest price", key, {name: best[name] for name in ("mass", "speed", "price", "energy")})
    for name, _ in KEEP:
        together = sum(name in missed for _, _, missed in rows)
        alone = sum(missed == [name] for _, _, missed in rows)
        print("dropped by", name, together, "alone", alone)
    front = [
        (key, case)
        for key, case in kept
        if not any(
            other["price"] <= case["price"]
            and other["energy"] >= case["energy"]
            and (other["price"] < case["price"] or other["energy"] > case["energy"])
            for _, other in kept
        )
    ]
    for key, case in sorted(front, key=lambda row: row[1]["price"]):
        print("beaten by none", key, case["price"], case["energy"])


main()
