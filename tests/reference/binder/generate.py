"""Invented years of rolls and invented rolls, with a fixed seed, in the input formats of `calc pages` and `calc cutstrips`."""

import json
import random
from pathlib import Path

HERE = Path(__file__).parent
COUNTS = [6, 8, 10, 12, 14, 16, 20, 24, 28, 32, 40, 50]
PAGES = [(6, 6), (7, 5), (7, 6), (5, 6), (10, 4), (4, 6)]
MENU = [6, 8, 12, 18, 24, 30, 36]


def filing(number):
    rng = random.Random(505 + number)
    rows, width = PAGES[number % len(PAGES)]
    usual = number % 4 < 2
    rolls = [
        {"id": f"r{i + 1:02}", "frames": rng.choice(MENU) if usual else rng.randint(2, 38)}
        for i in range(COUNTS[number % len(COUNTS)])
    ]
    asked = {
        "rolls": rolls,
        "page": {"rows": rows, "frames_per_row": width},
        "order": "any",
        "share_rows": number // 12 % 2 == 1,
    }
    if number % 3 == 0:
        asked["started"] = {"used_rows": rng.randint(1, rows - 1)}
    return asked


def strip(number):
    rng = random.Random(606 + number)
    images = []
    for i in range(rng.randint(15, 42)):
        image = {"frame": str(i)}
        shape = rng.choices(["full", "half", "panoramic"], [8, 3, 1] if number % 2 else [1, 0, 0])[0]
        if shape != "full":
            image["shape"] = shape
        if rng.random() < 0.08:
            image["blank"] = True
        if rng.random() < 0.12:
            image["gap_perforations"] = rng.choice([-2, -1, 1, 2, 4, 7, 15])
        images.append(image)
    return {"images": images, "page": {"rows": 7, "frames_per_row": rng.choice([4, 5, 6])}}


def write(name, make, count):
    lines = [f'"{n + 1:02}": {json.dumps(make(n), separators=(",", ":"))}' for n in range(count)]
    (HERE / name).write_text("{\n" + ",\n".join(lines) + "\n}\n")


def main():
    write("filings.json", filing, 60)
    write("rolls.json", strip, 40)


if __name__ == "__main__":
    main()
