"""How far a hidden box must reach so that nothing of what it covers is left beside it, and filling it.

A lossy original has already mixed what lies near: JPEG transforms blocks of 8 × 8 samples, of which one may stand for
up to 32 × 32 pixels where the chroma is stored smaller (ITU-T T.81, A.2), and decoders smooth chroma over one more. So
a box is grown by the reach of its format before it is filled, in the picture as it was decoded, before any scaling.
"""

from __future__ import annotations

import math

from PIL import Image

from buildlog.read.kinds import Box

FILL = (32, 32, 32)
"Colour of a hidden box: plainly a patch, in a light and in a dark page."
SMOOTHED = 2
"Pixels beyond a block that smoothed chroma may reach: one, and one for rounding."
REACHES = {
    "WEBP": 16 + 8,  # macroblocks of 16 pixels, and the loop filter across their edges (RFC 6386, sections 2 and 15)
    "HEIF": 64 + 8,  # coding tree blocks of up to 64 pixels, and their filters (ITU-T H.265, 7.4.3.2 and 8.7)
}
"Pixels of the stored picture; of formats without loss nothing reaches out of a box."


def find_reach(image: Image.Image, stored: tuple[int, int]) -> int:
    """Pixels of the decoded picture by which its boxes must be grown; `stored` is its size in the file."""
    layers = getattr(image, "layer", None)
    if not layers:
        return REACHES.get(image.format or "", 0)
    block: int = 8 * max(max(layer[1], layer[2]) for layer in layers)
    return math.ceil(block * image.width / stored[0]) + SMOOTHED


def fill_boxes(image: Image.Image, hide: tuple[Box, ...], reach: int) -> Image.Image:
    """The upright picture with the boxes grown and filled: no pixel that one of them touches is left."""
    width, height = image.size
    for box in hide:
        left, top = math.floor(box.left * width) - reach, math.floor(box.top * height) - reach
        right, bottom = math.ceil(box.right * width) + reach, math.ceil(box.bottom * height) + reach
        image.paste(FILL, (max(0, left), max(0, top), min(width, right), min(height, bottom)))
    return image
