"""A strip beside a step wedge on clear film, as a scanner or camera would show it: drawn from densities that are known.

The plane of the film is 1 wide: strip above, wedge below, clear film around. A projective transform puts it into the
picture; every pixel is the mean of 3 × 3 points. Light, dust, noise, tone curve and rounding follow in this order.
"""

import numpy as np
from skimage.draw import disk, line_aa
from skimage.transform import ProjectiveTransform

CLEAR = 0.05
STRIP = np.round(0.12 + 0.155 * np.arange(16), 3)
WEDGE = np.round(0.05 + 0.15 * np.arange(21), 3)
# Places on the plane: x from and to, y from and to.
PLACES = {"strip": (0.06, 0.94, 0.075, 0.15), "wedge": (0.06, 0.94, 0.19, 0.265)}
BORDERS = [(0.02, 0.98, 0.02, 0.06), (0.02, 0.98, 0.158, 0.182), (0.02, 0.98, 0.28, 0.32)]
PLANE = (1.0, 0.34)


def plane_density(x, y):
    density = np.full(x.shape, CLEAR)
    for name, steps in (("strip", STRIP), ("wedge", WEDGE)):
        x0, x1, y0, y1 = PLACES[name]
        inside = (x0 <= x) & (x < x1) & (y0 <= y) & (y < y1)
        number = np.clip(((x - x0) / (x1 - x0) * len(steps)).astype(int), 0, len(steps) - 1)
        density[inside] = steps[number[inside]]
    return density


def transform(size, degrees, keystone):
    """From the plane to pixels whose outer left top corner is (0, 0)."""
    width, height = size
    margin = 0.04 * width
    scale = (width - 2 * margin) / PLANE[0]
    corners = np.array([[0, 0], [PLANE[0], 0], [PLANE[0], PLANE[1]], [0, PLANE[1]]])
    placed = corners * scale
    placed[1, 1] += keystone * scale * 0.06
    placed[2, 1] -= keystone * scale * 0.06
    placed[2, 0] -= keystone * scale * 0.02
    turn = np.radians(degrees)
    middle = placed.mean(axis=0)
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    placed = (placed - middle) @ rotation.T + np.array([width, height]) / 2
    return ProjectiveTransform.from_estimate(corners, placed)


def srgb(light):
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)


TONES = {"linear": lambda light: light, "gamma 2.2": lambda light: light ** (1 / 2.2), "srgb": srgb}


def add_dust(light, rng, specks, hairs):
    height, width = light.shape
    for _ in range(specks):
        rr, cc = disk((rng.uniform(0, height), rng.uniform(0, width)), rng.uniform(1.0, 3.0), shape=light.shape)
        light[rr, cc] *= rng.uniform(0.05, 0.6)
    for _ in range(hairs):
        r0, r1 = rng.integers(0, height, 2)
        c0 = rng.integers(0, width - 60)
        rr, cc, amount = line_aa(r0, c0, r1, c0 + rng.integers(5, 60))
        light[rr, cc] *= 1 - 0.8 * amount


def draw(scene, seed):
    """The picture as whole numbers, rows × columns × channels, and the transform that put the plane into it."""
    rng = np.random.default_rng(seed)
    width, height = scene["size"]
    to_picture = transform(scene["size"], scene["degrees"], scene["keystone"])
    points = 3
    mean = np.zeros((height, width))
    for i in range(points):
        for j in range(points):
            xs, ys = np.meshgrid(np.arange(width) + (i + 0.5) / points, np.arange(height) + (j + 0.5) / points)
            plane = to_picture.inverse(np.column_stack([xs.ravel(), ys.ravel()]))
            mean += 10 ** -(plane_density(plane[:, 0], plane[:, 1]).reshape(height, width) - CLEAR)
    light = mean / points**2
    xs, ys = np.meshgrid((np.arange(width) + 0.5) / width - 0.5, (np.arange(height) + 0.5) / height - 0.5)
    # Off the middle, so that strip and wedge are not lit alike.
    away = (xs - 0.1) ** 2 + (ys - 0.15) ** 2
    light *= 1 - scene["falloff"] * away / away.max()
    add_dust(light, rng, scene["specks"], scene["hairs"])
    full = 65535 if scene["bits"] == 16 else 255
    channels = []
    for strength in (1.0,) if scene["channels"] == 1 else (0.97, 1.0, 0.93):
        seen = light * strength * scene["white"]
        seen = seen + rng.normal(size=seen.shape) * np.hypot(scene["grain"] * seen, scene["dark"])
        level = TONES[scene["tone"]](np.clip(seen, 0, 1))
        channels.append(np.clip(np.round(level * full), 0, full))
    picture = np.stack(channels, axis=-1).astype(np.uint16 if scene["bits"] == 16 else np.uint8)
    return picture, to_picture


def quad(to_picture, place):
    x0, x1, y0, y1 = place
    corners = to_picture(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]))
    return [[round(float(x), 3), round(float(y), 3)] for x, y in corners]
