"""What `calc pages` and `calc cutstrips` promise, put in numbers once more from their documentation alone."""

import functools


def roll(frames, width):
    """Rows of a roll of full frames, and the pockets of its short strip: fewest strips, fewest of one frame, then short."""
    strips = -(-frames // width)

    @functools.lru_cache(None)
    def best(left, count):
        """Fewest single strips and shortest last strip when `left` frames are `count` strips."""
        if count == 1:
            return (int(left == 1), left) if 1 <= left <= width else None
        found = None
        for first in range(1, width + 1):
            rest = best(left - first, count - 1) if left > first else None
            if rest and (found is None or (rest[0] + (first == 1), rest[1]) < found):
                found = (rest[0] + (first == 1), rest[1])
        return found

    return strips, best(frames, strips)[1]


def places(images):
    """Where each picture begins and ends, in perforations."""
    found, at = [], 0
    for i, image in enumerate(images):
        at += image.get("gap_perforations", 0) if i else 0
        end = at + {"full": 8, "half": 4, "panoramic": 16}[image.get("shape", "full")]
        found.append((at, end))
        at = end
    return found
