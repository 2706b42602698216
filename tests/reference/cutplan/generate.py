"""Twenty invented cut plan problems with a fixed seed, in the input format of `calc cutplan`."""

import json
import random
from pathlib import Path

HERE = Path(__file__).parent

# name, cans, wants, stocks, share of wants with several stocks, film for each metre wanted, cassettes for each
# roll wanted (None: plenty), short-end price, pitch, uncounted mm
SHAPES = [
    ("01-two-cans", 2, 3, 1, 0.0, 1.6, None, 0.0, "long", 95),
    ("02-three-cans", 3, 5, 2, 0.3, 1.4, None, 0.0, "long", 95),
    ("03-shelf", 4, 8, 3, 0.3, 1.5, None, 0.5, "long", 95),
    ("04-shelf-scarce", 6, 10, 3, 0.3, 0.8, None, 0.0, "long", 95),
    ("05-ten-one-stock", 10, 15, 1, 0.0, 1.5, None, 0.0, "long", 95),
    ("06-ten-shared", 10, 15, 4, 0.5, 1.5, None, 0.0, "long", 101.3),
    ("07-ten-little-film", 10, 15, 4, 0.3, 0.7, None, 0.0, "long", 95),
    ("08-ten-few-cassettes", 10, 15, 4, 0.3, 1.5, 0.7, 0.0, "long", 95),
    ("09-ten-short-ends", 10, 15, 3, 0.3, 1.2, None, 2.5, "long", 95),
    ("10-fifteen-shared", 15, 20, 5, 0.4, 1.3, None, 0.0, "short", 88.4),
    ("11-fifteen-little-of-both", 15, 20, 5, 0.4, 0.85, 0.8, 0.0, "long", 95),
    ("12-twenty-two-stocks", 20, 30, 2, 0.3, 1.4, None, 0.0, "long", 101.3),
    ("13-twenty-shared", 20, 30, 7, 0.4, 1.4, None, 0.0, "long", 95),
    ("14-twenty-little-film", 20, 30, 7, 0.3, 0.75, None, 0.0, "long", 95),
    ("15-twenty-few-cassettes", 20, 30, 7, 0.2, 1.5, 0.75, 0.0, "long", 95),
    ("16-twenty-short-ends", 20, 30, 6, 0.4, 1.3, None, 2.5, "short", 101.3),
    ("17-forty", 40, 60, 12, 0.0, 1.5, None, 0.0, "long", 95),
    ("18-forty-coupled", 40, 60, 8, 0.5, 1.3, None, 1.0, "long", 101.3),
    ("19-forty-little-film", 40, 60, 12, 0.4, 0.8, None, 0.0, "long", 95),
    ("20-forty-few-cassettes", 40, 60, 12, 0.4, 1.5, 0.8, 0.0, "long", 95),
]

FRAMES = [6, 8, 10, 12, 15, 18, 20, 24, 30, 36, 40, 50, 60, 72, 80, 100]


def instance(shape, rng):
    name, cans, wants, stocks, shared, film, cassettes, short_end, pitch, uncounted = shape
    base = [rng.uniform(0.9, 3.0) for _ in range(stocks)]
    of_want = []
    for w in range(wants):
        several = rng.random() < shared and stocks > 1
        of_want.append(
            {
                "id": f"w{w + 1:02}",
                "stocks": sorted(f"s{s + 1}" for s in rng.sample(range(stocks), min(stocks, rng.choice([2, 2, 3])) if several else 1)),
                "frames": rng.choice(FRAMES),
                "priority": rng.choice([1, 1, 2, 2, 2, 3, 3, 4]),
            }
        )
    # Film of a stock in proportion to what is wanted of it, cut into cans of uneven length.
    need = [0.3] * stocks
    for w in of_want:
        for s in w["stocks"]:
            need[int(s[1:]) - 1] += w["frames"] * 0.0455 / len(w["stocks"])
    owner = list(range(stocks)) + [rng.randrange(stocks) for _ in range(cans - stocks)]
    portion = [rng.uniform(0.3, 1.0) for _ in owner]
    of_can = []
    for i, s in enumerate(owner):
        total = sum(p for p, o in zip(portion, owner) if o == s)
        mean = round(min(30.48, need[s] * film * portion[i] / total + 0.2), 2)
        of_can.append(
            {
                "id": f"c{i + 1:02}",
                "stock": f"s{s + 1}",
                "remaining_m": {"mean": mean, "sd": round(rng.uniform(0.01, 0.03) * mean + 0.02, 3)},
                "price_per_m": round(base[s] * rng.uniform(0.85, 1.2), 2),
            }
        )
    rolls = sum(-(-w["frames"] // 36) for w in of_want)
    return {
        "cans": of_can,
        "wants": of_want,
        "menu_frames": [6, 8, 12, 18, 24, 30, 36],
        "max_roll_frames": 36,
        "leader_clicks": 4,
        "tail_clicks": 2,
        "pitch": pitch,
        "uncounted_mm": uncounted,
        "cassettes": 3 * rolls if cassettes is None else int(cassettes * rolls),
        "page": {"rows": 6, "frames_per_row": 6, "price": 0.6},
        "chemistry_price_per_full_roll": 0.8,
        "short_end_price_per_m": short_end,
        "confidence": 0.95,
    }


def main():
    for number, shape in enumerate(SHAPES):
        problem = instance(shape, random.Random(3509 + number))
        path = HERE / "instances" / f"{shape[0]}.json"
        path.write_text(json.dumps(problem, separators=(",", ":")).replace('},{"id"', '},\n{"id"') + "\n")


if __name__ == "__main__":
    main()
