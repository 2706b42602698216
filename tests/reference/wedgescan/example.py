"""The small picture of docs/calc.md: a strip of two patches above a wedge of five steps, linear, 16 bits, lit unevenly."""

from pathlib import Path

import imagecodecs
import numpy as np

WIDTH, HEIGHT = 120, 56
PICTURE = Path(__file__).parents[3] / "docs" / "calc" / "wedgescan.png"


def main():
    rng = np.random.default_rng(7)
    density = np.full((HEIGHT, WIDTH), 0.05)
    for i, d in enumerate((0.35, 1.10)):
        density[10:24, 10 + 50 * i:60 + 50 * i] = d
    for i, d in enumerate((0.05, 0.35, 0.65, 0.95, 1.25)):
        density[32:46, 10 + 20 * i:30 + 20 * i] = d
    light = 0.9 * np.linspace(1.0, 0.9, WIDTH) * 10 ** (0.05 - density)
    light *= 1 + 0.005 * rng.normal(size=light.shape)
    PICTURE.write_bytes(imagecodecs.png_encode(np.round(light * 65535).astype(np.uint16), level=9))


if __name__ == "__main__":
    main()
