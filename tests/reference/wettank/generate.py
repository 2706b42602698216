"""Seventy-two invented benches with a fixed seed, in the input format of `calc tank`, written to `instances.json`."""

import json
import random
from pathlib import Path

HERE = Path(__file__).parent
TIMES = [6, 6.5, 7, 7.5, 8, 8.5, 9, 9.5, 10, 11, 12, 13.5]
FRAMES = [6, 8, 12, 18, 24, 30, 36]


def film(rng, free):
    """Length on the reel: a usual number of frames with 4 to thread, or any length."""
    return round(rng.uniform(350, 1640), 1) if free else (rng.choice(FRAMES) + 4) * 38.0


def bench(number):
    rng = random.Random(1710 + number)
    count = [6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 24, 24][number % 12]
    free = number % 3 == 2
    groups = [("bw-negative", "soft")] * rng.choice([3, 6, 9]) + [("bw-negative", "sharp"), ("bw-reversal", "sharp")]
    rolls = []
    for i in range(count):
        process, developer = rng.choice(groups)
        roll = {
            "id": f"r{i + 1:02}",
            "process": process,
            "developer": developer,
            "time_min": rng.choice(TIMES[: rng.choice([4, 8, 12])]),
            "film_mm": film(rng, free),
        }
        if rng.random() < 0.15:
            roll["tolerance_percent"] = rng.choice([1, 3, 10, 20])
        if rng.random() < 0.05:
            roll["own_kind"] = "remjet"
        rolls.append(roll)
    kinds = rng.choice([1, 2, 2])
    reels = [
        {
            "id": f"k{k + 1}",
            "count": rng.choice([2, 3, 4, 5, 8]),
            "longest_mm": rng.choice([1650, 1800]),
            "takes_two": rng.random() < 0.7,
        }
        for k in range(kinds)
    ]
    tanks = []
    for t in range(rng.randint(1, 6)):
        ml, volumes = rng.choice([250, 290, 300, 375]), []
        for _ in range(rng.choice([1, 2, 2, 3, 5, 8])):
            volumes.append(ml)
            ml += rng.choice([150, 200, 225, 250, 290])
        tanks.append({"id": f"t{t + 1}", "reel": rng.choice(reels)["id"], "ml": volumes})
    reused = number % 4 != 3
    if not reused:
        # Reels for nearly all: what is left out matters.
        for reel in reels:
            reel["count"] = max(1, round(count * rng.uniform(0.3, 0.8) / kinds))
    return {
        "rolls": rolls,
        "developers": [
            {"id": "soft", "water_parts": 1, "least_stock_ml": rng.choice([80, 100, 125])},
            {"id": "sharp", "water_parts": rng.choice([9, 25]), "least_stock_ml": rng.choice([6, 10])},
        ],
        "tanks": tanks,
        "reels": reels,
        "tolerance_percent": rng.choice([3, 5, 5, 8]),
        "between_mm": rng.choice([0, 10]),
        "reels_reused": reused,
    }


def main():
    lines = [f'"{n + 1:02}": {json.dumps(bench(n), separators=(",", ":"))}' for n in range(72)]
    (HERE / "instances.json").write_text("{\n" + ",\n".join(lines) + "\n}\n")


if __name__ == "__main__":
    main()
