"""One small scene in every kind of file that is read, so that all must give the same densities.

Writes formats/NAME.* and formats.json. Interlaced PNG is written here by hand after the PNG specification (Adam7), since
the encoder at hand writes none.
"""

import json
import struct
import zlib

import imagecodecs
import numpy as np
import tifffile

from _scene import BORDERS, PLACES, STRIP, WEDGE, draw, quad
from scenes import HERE, PLAIN

SCENE = PLAIN | {"size": (230, 95), "degrees": 1.0, "falloff": 0.1}
PASSES = [(0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2)]


def interlaced_png(picture):
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    height, width = picture.shape
    rows = b"".join(b"\0" + row.astype(">u2").tobytes()
                    for x, y, dx, dy in PASSES for row in picture[y::dy, x::dx] if row.size)
    header = struct.pack(">IIBBBBB", width, height, 16, 0, 0, 0, 1)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(rows, 9)) + chunk(b"IEND", b"")


def main():
    folder = HERE / "formats"
    folder.mkdir(exist_ok=True)
    grey, to_picture = draw(SCENE, 99)
    grey = grey[:, :, 0]
    alpha = np.full(grey.shape, 30000, np.uint16)
    rgb = np.stack([grey] * 3, axis=-1)

    def tiff(name, picture, photometric="minisblack", **write):
        tifffile.imwrite(folder / name, picture, photometric=photometric, metadata=None, software=False, datetime=False, **write)

    tiff("plain.tif", grey)
    tiff("big-endian-strips.tif", grey, byteorder=">", rowsperstrip=10)
    tiff("bigtiff.tif", grey, bigtiff=True, compression="packbits")
    tiff("white-is-zero.tif", 65535 - grey, photometric="miniswhite")
    tiff("white-is-zero-lzw.tif", 65535 - grey, photometric="miniswhite", compression="lzw")
    tiff("deflate-tiles.tif", grey, compression="zlib", predictor=True, tile=(32, 48))
    tiff("alpha.tif", np.stack([grey, alpha], axis=-1), extrasamples=["unassalpha"], planarconfig="contig")
    tiff("colour-planes-tiles.tif", np.moveaxis(rgb, -1, 0), photometric="rgb", planarconfig="separate",
         compression="zlib", tile=(48, 32))
    (folder / "interlaced.png").write_bytes(interlaced_png(grey))
    (folder / "alpha.png").write_bytes(imagecodecs.png_encode(np.stack([grey, alpha], axis=-1), level=9))
    assert np.array_equal(imagecodecs.png_decode((folder / "interlaced.png").read_bytes()), grey)
    layout = {
        "strip": {"corners": quad(to_picture, PLACES["strip"]), "patches": len(STRIP)},
        "reference": {"corners": quad(to_picture, PLACES["wedge"]), "density": WEDGE.tolist(), "density_sd": 0.0, "inset": 0.1},
        "clear_border": [quad(to_picture, border) for border in BORDERS],
    }
    names = sorted(path.name for path in folder.iterdir())
    (HERE / "formats.json").write_text(json.dumps({"layout": layout, "files": names}, indent=1) + "\n")


if __name__ == "__main__":
    main()
