"""Solve every instance with both outside solvers and write `expected.json`: the best found, and by whom proven."""

import json
import sys
from pathlib import Path

from _solvers import Model, cpsat, highs

HERE = Path(__file__).parent


def main():
    limit = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    only = sys.argv[2:]
    path = HERE / "expected.json"
    expected = json.loads(path.read_text()) if path.exists() else {}
    for file in sorted((HERE / "instances").glob("*.json")):
        if only and not any(file.stem.startswith(o) for o in only):
            continue
        m = Model(json.loads(file.read_text()))
        entry = {"limit_seconds_per_phase": limit}
        best = None
        for name, solver in (("highs", highs), ("cpsat", cpsat)):
            answer, proven, seconds = solver(m, limit)
            entry[name] = {"proven": proven, "seconds": round(seconds, 2)}
            if answer:
                unmet = round(answer[0] * m.unit, 6)
                entry[name] |= {"unmet": unmet, "cost": answer[1], "rolls": answer[2]}
                if best is None or (unmet, answer[1]) < best:
                    best = (unmet, answer[1])
        proofs = [n for n in ("highs", "cpsat") if entry[n]["proven"]]
        entry |= {"unmet": best[0], "cost": best[1], "proven_by": proofs}
        expected[file.stem] = entry
        print(file.stem, json.dumps(entry), flush=True)
        path.write_text(json.dumps(dict(sorted(expected.items())), indent=1) + "\n")


if __name__ == "__main__":
    main()
