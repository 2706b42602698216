"""Arc length of a wound roll by numerical quadrature, as an outside check of the ring formula.

The film's middle line is the Archimedean spiral r = d/2 + t*theta/(2*pi): over the first turn its mean radius is half a
thickness above the core, and each turn adds one thickness. Its length is the integral of sqrt(r^2 + (dr/dtheta)^2).
"""

import json
import math
import pathlib

import numpy
import scipy
from scipy.integrate import quad


def arc_length(core_mm, thickness_mm, turns):
    rate = thickness_mm / (2 * math.pi)
    start = core_mm / 2
    total = 0.0
    whole = int(turns)
    edges = [2 * math.pi * i for i in range(whole + 1)] + ([2 * math.pi * turns] if turns > whole else [])
    for a, b in zip(edges, edges[1:]):
        total += quad(lambda th: math.hypot(start + rate * th, rate), a, b, epsabs=1e-10, epsrel=1e-12)[0]
    return total


cases = []
for core, thickness, turns in [
    (31.75, 0.125, 180.0), (31.75, 0.1346, 175.3), (31.75, 0.142, 60.5), (50.8, 0.142, 373.7), (50.8, 0.142, 666.8),
    (76.2, 0.14, 320.25), (76.2, 0.152, 12.0), (11.0, 0.135, 20.0), (11.0, 0.135, 33.25), (11.0, 0.10, 5.0),
    (11.0, 0.30, 1.0), (8.0, 0.14, 40.0), (25.4, 0.109, 700.0), (127.0, 0.1346, 300.0),
]:
    cases.append({
        "core_mm": core, "thickness_mm": thickness, "turns": turns,
        "outer_mm": core + 2 * thickness * turns, "arc_length_mm": arc_length(core, thickness, turns),
    })
out = {"made_by": "tests/reference/spool/arc_length.py", "numpy": numpy.__version__, "scipy": scipy.__version__, "cases": cases}
pathlib.Path(__file__).with_name("arc_length.json").write_text(json.dumps(out, indent=1) + "\n")
