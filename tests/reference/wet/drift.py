"""Development in a bath whose temperature drifts, by numerical quadrature.

The temperature is numpy's linear interpolation of the readings, held constant outside them. The development done by a
moment is the integral of Q^((T - T0)/10) by scipy's `quad`, knot by knot; the stop is the root of that integral less the
base time, by `brentq`. Nothing here knows a closed form.
"""

import json
import pathlib

import numpy
import scipy
from scipy.integrate import quad
from scipy.optimize import brentq

TRACKS = 240
rng = numpy.random.default_rng(20)


def readings(kind, span):
    """Readings of one bath: [seconds, degrees C], rising in time."""
    count = int(rng.integers(1, 13))
    times = numpy.sort(rng.choice(numpy.arange(-120, int(1.3 * span) + 120), count, replace=False)).astype(float)
    start = rng.uniform(16, 28) if kind != "hot" else rng.uniform(30, 42)
    if kind == "flat":
        temperatures = numpy.full(count, start)
    elif kind == "nearly flat":
        temperatures = start + rng.normal(0, 1, count) * 10.0 ** rng.uniform(-13, -4)
    elif kind == "steep":
        temperatures = rng.uniform(10, 40, count)
    else:
        temperatures = start + numpy.cumsum(rng.normal(0, 0.6, count))
    return times, numpy.clip(temperatures, 5, 50)


def done(until, times, temperatures, q10, at_c):
    """Seconds at the base temperature that the bath is worth until a moment."""
    edges = [0.0, *[t for t in times if 0 < t < until], until]
    rate = lambda s: q10 ** ((numpy.interp(s, times, temperatures) - at_c) / 10)
    return sum(quad(rate, a, b, epsabs=1e-10, epsrel=1e-12)[0] for a, b in zip(edges, edges[1:]))


tracks = []
for number in range(TRACKS):
    kind = ["walk", "walk", "hot", "flat", "nearly flat", "steep"][number % 6]
    time_min = round(float(numpy.exp(rng.uniform(numpy.log(0.5), numpy.log(90)))), 3)
    q10 = round(float(rng.uniform(1.5, 4)), 4)
    at_c = round(float(rng.uniform(18, 24) if kind != "hot" else rng.uniform(34, 40)), 2)
    times, temperatures = readings(kind, 60 * time_min)
    value = lambda s: done(s, times, temperatures, q10, at_c)
    high = 60 * time_min
    while value(high) < 60 * time_min:
        high *= 2
    stop = brentq(lambda s: value(s) - 60 * time_min, 0, high, xtol=1e-9, rtol=1e-14)
    moments = [round(float(m), 3) for m in sorted(rng.uniform(0, 1.4 * stop, 4))]
    tracks.append({
        "kind": kind, "time_min": time_min, "at_c": at_c, "q10": q10,
        "readings": [[float(t), float(c)] for t, c in zip(times, temperatures)],
        "done": [[m, value(m)] for m in moments], "stop_at_s": stop,
    })
out = {"made_by": "tests/reference/wet/drift.py", "numpy": numpy.__version__, "scipy": scipy.__version__, "tracks": tracks}
pathlib.Path(__file__).with_name("drift.json").write_text(json.dumps(out, indent=None, separators=(",", ":")).replace('{"kind"', '\n{"kind"') + "\n")
