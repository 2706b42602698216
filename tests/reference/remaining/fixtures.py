"""Ten and more shelves solved by scipy.optimize.least_squares: fixtures.json for the Rust test."""

import math

import numpy as np
import scipy
from scipy.stats import norm, truncnorm

from _model import CLICK_M, Problem, write

LOADER = {"click_scale": [1.0, 0.003], "uncounted_mm": [95.0, 25.0]}
STOCK = {"linear_mass_g_per_m": [7.5, 0.75], "thickness_mm": [0.135, 0.012]}
NEW = [30.48, 0.1524]


def can(evidence, stock=0, package=None, own=None, pitch="long", length=NEW):
    return {"stock": stock, "package": package, "own_tare_g": own, "pitch": pitch, "length_m": length, "evidence": evidence}


def shelf(cans, loaders=(LOADER,), stocks=(STOCK,), packages=()):
    return {"loaders": list(loaders), "stocks": list(stocks), "packages": list(packages), "cans": cans}


def wind(clicks, loader=0):
    return {"kind": "wind", "loader": loader, "clicks": clicks}


def weigh(grams, sd=1.0):
    return {"kind": "weigh", "grams": grams, "sd": sd}


def weigh_empty(grams, sd=1.0):
    return {"kind": "weigh_empty", "grams": grams, "sd": sd}


def gauge(outer, core=31.75, sd=0.5):
    return {"kind": "gauge", "outer_mm": outer, "core_mm": core, "sd": sd}


def ran_out(clicks, loader=0):
    return {"kind": "ran_out", "loader": loader, "clicks": clicks}


def measured(clicks, length, sd=5.0, loader=0):
    return {"kind": "measured", "loader": loader, "clicks": clicks, "length_mm": length, "sd": sd}


def length(mm, sd):
    return {"kind": "wind_length", "mm": mm, "sd": sd}


KIND = {"tare_g": [150.0, 75.0], "spread_g": 2.0}
KNOWN_KIND = {"tare_g": [168.0, 1.5], "spread_g": 1.0}
LEARNT = {"linear_mass_g_per_m": [7.31, 0.04], "thickness_mm": [0.1380, 0.0008]}
ALL18 = [wind(42)] * 17

SHELVES = {
    "nothing learnt, half used": shelf([can([wind(42)] * 9)]),
    "weighed full and at half, tare unknown": shelf([can([weigh(402)] + [wind(42)] * 9 + [weigh(286)])]),
    "own tare known, weighed as it shrinks": shelf(
        [can([weigh(396), wind(40), wind(24), weigh(376), wind(42), weigh(363), wind(30), wind(42), weigh(342)], own=[171.0, 1.0])]),
    "two diameters in the dark": shelf([can([gauge(79.2), wind(42), wind(42), wind(42), gauge(73.1)])]),
    "one can ran out, the next is half used": shelf(
        [can([weigh(399)] + ALL18 + [ran_out(31), weigh_empty(169)], package=0),
         can([weigh(401)] + [wind(42)] * 9 + [weigh(284)], package=0)], packages=[KIND]),
    "a roll measured end to end, twice": shelf(
        [can([wind(42), measured(42, 1684), wind(24), measured(24, 1001), wind(42), wind(42)])]),
    "short pitch, cut by length, then found empty": shelf(
        [can([length(1600, 20), length(1650, 20), wind(42), weigh(250), length(400, 5), wind(20)], own=[140.0, 2.0], pitch="short", length=[15.0, 1.5]),
         can([length(4000, 100), wind(42), {"kind": "empty"}], pitch="short", length=[6.0, 0.8])]),
    "two loaders, two stocks, two kinds, five cans": shelf(
        [can([weigh(395)] + [wind(42, 0), wind(42, 1)] * 8 + [wind(20, 0), ran_out(13, 1), weigh_empty(167)], package=0),
         can([wind(30, 1)] * 6 + [weigh(301), gauge(67.5)], package=0),
         can([weigh(520)] + [wind(42, 0)] * 4 + [weigh(470)], stock=1, package=1, length=[45.0, 0.5]),
         can([wind(12, 0), wind(18, 1), measured(18, 790, loader=1)], stock=1, package=1, own=[210.0, 5.0]),
         can([gauge(150.0, 50.8, 0.7), wind(42, 0), weigh(1130, 2)], stock=0, package=None, own=[260.0, 10.0], length=[121.9, 0.6])],
        loaders=[LOADER, {"click_scale": [1.002, 0.002], "uncounted_mm": [110.0, 15.0]}],
        stocks=[STOCK, {"linear_mass_g_per_m": [6.9, 0.3], "thickness_mm": [0.128, 0.006]}],
        packages=[KNOWN_KIND, {"tare_g": [205.0, 8.0], "spread_g": 1.5}]),
    "the core was left out of one weighing": shelf(
        [can([weigh(391), wind(42), weigh(379), wind(42), weigh(354), wind(42), weigh(355)], package=0)],
        stocks=[LEARNT], packages=[KNOWN_KIND]),
    "rolls not written down before the can ran out": shelf(
        [can([weigh(402), wind(40), gauge(77.5), ran_out(13)])]),
    "own tare and a kind that differ a little": shelf([can([weigh(392), wind(36)], package=0, own=[171.0, 3.0])], stocks=[LEARNT], packages=[KNOWN_KIND]),
    "near the end": shelf([can([wind(42)] * 18)]),
    "more wound than was there": shelf([can([wind(42)] * 19)]),
}


def estimate(mean, variance):
    return [float(mean), math.sqrt(max(float(variance), 0.0))]


def next_measurements(p, x, cov, i, loader):
    """Sd of what is left after one or two more readings, by adding their rows to the information matrix."""
    one = p.shelf["cans"][i]
    click = CLICK_M[one["pitch"]]
    target = p.gradient(lambda y: p.left(y, i), x)
    info = np.linalg.inv(cov)
    weigh_row = (p.gradient(lambda y: p.weight(y, i, p.left(y, i)), x), 1.0)
    if one["package"] is None:
        empty_row = (p.gradient(lambda y: p.get(y, "tare", i), x), 1.0)
    else:
        spread = p.shelf["packages"][one["package"]]["spread_g"]
        empty_row = (p.gradient(lambda y: p.get(y, "kind", one["package"]), x), math.hypot(1.0, spread))
    per_roll = p.roll(x, loader, 42, click)
    rolls = one["length_m"][0] / per_roll
    out_sd = math.hypot(one["length_m"][1], 0.5 * click)
    rows = {
        "weigh": [weigh_row], "weigh_empty": [empty_row], "weigh_both": [weigh_row, empty_row],
        "gauge": [(p.gradient(lambda y: p.diameter(y, i, p.left(y, i), 31.75), x), 0.5)],
        "measure_roll": [(p.gradient(lambda y: p.roll(y, loader, 42, click), x), 0.005)],
        "run_out_another": [(rolls * p.gradient(lambda y: p.roll(y, loader, 42, click), x), out_sd)],
    }
    out = {}
    for kind, added in rows.items():
        more = info + sum(np.outer(row, row) / sd**2 for row, sd in added)
        out[kind] = math.sqrt(target @ np.linalg.inv(more) @ target)
    return out


def expect(spec):
    p = Problem(spec)
    x, cov = p.fit()
    def of(f):
        g = p.gradient(f, x)
        return estimate(f(x), g @ cov @ g)
    def param(*name):
        n = p.index[name]
        return estimate(x[n], cov[n, n])
    cans = []
    for i, one in enumerate(spec["cans"]):
        mean, sd = of(lambda y: p.left(y, i))
        click = CLICK_M[one["pitch"]]
        out = {"uncut_m": [mean, sd], "length_m": param("length", i), "tare_g": param("tare", i), "ended": p.ended(i)}
        location, scale = (0.0, 0.5 * click) if p.ended(i) else (mean, sd)
        cut = truncnorm(-location / scale, math.inf, loc=location, scale=scale)
        out["remaining_m"] = [float(v) for v in (cut.mean(), cut.std(), cut.ppf(0.025), cut.ppf(0.975))]
        if not p.ended(i):
            out["can_wind"] = []
            for clicks in (6, 12, 24, 42):
                gap, gap_sd = of(lambda y: p.left(y, i) - p.roll(y, 0, clicks, click))
                out["can_wind"].append([clicks, float(min(1.0, norm.sf(-gap / gap_sd) / norm.sf(-mean / sd)))])
            out["next"] = next_measurements(p, x, cov, i, 0)
        out["outliers"] = sorted(
            [j, float(p.off[n])] for n, (c, j) in enumerate(p.observations) if c == i and p.weights[n] < 1)
        cans.append(out)
    return {
        "cans": cans,
        "loaders": [{"click_scale": param("k", i), "uncounted_mm": param("u", i)} for i in range(len(spec["loaders"]))],
        "stocks": [{"linear_mass_g_per_m": param("rho", i), "thickness_mm": param("t", i)} for i in range(len(spec["stocks"]))],
        "packages": [{"tare_g": param("kind", i)} for i in range(len(spec["packages"]))],
    }


def main():
    fixtures = [{"name": name, "shelf": spec, "expect": expect(spec)} for name, spec in SHELVES.items()]
    head = {"made_by": "tests/reference/remaining/fixtures.py", "numpy": np.__version__, "scipy": scipy.__version__}
    write("fixtures.json", head, "fixtures", fixtures)
    for f in fixtures:
        for c in f["expect"]["cans"]:
            print(f"{f['name']}: {c['uncut_m']} {c['outliers']}")


if __name__ == "__main__":
    main()
