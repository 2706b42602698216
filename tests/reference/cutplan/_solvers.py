"""The cut plan by two outside solvers: HiGHS (scipy.optimize.milp) and OR-tools CP-SAT, one thread each.

Both get the same aggregated model, written from the contract: how many rolls of each length a want takes from a
stock, how many a can gives, and that the two agree. Unmet frames are minimised first, then, with these kept, the
cost. Every answer is checked and valued again from its rolls, by `value`, before it is believed.
"""

import math
import time
from collections import defaultdict

import numpy as np
from ortools.sat.python import cp_model
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix
from scipy.stats import norm


class Model:
    """Numbers of a problem; film in whole micrometres."""

    def __init__(self, p):
        self.p = p
        click = {"long": 38000, "short": 37920}[p["pitch"]]
        allowance = p["leader_clicks"] + p["tail_clicks"]
        self.menu = sorted({f for f in p["menu_frames"] if f <= p["max_roll_frames"]})
        self.draw = [(f + allowance) * click + round(p["uncounted_mm"] * 1000) for f in self.menu]
        page = p["page"]
        self.handling = [
            math.ceil(f / page["frames_per_row"]) * page["price"] / page["rows"]
            + p["chemistry_price_per_full_roll"] * (f + allowance) / (36 + allowance)
            for f in self.menu
        ]
        z = norm.ppf(p["confidence"])
        self.cans = p["cans"]
        self.mean = [round(c["remaining_m"]["mean"] * 1e6) for c in self.cans]
        self.budget = [
            max(0, math.floor((c["remaining_m"]["mean"] - z * c["remaining_m"]["sd"]) * 1e6 + 1e-3)) for c in self.cans
        ]
        self.wants = p["wants"]
        held = {c["stock"] for c in self.cans}
        # One pair for each want and stock that will do.
        self.pairs = [(w, s) for w, want in enumerate(self.wants) for s in sorted(set(want["stocks"]) & held)]
        self.weight = [10 ** (9 - w["priority"]) for w in self.wants]
        unit = min(self.weight)
        self.weight = [g // unit for g in self.weight]
        self.unit = unit / 1e6
        self.short = p["short_end_price_per_m"]

    def most(self, w):
        return math.ceil(self.wants[w]["frames"] / self.menu[0])

    def value(self, serve, give):
        """Weighted unmet frames and cost of `serve[(w, s)][a]` and `give[i][a]`; raises if a limit is broken."""
        p, stocks = self.p, defaultdict(lambda: [0] * len(self.menu))
        unmet = 0
        for w, want in enumerate(self.wants):
            mine = [(s, counts) for (x, s), counts in serve.items() if x == w and any(counts)]
            assert len(mine) <= 1, "a want of mixed stocks"
            frames = 0
            for s, counts in mine:
                assert s in want["stocks"]
                for a, n in enumerate(counts):
                    stocks[s][a] += n
                    frames += n * self.menu[a]
            unmet += max(0, want["frames"] - frames) * self.weight[w]
        cost = rolls = 0
        for i, counts in enumerate(give):
            drawn = sum(n * d for n, d in zip(counts, self.draw))
            assert drawn <= self.budget[i], "an overdrawn can"
            for a, n in enumerate(counts):
                stocks[self.cans[i]["stock"]][a] -= n
                cost += n * self.handling[a]
                rolls += n
            cost += drawn * 1e-6 * self.cans[i]["price_per_m"]
            if drawn and self.mean[i] - drawn < min(self.draw):
                cost += (self.mean[i] - drawn) * 1e-6 * self.short
        assert all(n == 0 for counts in stocks.values() for n in counts), "rolls from nowhere"
        assert rolls <= p["cassettes"], "too many rolls"
        return unmet, cost, rolls


def highs(m, limit):
    """Best (unmet, cost, rolls), whether proven, and seconds."""
    start, lengths = time.perf_counter(), len(m.menu)
    names = {}

    def var(*key):
        return names.setdefault(key, len(names))

    lower, upper, integral = {}, {}, {}

    def new(key, hi, whole=True):
        v = var(*key)
        lower[v], upper[v], integral[v] = 0, hi, int(whole)
        return v

    rows = []
    for w, s in m.pairs:
        new(("pick", w, s), 1)
        for a in range(lengths):
            new(("serve", w, s, a), m.most(w))
    for w, want in enumerate(m.wants):
        new(("unmet", w), want["frames"], False)
    for i in range(len(m.cans)):
        for a in range(lengths):
            new(("give", i, a), m.budget[i] // m.draw[a])
        if m.short:
            new(("drawn", i), 1)
            new(("end", i), 1)
            new(("charge", i), m.mean[i] * 1e-6 * m.short, False)
    for w, want in enumerate(m.wants):
        mine = [s for x, s in m.pairs if x == w]
        rows.append(({var("pick", w, s): 1 for s in mine}, -np.inf, 1))
        row = {var("serve", w, s, a): f for s in mine for a, f in enumerate(m.menu)}
        row[var("unmet", w)] = 1
        rows.append((row, want["frames"], np.inf))
        for s in mine:
            row = {var("serve", w, s, a): 1 for a in range(lengths)}
            rows.append((row | {var("pick", w, s): -m.most(w)}, -np.inf, 0))
    for s in sorted({c["stock"] for c in m.cans}):
        for a in range(lengths):
            row = {var("serve", w, x, a): 1 for w, x in m.pairs if x == s}
            row |= {var("give", i, a): -1 for i, c in enumerate(m.cans) if c["stock"] == s}
            rows.append((row, 0, 0))
    cost = defaultdict(float)
    for i, c in enumerate(m.cans):
        metres = {var("give", i, a): m.draw[a] * 1e-6 for a in range(lengths)}
        rows.append((metres, -np.inf, m.budget[i] * 1e-6))
        for a in range(lengths):
            cost[var("give", i, a)] += m.draw[a] * 1e-6 * c["price_per_m"] + m.handling[a]
        if m.short:
            mean, shortest = m.mean[i] * 1e-6, min(m.draw) * 1e-6
            rows.append((metres | {var("drawn", i): -mean}, -np.inf, 0))
            # Drawn from and not charged: at least the shortest roll is left.
            rows.append((metres | {var("drawn", i): shortest, var("end", i): -shortest}, -np.inf, mean))
            charge = {v: k * m.short for v, k in metres.items()}
            rows.append((charge | {var("charge", i): 1, var("end", i): -mean * m.short}, 0, np.inf))
            cost[var("charge", i)] += 1
    rows.append(({var("give", i, a): 1 for i in range(len(m.cans)) for a in range(lengths)}, -np.inf, m.p["cassettes"]))

    def solve(objective, extra):
        every = rows + extra
        matrix = lil_matrix((len(every), len(names)))
        for r, (row, _, _) in enumerate(every):
            for v, k in row.items():
                matrix[r, v] = k
        c = np.zeros(len(names))
        for v, k in objective.items():
            c[v] = k
        count = len(names)
        return milp(
            c,
            integrality=[integral[v] for v in range(count)],
            bounds=Bounds([lower[v] for v in range(count)], [upper[v] for v in range(count)]),
            constraints=LinearConstraint(matrix.tocsr(), [r[1] for r in every], [r[2] for r in every]),
            options={"time_limit": limit, "mip_rel_gap": 0.0},
        )

    def read(x):
        serve = {(w, s): [round(x[var("serve", w, s, a)]) for a in range(lengths)] for w, s in m.pairs}
        return m.value(serve, [[round(x[var("give", i, a)]) for a in range(lengths)] for i in range(len(m.cans))])

    weights = {var("unmet", w): float(g) for w, g in enumerate(m.weight)}
    first = solve(weights, [])
    if first.x is None:
        return None, False, time.perf_counter() - start
    best = read(first.x)
    proven = first.status == 0
    bound = first.mip_dual_bound
    proven = proven or math.ceil(bound - 1e-6) >= best[0]
    second = solve(cost, [(weights, -np.inf, best[0] + 0.5)])
    if second.x is not None:
        again = read(second.x)
        best = min(best, again)
        gap = (best[1] - second.mip_dual_bound) / max(best[1], 1e-9)
        proven = proven and (second.status == 0 or gap <= 1e-6)
    else:
        proven = False
    return best, proven, time.perf_counter() - start


def cpsat(m, limit):
    """Best (unmet, cost, rolls), whether proven, and seconds."""
    start, lengths, model = time.perf_counter(), len(m.menu), cp_model.CpModel()
    serve, give = {}, []
    for w, s in m.pairs:
        serve[w, s] = [model.new_int_var(0, m.most(w), "") for _ in m.menu]
    lacking = [model.new_int_var(0, want["frames"], "") for want in m.wants]
    for w, want in enumerate(m.wants):
        mine = [s for x, s in m.pairs if x == w]
        if mine:
            picks = [model.new_bool_var("") for _ in mine]
            model.add_at_most_one(picks)
            for s, pick in zip(mine, picks):
                model.add(sum(serve[w, s]) <= m.most(w) * pick)
        model.add(sum(f * x for s in mine for f, x in zip(m.menu, serve[w, s])) + lacking[w] >= want["frames"])
    cost, scale = [], 10**7
    for i, c in enumerate(m.cans):
        mine = [model.new_int_var(0, m.budget[i] // d, "") for d in m.draw]
        drawn = sum(d * x for d, x in zip(m.draw, mine))
        model.add(drawn <= m.budget[i])
        give.append(mine)
        cost += [round((d * 1e-6 * c["price_per_m"] + h) * scale) * x for d, h, x in zip(m.draw, m.handling, mine)]
        if m.short:
            used, end = model.new_bool_var(""), model.new_bool_var("")
            model.add(drawn <= m.mean[i] * used)
            model.add(m.mean[i] - drawn >= min(m.draw)).only_enforce_if([used, end.negated()])
            charged = model.new_int_var(0, m.mean[i], "")
            model.add(charged >= m.mean[i] - drawn).only_enforce_if(end)
            cost.append(round(m.short * scale * 1e-6) * charged)
    for s in sorted({c["stock"] for c in m.cans}):
        for a in range(lengths):
            model.add(
                sum(serve[w, x][a] for w, x in m.pairs if x == s)
                == sum(give[i][a] for i, c in enumerate(m.cans) if c["stock"] == s)
            )
    model.add(sum(x for mine in give for x in mine) <= m.p["cassettes"])

    def solve():
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = limit
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None, None, False
        answer = m.value(
            {k: [solver.value(x) for x in v] for k, v in serve.items()},
            [[solver.value(x) for x in mine] for mine in give],
        )
        return answer, solver, status == cp_model.OPTIMAL

    weighted = sum(g * u for g, u in zip(m.weight, lacking))
    model.minimize(weighted)
    best, solver, proven = solve()
    if best is None:
        return None, False, time.perf_counter() - start
    model.add(weighted <= best[0])
    model.clear_hints()
    for v in [x for mine in list(serve.values()) + give for x in mine]:
        model.add_hint(v, solver.value(v))
    model.minimize(sum(cost))
    again, _, closed = solve()
    if again is not None:
        best = min(best, again)
    return best, proven and closed, time.perf_counter() - start
