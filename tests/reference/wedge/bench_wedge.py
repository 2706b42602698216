"""The bench's own instance, refitted as often with numpy and scipy: five strips, 1,000 rounds each.

Each round shakes the readings, refits a six-parameter toe, line and shoulder by curve_fit from the best fit, and takes
speed point, rise over 1.30 and the time for 0.80 over 1.30 from it.
"""

import json
import time

import numpy
from scipy.integrate import cumulative_simpson
from scipy.optimize import brentq, curve_fit

WEDGE = 0.05 + 0.15 * numpy.arange(21)
X = (0.10 - WEDGE)[::-1]
GRID = numpy.linspace(X[0] - 0.45, X[-1], 139)
TIMES = [5.0, 6.5, 8.0, 10.0, 13.0]
ROUNDS = 1000


def logistic(z):
    return 1 / (1 + numpy.exp(-z))


def curve(base, g, foot, k, shoulder, k2):
    slope = numpy.exp(g) * logistic(numpy.exp(k) * (GRID - foot)) * logistic(-numpy.exp(k2) * (GRID - shoulder))
    return base + cumulative_simpson(slope, x=GRID, initial=0)


def at_readings(x, *theta):
    return numpy.interp(x, GRID, curve(*theta))


def family():
    count = 0
    strips = []
    for t in TIMES:
        g = 1.10 * (1 - numpy.exp(-0.12167641 * t))
        read = []
        for d in WEDGE:
            count += 1
            noise = 0.02 * (count * 37 % 64 / 63 - 0.5)
            read.append(0.20 + g / 5 * numpy.logaddexp(0, 5 * (0.10 - d + 2.20850612)) + noise)
        strips.append(numpy.array(read[::-1]))
    return strips


def numbers(theta):
    d = curve(*theta)
    m = numpy.interp(theta[0] + 0.10, d, GRID)
    return m, numpy.interp(m + 1.3, GRID, d) - theta[0] - 0.10


def refit(y, start):
    return curve_fit(at_readings, X, y, p0=start, maxfev=4000, ftol=1e-5, xtol=1e-5)[0]


def growth_time(rises):
    """Time for 0.80 by G(1 - exp(-kt))."""
    (g, k), _ = curve_fit(lambda t, g, k: g * -numpy.expm1(-k * t), TIMES, rises, p0=[1.4, 0.12])
    return brentq(lambda t: g * -numpy.expm1(-k * t) - 0.80, 0.1, 200) if g > 0.8001 else numpy.inf


def run():
    rng = numpy.random.default_rng(1)
    strips = family()
    rises = numpy.empty((ROUNDS, len(strips)))
    for s, y in enumerate(strips):
        best = refit(y, [0.2, -0.4, -2.2, 1.6, 0.3, 1.6])
        sd = numpy.std(y - at_readings(X, *best)) * (21 / 15) ** 0.5
        for r in range(ROUNDS):
            try:
                rises[r, s] = numbers(refit(y + sd * rng.standard_normal(y.size), best))[1]
            except RuntimeError:
                rises[r, s] = numbers(best)[1]
    times = [growth_time(r) for r in rises]
    return numpy.quantile(times, [0.025, 0.5, 0.975])


start = time.perf_counter()
low, middle, high = run()
seconds = time.perf_counter() - start
print(json.dumps({
    "bench": "wedge: 5 strips, 1,000 rounds", "tool": "numpy + scipy curve_fit", "seconds": seconds,
    "minutes_at_target": f"{middle:.2f} ({low:.2f} to {high:.2f})",
}))
