"""The model of what is left in a can, written a second time: dense, in natural units, for scipy and emcee.

A shelf is a dict as in fixtures.json. Unknowns are one flat vector in natural units (m, g, g/m, mm). Nothing here
shares structure with the Rust code: no can-by-can elimination, no sums of windings, no scaled unknowns.
"""

import json
import math
import pathlib

import numpy as np
from scipy.optimize import least_squares

CLICK_M = {"long": 8 * 4.750e-3, "short": 8 * 4.740e-3}
RAN_OUT_CLICKS = 0.5  # sd of a run-out, in clicks
EMPTY_SD_M = 0.5
TARE_G = (150.0, 75.0)
OUTLIER_SD = 4.0


class Problem:
    def __init__(self, shelf):
        self.shelf = shelf
        self.names, self.start = [], []
        for i, loader in enumerate(shelf["loaders"]):
            self.add(("k", i), loader["click_scale"])
            self.add(("u", i), loader["uncounted_mm"])
        for i, stock in enumerate(shelf["stocks"]):
            self.add(("rho", i), stock["linear_mass_g_per_m"])
            self.add(("t", i), stock["thickness_mm"])
        for i, package in enumerate(shelf["packages"]):
            self.add(("kind", i), package["tare_g"])
        for i, can in enumerate(shelf["cans"]):
            self.add(("length", i), can["length_m"])
            if can["package"] is not None:
                self.add(("tare", i), shelf["packages"][can["package"]]["tare_g"])
            else:
                self.add(("tare", i), can["own_tare_g"] or TARE_G)
            for j, e in enumerate(can["evidence"]):
                if e["kind"] == "wind_length" and e["sd"] > 0:
                    self.add(("draw", i, j), (e["mm"], e["sd"]))
        self.index = {name: n for n, name in enumerate(self.names)}
        self.start = np.array(self.start)
        self.observations = [(i, j) for i, can in enumerate(shelf["cans"]) for j, e in enumerate(can["evidence"])
                             if e["kind"] in ("weigh", "weigh_empty", "gauge", "ran_out", "empty", "measured")]
        self.own = [i for i, can in enumerate(shelf["cans"]) if can["package"] is not None and can["own_tare_g"]]
        self.weights = np.ones(len(self.observations))

    def add(self, name, prior):
        self.names.append(name)
        self.start.append(prior[0])

    def get(self, x, *name):
        return x[self.index[name]]

    def left(self, x, i, upto=None):
        """Film left in can i after evidence `upto` (all of it by default), m."""
        can = self.shelf["cans"][i]
        click = CLICK_M[can["pitch"]]
        left = self.get(x, "length", i)
        for j, e in enumerate(can["evidence"]):
            if upto is not None and j > upto:
                break
            if e["kind"] in ("wind", "ran_out"):
                left = left - self.roll(x, e["loader"], e["clicks"], click)
            elif e["kind"] == "wind_length":
                left = left - (self.get(x, "draw", i, j) if e["sd"] > 0 else e["mm"]) / 1000
        return left

    def roll(self, x, loader, clicks, click):
        return clicks * click * self.get(x, "k", loader) + self.get(x, "u", loader) / 1000

    def diameter(self, x, i, left, core_mm):
        square = core_mm**2 + 4 * left * 1000 * self.get(x, "t", self.stock(i)) / math.pi
        return np.sqrt(np.maximum(square, core_mm**2 / 4))

    def stock(self, i):
        return self.shelf["cans"][i]["stock"]

    def weight(self, x, i, left):
        return self.get(x, "tare", i) + self.get(x, "rho", self.stock(i)) * left

    def reading(self, x, i, j):
        """Predicted minus read, in the reading's sd."""
        can = self.shelf["cans"][i]
        e = can["evidence"][j]
        click = CLICK_M[can["pitch"]]
        kind = e["kind"]
        if kind == "weigh":
            return (self.weight(x, i, self.left(x, i, j)) - e["grams"]) / e["sd"]
        if kind == "weigh_empty":
            return (self.get(x, "tare", i) - e["grams"]) / e["sd"]
        if kind == "gauge":
            return (self.diameter(x, i, self.left(x, i, j), e["core_mm"]) - e["outer_mm"]) / e["sd"]
        if kind == "ran_out":
            return self.left(x, i, j) / (RAN_OUT_CLICKS * click)
        if kind == "empty":
            return self.left(x, i, j) / EMPTY_SD_M
        if kind == "measured":
            return (self.roll(x, e["loader"], e["clicks"], click) * 1000 - e["length_mm"]) / e["sd"]
        raise ValueError(kind)

    def priors(self, x):
        shelf, out = self.shelf, []
        def normal(prior, *name):
            out.append((self.get(x, *name) - prior[0]) / prior[1])
        for i, loader in enumerate(shelf["loaders"]):
            normal(loader["click_scale"], "k", i)
            normal(loader["uncounted_mm"], "u", i)
        for i, stock in enumerate(shelf["stocks"]):
            normal(stock["linear_mass_g_per_m"], "rho", i)
            normal(stock["thickness_mm"], "t", i)
        for i, package in enumerate(shelf["packages"]):
            normal(package["tare_g"], "kind", i)
        for i, can in enumerate(shelf["cans"]):
            normal(can["length_m"], "length", i)
            if can["package"] is not None:
                spread = shelf["packages"][can["package"]]["spread_g"]
                out.append((self.get(x, "tare", i) - self.get(x, "kind", can["package"])) / spread)
            else:
                normal(can["own_tare_g"] or TARE_G, "tare", i)
            for j, e in enumerate(can["evidence"]):
                if e["kind"] == "wind_length" and e["sd"] > 0:
                    normal((e["mm"], e["sd"]), "draw", i, j)
        for i in self.own:
            normal(shelf["cans"][i]["own_tare_g"], "tare", i)
        return np.array(out)

    def readings(self, x):
        return np.array([self.reading(x, i, j) for i, j in self.observations])

    def residuals(self, x):
        return np.concatenate([self.priors(x), np.sqrt(self.weights) * self.readings(x)])

    def gradient(self, f, x):
        """Central differences, steps by the size of each unknown."""
        rows = []
        for n in range(len(x)):
            h = 1e-5 * max(abs(x[n]), 1e-2)
            up, down = x.copy(), x.copy()
            up[n] += h
            down[n] -= h
            rows.append((np.asarray(f(up)) - np.asarray(f(down))) / (2 * h))
        return np.array(rows).T

    def solve(self, x=None):
        x = self.start.copy() if x is None else x
        for _ in range(5):  # restarts from where it stopped: scipy stops early on badly scaled problems
            jac = lambda y: self.gradient(self.residuals, y)
            result = least_squares(self.residuals, x, jac=jac, method="lm", xtol=3e-16, ftol=3e-16, gtol=3e-16,
                                   x_scale=np.maximum(np.abs(self.start), 1e-2))
            done = np.max(np.abs(result.x - x) / np.maximum(np.abs(x), 1e-3)) < 1e-12
            x = result.x
            if done:
                break
        jacobian = self.gradient(self.residuals, x)
        return x, np.linalg.inv(jacobian.T @ jacobian)

    def fit(self):
        """Solve, judge each reading by all the others, down-weight the worst of each can, until nothing changes."""
        x, cov = self.solve()
        for _ in range(25):
            r = self.readings(x)
            jac = self.gradient(self.readings, x)
            new, worst = self.weights.copy(), {}
            self.off = np.zeros(len(r))
            for n, (i, _) in enumerate(self.observations):
                q = jac[n] @ cov @ jac[n]
                w = self.weights[n]
                kept = 1 - w * q
                t = r[n] / math.sqrt(kept * (kept + q))
                self.off[n] = -t
                v = q / kept
                pull = OUTLIER_SD**2 / abs(t) if t else math.inf
                weight = 1.0 if abs(t) <= OUTLIER_SD else 1 / (t * t * (1 + v) / pull**2 - v)
                if w < 1:
                    new[n] = weight
                elif weight < 1 and abs(t) > worst.get(i, (0, 0, 0))[0]:
                    worst[i] = (abs(t), n, weight)
            for _, n, weight in worst.values():
                new[n] = weight
            if np.all(np.abs(new - self.weights) <= 1e-6 * self.weights):
                break
            self.weights = new
            x, cov = self.solve(x)
        return x, cov

    def ended(self, i):
        last = None
        for e in self.shelf["cans"][i]["evidence"]:
            if e["kind"] in ("wind", "wind_length", "ran_out", "empty"):
                last = e["kind"]
        return last in ("ran_out", "empty")


def write(name, head, key, items):
    """A JSON file beside this one: the head's fields, then one item a line."""
    lines = ",\n".join(json.dumps(item) for item in items)
    start = json.dumps(head)[:-1]
    pathlib.Path(__file__).with_name(name).write_text(f'{start}, "{key}": [\n{lines}\n]}}\n')
