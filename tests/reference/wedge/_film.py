"""Films in closed form, the strips made of them, and their numbers by scipy's root finding."""

import math

import numpy
from scipy.optimize import brentq
from scipy.stats import norm

WEDGE = 0.05 + 0.15 * numpy.arange(21)
ZERO = 0.10
LOG_H = (ZERO - WEDGE)[::-1]


def density(film, x):
    """Density of a film at log H: kinds as in crates/core/tests/wedge_truth."""
    u = numpy.asarray(x) - film["foot"]
    g, shape = film["gamma"], film["shape"]
    if shape == "toe":
        rise = g / film["k"] * numpy.logaddexp(0, film["k"] * u)
    elif shape == "probit":
        rise = g * film["sd"] * math.sqrt(2 * math.pi) * norm.cdf((u - 2 * film["sd"]) / film["sd"])
    elif shape == "gompertz":
        rise = g * math.e / film["rate"] * numpy.exp(-numpy.exp(-(film["rate"] * u - 1)))
    elif shape == "two_toes":
        share = film["share"]
        rise = g * (
            share / film["k"] * numpy.logaddexp(0, film["k"] * u)
            + (1 - share) / film["k2"] * numpy.logaddexp(0, film["k2"] * (u - film["apart"]))
        )
    return film["base"] + rise


def numbers(curve, base, low=-8.0, high=1.0):
    """Speed point, rise over 1.30, average gradient over 1.5 and contrast index of any rising curve."""
    m = brentq(lambda x: curve(x) - base - 0.10, low, high, xtol=1e-12)
    return {
        "log_h": m,
        "delta_d": float(curve(m + 1.3) - curve(m)),
        "average_gradient": float(curve(m + 1.5) - curve(m)) / 1.5,
        "contrast_index": contrast_index(curve, base, low, high),
    }


def contrast_index(curve, base, low, high):
    """Chord between arcs of 0.2 and 2.2 about one centre on the base line [S13]."""

    def cross(c, r):
        return brentq(lambda x: math.hypot(x - c, curve(x) - base) - r, c, c + r, xtol=1e-12)

    def bend(c):
        a, b = cross(c, 0.2), cross(c, 2.2)
        return (curve(a) - base) / (a - c) - (curve(b) - base) / (b - c)

    # Centres from which the outer arc is met within the range; the first sign change is the gauge's.
    before = None
    for c in numpy.linspace(-3.2, -1.4, 37):
        try:
            here = bend(c)
        except ValueError:
            continue
        if before and before[1] <= 0 < here:
            c = brentq(bend, before[0], c, xtol=1e-12)
            a, b = cross(c, 0.2), cross(c, 2.2)
            return float((curve(b) - curve(a)) / (b - a))
        before = (c, here)
    return None


def films(rng, count):
    """Films of four kinds by turns."""
    made = []
    for n in range(count):
        film = {
            "base": rng.uniform(0.15, 0.35), "gamma": rng.uniform(0.55, 0.85), "foot": rng.uniform(-2.3, -2.0),
            "shape": ["toe", "probit", "two_toes", "gompertz"][n % 4],
        }
        film |= {
            "toe": lambda: {"k": rng.uniform(3.5, 7.0)},
            "probit": lambda: {"sd": rng.uniform(0.6, 0.8)},
            "two_toes": lambda: {
                "k": rng.uniform(5, 8), "k2": rng.uniform(2.5, 4), "apart": rng.uniform(0.3, 0.6),
                "share": rng.uniform(0.4, 0.6),
            },
            "gompertz": lambda: {"rate": rng.uniform(1.0, 1.4)},
        }[film["shape"]]()
        made.append(film)
    return made
