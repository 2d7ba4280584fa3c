"""Writes the drive cycles of src/rules/cycles/ anew.

The WLTC traces are the numbers of UN GTR 15. They are taken from the PyPI package `wltp`, version 0.1.2a0, which
carries them with the regulation's check sums; nothing else of it is taken.

    pip download --no-deps wltp==0.1.2a0 && unzip wltp-0.1.2a0-py2.py3-none-any.whl -d FOLDER
    python tests/cycles.py FOLDER

The NEDC is written from its break points (UN R83, annex 4a), which stand below.
"""

import importlib.util
import pathlib
import sys

VERSION = "0.1.2a0"
OUT = pathlib.Path(__file__).parent.parent / "src" / "rules" / "cycles"
SUMS = {"1": 41139.6, "2": 81536.9, "3a": 83496.9, "3b": 83758.6}
PHASES = {
    "1": [11988.4, 17162.8, 11988.4],
    "2": [11162.2, 17054.3, 24450.6, 28869.8],
    "3b": [11140.3, 17121.2, 25782.2, 29714.9],
}
LENGTHS = {"1": [589, 433, 589], "2": [589, 433, 455, 323], "3b": [589, 433, 455, 323]}

# Second and km/h; straight lines between.
URBAN = [
    (0, 0), (11, 0), (15, 15), (23, 15), (25, 10), (28, 0), (49, 0), (54, 15), (56, 15), (61, 32), (85, 32),
    (93, 10), (96, 0), (117, 0), (122, 15), (124, 15), (133, 35), (135, 35), (143, 50), (155, 50), (163, 35),
    (176, 35), (178, 32), (185, 10), (188, 0), (195, 0),
]
EXTRA_URBAN = [
    (0, 0), (20, 0), (25, 15), (27, 15), (36, 35), (38, 35), (46, 50), (48, 50), (61, 70), (111, 70), (119, 50),
    (188, 50), (201, 70), (251, 70), (286, 100), (316, 100), (336, 120), (346, 120), (362, 80), (370, 50),
    (380, 0), (400, 0),
]


def load(folder, name):
    path = pathlib.Path(folder) / "wltp" / "cycles" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(name, path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def write(name, head, rows):
    text = f"# {head['title']}: speed against time, as published.\n"
    text += "".join(f"{key}: {value}\n" for key, value in head.items())
    (OUT / f"{name}.txt").write_text(text + "values:\n" + "".join(row + "\n" for row in rows))


def wltc(name, speeds):
    assert abs(sum(speeds) - SUMS[name]) < 0.05, (name, sum(speeds))
    start = 1
    for length, total in zip(LENGTHS.get(name, []), PHASES.get(name, [])):
        assert abs(sum(speeds[start:start + length]) - total) < 0.05, (name, start)
        start += length
    head = {
        "title": f"WLTC class {name}",
        "source": f"UN GTR 15, annex 1, as carried by the PyPI package wltp {VERSION}",
        "status": "second-hand",
        "speed_unit": "km/h",
        "step": "1 s",
        "sum": SUMS[name],
    }
    if name == "1":
        head["source"] += "; its low phase, which ends the cycle, is that of its beginning"
    texts = [f"{speed:g}" for speed in speeds]
    write(f"wltc-{name}", head, [" ".join(texts[at:at + 20]) for at in range(0, len(texts), 20)])


def nedc(package):
    points = [(195 * lap + second, speed) for lap in range(4) for second, speed in URBAN[:-1]]
    points += [(780 + second, speed) for second, speed in EXTRA_URBAN]
    # The package's list begins with second 1.
    for second, speed in enumerate(package, start=1):
        before = max(point for point in points if point[0] <= second)
        after = min(point for point in points if point[0] >= second)
        share = (second - before[0]) / max(after[0] - before[0], 1)
        assert abs(before[1] + share * (after[1] - before[1]) - speed) < 1e-3, second
    head = {
        "title": "NEDC",
        "source": "UN R83, annex 4a: break points of the urban and extra-urban cycles",
        "status": "second-hand",
        "speed_unit": "km/h",
    }
    write("nedc", head, [f"{second} {speed}" for second, speed in points])


def main(folder):
    low_medium = load(folder, "class1").class_data()["cycle"]
    # The package carries low and medium; the cycle of class 1 ends with low once more.
    wltc("1", low_medium + low_medium[1:590])
    wltc("2", load(folder, "class2").class_data()["cycle"])
    wltc("3a", load(folder, "class3").class_data_a()["cycle"])
    wltc("3b", load(folder, "class3").class_data_b()["cycle"])
    nedc(load(folder, "nedc").cycle_data()["cycle"])


main(sys.argv[1])
