"""Solve every filing of `filings.json` and every roll of `rolls.json` by OR-tools CP-SAT; write the figures beside them."""

import json
import sys
from pathlib import Path

from _solver import cuts, pages

HERE = Path(__file__).parent


def write(source, target, solve, limit):
    lines = []
    for name, asked in json.loads((HERE / source).read_text()).items():
        figures, proven, seconds = solve(asked, limit)
        entry = (figures or {"impossible": True}) | {"proven": proven}
        print(source, name, entry, round(seconds, 2), flush=True)
        lines.append(f'"{name}": {json.dumps(entry)}')
    (HERE / target).write_text("{\n" + ",\n".join(lines) + "\n}\n")


def main():
    limit = float(sys.argv[1]) if len(sys.argv) > 1 else 30.0
    write("rolls.json", "cuts.json", cuts, limit)
    write("filings.json", "pages.json", pages, limit)


if __name__ == "__main__":
    main()
