"""Time CP-SAT, one thread, at most 30 s each, on the filings of `filings.json` with 40 rolls or more."""

import json
from pathlib import Path

from _solver import pages


def main():
    filings = json.loads((Path(__file__).parent / "filings.json").read_text())
    for name, asked in filings.items():
        if len(asked["rolls"]) < 40:
            continue
        figures, proven, seconds = pages(asked, 30.0)
        shared = ", shared rows" if asked["share_rows"] else ""
        bench = f"filing {name}: {len(asked['rolls'])} rolls{shared}"
        print(json.dumps({"tool": "CP-SAT", "bench": bench, "seconds": seconds, "proven": proven} | figures), flush=True)


if __name__ == "__main__":
    main()
