"""How far apart two pictures of one photo are, as coarse as two encoders never drive them.

Encoders of different versions move single pixels, by as much as an edge is sharp, and leave the mean of a larger square
where it was. A picture of something else, or one in which something was painted over, moves those means.
"""

from __future__ import annotations

from PIL import Image, ImageChops

BLOCK = 16
"Pixels of the edge of a square whose mean is compared."
MOST_UNLIKE = 12
"""Levels of 255 by which the mean of one square may differ in two pictures that pass for one.

Measured by `tests.bench.bench_likeness` over 45 pictures: other encoders, qualities and ways of scaling than ours come
to 10 at most, two different pictures to 63 at least; a square of 32 pixels that was smeared over passes 12 in two cases
of three.
"""


def measure_unlikeness(one: Image.Image, other: Image.Image) -> int:
    """The largest difference between the means of two squares at the same place, 0 to 255; both are RGB of one size."""
    return max(high for _, high in ImageChops.difference(_coarsen(one), _coarsen(other)).getextrema())  # type: ignore[misc]  # three bands


def _coarsen(image: Image.Image) -> Image.Image:
    return image.reduce((min(BLOCK, image.width), min(BLOCK, image.height)))
