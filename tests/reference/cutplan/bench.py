"""Time HiGHS and CP-SAT, one thread each, on the instances given as files: one JSON line for each.

`--limit SECONDS` is the time each may take for each of its two goals, unmet frames and cost (default 20).
"""

import json
import sys
from pathlib import Path

from _solvers import Model, cpsat, highs


def main():
    files, limit = sys.argv[1:], 20.0
    if files[:1] == ["--limit"]:
        limit, files = float(files[1]), files[2:]
    for file in files:
        for tool, solver in (("HiGHS", highs), ("CP-SAT", cpsat)):
            m = Model(json.loads(Path(file).read_text()))
            answer, proven, seconds = solver(m, limit)
            line = {"tool": tool, "file": file, "seconds": seconds, "proven": proven}
            if answer:
                line |= {"unmet": round(answer[0] * m.unit, 6), "cost": round(answer[1], 6)}
            print(json.dumps(line), flush=True)


if __name__ == "__main__":
    main()
