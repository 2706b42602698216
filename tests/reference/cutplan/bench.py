"""Ours, HiGHS and CP-SAT on the same instances in the same run, one thread each: seconds, and ratios to ours.

    python bench.py BINARY [SECONDS_PER_PHASE] [NAME_PREFIX...]

BINARY is the built example `cutplan_bench`. `>` marks a time limit that was reached without a proof; the last column
compares what was found: unmet frames first, then cost.
"""

import json
import subprocess
import sys
from pathlib import Path

from reference import Model, cpsat, highs

HERE = Path(__file__).parent


def show(seconds, proven):
    return f"{'' if proven else '>'}{seconds:.3f}"


def main():
    binary = sys.argv[1]
    limit = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    only = sys.argv[3:]
    print("| instance | ours s | HiGHS s | CP-SAT s | HiGHS / ours | CP-SAT / ours | our gap | best found outside against ours |")
    print("|---|---:|---:|---:|---:|---:|---:|---|")
    for file in sorted((HERE / "instances").glob("*.json")):
        if only and not any(file.stem.startswith(o) for o in only):
            continue
        run = subprocess.run([binary, str(file)], capture_output=True, text=True, check=True)
        ours = json.loads(run.stdout)
        m = Model(json.loads(file.read_text()))
        times, best = [], None
        for solver in (highs, cpsat):
            answer, proven, seconds = solver(m, limit)
            times.append((seconds, proven))
            if answer and (best is None or answer[:2] < best):
                best = answer[:2]
        unmet, cost = best[0] * m.unit, best[1]
        if abs(unmet - ours["unmet"]) > 1e-6:
            verdict = f"unmet {unmet:.1f} against {ours['unmet']:.1f}"
        elif abs(cost / ours["cost"] - 1) <= 1e-6:
            verdict = "same"
        else:
            verdict = f"{100 * (cost / ours['cost'] - 1):+.3f} % cost"
        ratios = [f"{'≥' if not p else ''}{t / ours['seconds']:.0f}" for t, p in times]
        print(
            f"| {file.stem} | {show(ours['seconds'], ours['proven'])} | {show(*times[0])} | {show(*times[1])} |"
            f" {ratios[0]} | {ratios[1]} | {ours['gap']:.1e} | {verdict} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
