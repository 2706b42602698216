"""Pages and cuts by OR-tools CP-SAT.

Rolls that take as many rows and have a short strip as long are of one kind; a page is how many it holds of each. Two
rolls may share a row of their page when their short strips fit it side by side, and a roll shares one row at most; the
page then needs a row less. A roll longer than a page leaves a rest beside whole pages of its own. A cutting is a path through the roll, a strip or a blank frame left out for each step.
"""

import time
from collections import Counter

from _contract import places, roll
from ortools.sat.python import cp_model


def _solve(model, limit):
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = limit
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    start = time.perf_counter()
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return solver, status == cp_model.OPTIMAL, time.perf_counter() - start


def pages(asked, limit):
    """New pages and shared rows, whether proven, and the seconds it took."""
    rows, width = asked["page"]["rows"], asked["page"]["frames_per_row"]
    free = rows - asked["started"]["used_rows"] if "started" in asked else 0
    whole, rest, short = 0, [], []
    for r in asked["rolls"]:
        strips, last = roll(r["frames"], width)
        whole += (strips - 1) // rows
        rest.append((strips - 1) % rows + 1)
        short.append(last)
    # Rolls that take as many rows and have a short strip as long are counted, not named.
    kinds = sorted(Counter(zip(rest, short)).items(), reverse=True)
    easy = _first_fit(list(zip(rest, short)), rows)
    most = len(easy)
    m = cp_model.CpModel()
    used = [m.new_bool_var("") for _ in range(most)]
    rooms = [rows * u for u in used] + ([free] if free else [])
    on = [[m.new_int_var(0, have, "") for _, have in kinds] for _ in rooms]
    for k, (_, have) in enumerate(kinds):
        m.add(sum(page[k] for page in on) == have)
    shared, filled = [], []
    for page, room in zip(on, rooms):
        of_kind = [[] for _ in kinds]
        pairs = []
        for a, ((_, i), have) in enumerate(kinds if asked["share_rows"] else []):
            for b in range(a, len(kinds)):
                if i + kinds[b][0][1] <= width:
                    q = m.new_int_var(0, min(have, kinds[b][1], rows), "")
                    pairs.append(q)
                    of_kind[a].append(q)
                    of_kind[b].append(q)
        for k, qs in enumerate(of_kind):
            m.add(sum(qs) <= page[k])
        content = sum(rows_of * n for ((rows_of, _), _), n in zip(kinds, page)) - sum(pairs)
        m.add(content <= room)
        shared += pairs
        filled.append(content)
    for k in range(1, most):
        m.add_implication(used[k], used[k - 1])
        m.add(filled[k] <= filled[k - 1])
    for u in used:
        m.add_hint(u, 1)
    for page, rolls in zip(on, easy + ([[]] if free else [])):
        for n, (kind, _) in zip(page, kinds):
            m.add_hint(n, rolls.count(kind))
    for q in shared:
        m.add_hint(q, 0)
    m.minimize(10_000 * sum(used) + sum(shared))
    solver, proven, seconds = _solve(m, limit)
    pages_used = sum(solver.value(u) for u in used)
    return {"new_pages": pages_used + whole, "shared_rows": sum(solver.value(q) for q in shared)}, proven, seconds


def _first_fit(rolls, rows):
    """A filing that is easy to see: the largest first, each on the first page with room; as rolls of each page."""
    pages = []
    for roll_ in sorted(rolls, reverse=True):
        for page in pages:
            if sum(r for r, _ in page) + roll_[0] <= rows:
                page.append(roll_)
                break
        else:
            pages.append([roll_])
    return sorted(pages, key=lambda page: -sum(r for r, _ in page))


def cuts(asked, limit):
    """Strips, strips of a frame or less, blanks left out and squares of lengths; none when nothing fits."""
    images, row = asked["images"], 8 * asked["page"]["frames_per_row"]
    at, n = places(images), len(images)
    may_cut = [i in (0, n) or images[i].get("gap_perforations", 0) >= 0 for i in range(n + 1)]
    m = cp_model.CpModel()
    steps = []
    for i in range(n):
        for j in range(i + 1, n + 1):
            length = at[j - 1][1] - at[i][0]
            if may_cut[i] and may_cut[j] and length <= row:
                steps.append((i, j, m.new_bool_var(""), [1, int(length <= 8), 0, length * length]))
        if images[i].get("blank") and may_cut[i] and may_cut[i + 1]:
            steps.append((i, i + 1, m.new_bool_var(""), [0, 0, 1, 0]))
    for i in range(n + 1):
        into = sum(v for _, j, v, _ in steps if j == i) + (i == 0)
        out = sum(v for j, _, v, _ in steps if j == i) + (i == n)
        m.add(into == out)
    if not all(any(i <= k < j for i, j, _, _ in steps) for k in range(n)):
        return None, True, 0.0
    scale = [10**12, 10**9, 10**6, 1]
    m.minimize(sum(sum(a * b for a, b in zip(scale, w)) * v for _, _, v, w in steps))
    solver, proven, seconds = _solve(m, limit)
    weights = [w for _, _, v, w in steps if solver.value(v)]
    names = ["strips", "singles", "left_out", "squares"]
    return dict(zip(names, (sum(w[k] for w in weights) for k in range(4)))), proven, seconds
