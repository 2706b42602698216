"""Solve every bench of `instances.json` with OR-tools CP-SAT and write `expected.json`.

The model is written from the contract alone. A run is named by the first of its rolls; two rolls share a run only if
process, developer and kind are the same and their intervals of time meet (intervals that meet two by two have a point
in common). Pairs on a reel, the tank and its number of reels are variables of each run.
"""

import json
import sys
import time
from pathlib import Path

from ortools.sat.python import cp_model

HERE = Path(__file__).parent
# Film 34.98 mm wide; the least stock is for 80 square inches.
SHARE = 34.98 / (80 * 25.4 * 25.4)
RUN, OUT = 10**6, 10**9


def solve(bench, limit):
    rolls, reels, tanks = bench["rolls"], {r["id"]: r for r in bench["reels"]}, bench["tanks"]
    developers = {d["id"]: d for d in bench["developers"]}
    every = range(len(rolls))
    group = [(r["process"], r["developer"], r.get("own_kind")) for r in rolls]
    span, need = [], []
    for r in rolls:
        share = r.get("tolerance_percent", bench["tolerance_percent"]) / 100
        span.append((round(r["time_min"] * (1 - share) * 1e6), round(r["time_min"] * (1 + share) * 1e6)))
        d = developers[r["developer"]]
        need.append(round(d["least_stock_ml"] * r["film_mm"] * SHARE * (1 + d["water_parts"]) * 1000))
    film = [round(r["film_mm"] * 1000) for r in rolls]
    longest = {k: round(r["longest_mm"] * 1000) for k, r in reels.items()}
    between = round(bench["between_mm"] * 1000)

    def meet(i, j):
        return group[i] == group[j] and max(span[i][0], span[j][0]) <= min(span[i][1], span[j][1])

    m = cp_model.CpModel()
    x = {(i, s): m.new_bool_var("") for s in every for i in range(s, len(rolls)) if i == s or meet(i, s)}
    out = [m.new_bool_var("") for _ in every]
    volumes, of_kind = [], {k: [] for k in reels}
    for i in every:
        m.add_exactly_one([x[i, s] for s in range(i + 1) if (i, s) in x] + [out[i]])
    for s in every:
        mine = [i for i in range(s, len(rolls)) if (i, s) in x]
        used = x[s, s]
        for a, i in enumerate(mine):
            m.add_implication(x[i, s], used)
            for j in mine[a + 1 :]:
                if not meet(i, j):
                    m.add_at_most_one([x[i, s], x[j, s]])
        z = {
            (t, k): m.new_bool_var("")
            for t, tank in enumerate(tanks)
            for k in range(1, len(tank["ml"]) + 1)
            if k <= reels[tank["reel"]]["count"]
        }
        m.add(sum(z.values()) == used)
        pairs, with_pair = [], {i: [] for i in mine}
        for a, i in enumerate(mine):
            for j in mine[a + 1 :]:
                kinds = [k for k, r in reels.items() if r["takes_two"] and film[i] + film[j] + between <= longest[k]]
                if kinds and meet(i, j):
                    p = m.new_bool_var("")
                    m.add_implication(p, x[i, s])
                    m.add_implication(p, x[j, s])
                    m.add(sum(v for (t, _), v in z.items() if tanks[t]["reel"] in kinds) >= p)
                    pairs.append(p)
                    with_pair[i].append(p)
                    with_pair[j].append(p)
        for i in mine:
            m.add_at_most_one(with_pair[i])
            m.add(x[i, s] <= sum(v for (t, _), v in z.items() if film[i] <= longest[tanks[t]["reel"]]) + (1 - used))
        m.add(sum(x[i, s] for i in mine) - sum(pairs) <= sum(k * v for (_, k), v in z.items()))
        volume = m.new_int_var(0, max(max(t["ml"]) for t in tanks), "")
        m.add(volume >= sum(tanks[t]["ml"][k - 1] * v for (t, k), v in z.items()))
        m.add(volume <= sum(tanks[t]["ml"][-1] * v for (t, _), v in z.items()))
        m.add(1000 * volume >= sum(need[i] * x[i, s] for i in mine))
        volumes.append(volume)
        for (t, k), v in z.items():
            of_kind[tanks[t]["reel"]].append(k * v)
    if not bench["reels_reused"]:
        for kind, terms in of_kind.items():
            m.add(sum(terms) <= reels[kind]["count"])
    m.minimize(OUT * sum(out) + RUN * sum(x[s, s] for s in every) + sum(volumes))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = limit
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    status = solver.solve(m)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    answer = {
        "unloaded": sum(solver.value(v) for v in out),
        "runs": sum(solver.value(x[s, s]) for s in every),
        "working_ml": sum(solver.value(v) for v in volumes),
    }
    return answer, status == cp_model.OPTIMAL


def main():
    limit = float(sys.argv[1]) if len(sys.argv) > 1 else 30.0
    expected = {}
    for name, bench in json.loads((HERE / "instances.json").read_text()).items():
        start = time.perf_counter()
        answer, proven = solve(bench, limit)
        expected[name] = answer | {"proven": proven}
        print(name, len(bench["rolls"]), expected[name], round(time.perf_counter() - start, 2), flush=True)
    lines = [f'"{name}": {json.dumps(entry)}' for name, entry in expected.items()]
    (HERE / "expected.json").write_text("{\n" + ",\n".join(lines) + "\n}\n")


if __name__ == "__main__":
    main()
