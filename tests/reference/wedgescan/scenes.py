"""Scenes of known densities as picture files, and what scikit-image and scipy read from the same files.

Writes pictures/NAME.* and scenes.json. The reading here is the plain one: straighten strip and wedge by a projective
warp, take the median of the middle of every patch, interpolate density over log level through the wedge (PCHIP). It
knows nothing of uneven light, so its densities are compared only where the light is even; its levels always.
"""

import json
import sys
from importlib.metadata import version
from pathlib import Path

import imagecodecs
import numpy as np
import tifffile
from scipy.interpolate import PchipInterpolator
from skimage.transform import ProjectiveTransform, warp

from _scene import BORDERS, PLACES, STRIP, WEDGE, draw, quad

HERE = Path(__file__).parent
PLAIN = {"size": (420, 170), "degrees": 0.0, "keystone": 0.0, "falloff": 0.0, "specks": 0, "hairs": 0, "bits": 16,
         "channels": 1, "white": 0.9, "grain": 0.01, "dark": 0.0004, "tone": "linear", "file": "tif", "write": {}}
SCENES = {
    "rotated": PLAIN | {"degrees": 3.0, "write": {"compression": "zlib", "predictor": True}},
    "keystone-colour": PLAIN | {"size": (300, 130), "keystone": 1.0, "channels": 3, "write": {"compression": "lzw", "rowsperstrip": 7}},
    "uneven-light": PLAIN | {"degrees": -2.0, "falloff": 0.2, "tone": "gamma 2.2", "file": "png"},
    "dusty": PLAIN | {"keystone": 0.5, "specks": 120, "hairs": 12, "write": {"byteorder": ">"}},
    "uneven-and-dusty-8-bit": PLAIN | {"degrees": 1.0, "falloff": 0.2, "specks": 60, "hairs": 6, "bits": 8, "tone": "srgb",
                                       "file": "png", "channels": 3},
    "photographed": PLAIN | {"degrees": 4.0, "keystone": 1.0, "falloff": 0.2, "specks": 60, "hairs": 6, "tone": "srgb",
                             "write": {"compression": "zlib", "tile": (64, 64)}},
    "jpeg": PLAIN | {"size": (600, 240), "degrees": 2.0, "falloff": 0.1, "bits": 8, "tone": "srgb", "file": "jpg", "channels": 3},
    "in-planes": PLAIN | {"size": (300, 130), "degrees": -3.0, "channels": 3, "write": {"planarconfig": "separate", "byteorder": ">"}},
    "noisy": PLAIN | {"dark": 0.004, "grain": 0.03, "falloff": 0.1, "file": "png"},
}


def save(path, picture, scene):
    picture = picture[:, :, 0] if scene["channels"] == 1 else picture
    if scene["file"] == "png":
        path.write_bytes(imagecodecs.png_encode(picture, level=9))
    elif scene["file"] == "jpg":
        path.write_bytes(imagecodecs.jpeg8_encode(picture, level=92, subsampling="444"))
    else:
        write = dict(scene["write"])
        if write.get("planarconfig") == "separate":
            picture = np.moveaxis(picture, -1, 0)
        photometric = "minisblack" if scene["channels"] == 1 else "rgb"
        tifffile.imwrite(path, picture, photometric=photometric, metadata=None, software=False, datetime=False, **write)


def load(path):
    if path.suffix == ".png":
        return imagecodecs.png_decode(path.read_bytes())
    if path.suffix == ".jpg":
        return imagecodecs.jpeg8_decode(path.read_bytes())
    picture = tifffile.imread(path)
    return np.moveaxis(picture, 0, -1) if picture.ndim == 3 and picture.shape[0] == 3 else picture


def levels(picture, corners, count, inset=0.2, across=40, down=60):
    """Median level of every patch, as a part of full white."""
    grey = picture.mean(axis=2) if picture.ndim == 3 else picture.astype(float)
    full = 65535 if picture.dtype == np.uint16 else 255
    width = across * count
    flat = np.array([[0, 0], [width, 0], [width, down], [0, down]], dtype=float)
    straight = ProjectiveTransform.from_estimate(flat - 0.5, np.array(corners) - 0.5)
    image = warp(grey, straight, output_shape=(down, width), order=1)
    cut = slice(round(inset * down), round((1 - inset) * down))
    return [float(np.median(image[cut, round((i + inset) * across):round((i + 1 - inset) * across)])) / full
            for i in range(count)]


def main():
    folder = HERE / "pictures"
    folder.mkdir(exist_ok=True)
    scenes = []
    for seed, (name, scene) in enumerate(SCENES.items(), start=1):
        picture, to_picture = draw(scene, seed)
        path = folder / f"{name}.{scene['file']}"
        save(path, picture, scene)
        layout = {
            "strip": {"corners": quad(to_picture, PLACES["strip"]), "patches": len(STRIP)},
            "reference": {"corners": quad(to_picture, PLACES["wedge"]), "density": WEDGE.tolist(), "density_sd": 0.0},
            "clear_border": [quad(to_picture, border) for border in BORDERS],
        }
        seen = load(path)
        strip = levels(seen, layout["strip"]["corners"], len(STRIP))
        wedge = levels(seen, layout["reference"]["corners"], len(WEDGE))
        order = np.argsort(wedge)
        curve = PchipInterpolator(np.log10(np.array(wedge)[order]), WEDGE[order]) if np.all(np.diff(np.array(wedge)[order]) > 0) else None
        read = curve(np.log10(strip)).tolist() if curve is not None and scene["falloff"] == 0.0 else []
        scenes.append({"name": name, "file": path.name, "scene": scene | {"size": list(scene["size"])}, "layout": layout,
                       "truth": STRIP.tolist(), "levels": strip, "wedge_levels": wedge, "densities": read})
    used = {package: version(package) for package in ("numpy", "scipy", "scikit-image", "tifffile", "imagecodecs")}
    text = json.dumps({"python": ".".join(map(str, sys.version_info[:3])), "versions": used, "scenes": scenes}, indent=1)
    (HERE / "scenes.json").write_text(text + "\n")


if __name__ == "__main__":
    main()
