# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""What does the truck stand on? A tyre with blocks of tread, a dished steel rim and its nuts, hard or flat."""

from __future__ import annotations

import math
from typing import Any

import materials
from scene import box, cylinder, lathe, mesh, under

RADIUS, WIDTH, SEAT = 0.40, 0.20, 0.205
"Of a 7.50 R 16, metres: tread, width of the wall, where the rim begins."
NUTS, HOLES, BLOCKS = 5, 8, 34

PROFILE = [(SEAT, -0.075), (SEAT + 0.012, -0.088), (SEAT + 0.03, -0.092), (SEAT + 0.034, -0.096), (0.29, -0.103), (0.315, -0.104), (0.318, -0.107), (0.326, -0.107), (0.329, -0.104),
           (0.355, -0.100), (0.372, -0.093), (0.383, -0.084), (0.388, -0.07)]


def tyre(rubber: Any, *, flat: float = 0, worn: float = 0) -> None:
    """The tyre about z, its outer face up; `flat` metres are pressed out of it on the side of +x."""
    profile = PROFILE + [(r, -z) for r, z in reversed(PROFILE)]
    body = lathe(profile, rubber, steps=80, angle=50)
    tread = _tread(rubber, 0.012 * (1 - worn))
    if flat:
        for thing in (body, tread):
            for vertex in thing.data.vertices:
                _press(vertex, flat)


def _press(vertex: Any, flat: float) -> None:
    x, y, z = vertex.co
    ground = RADIUS - flat
    near = max(0.0, (x - 0.12) / (RADIUS - 0.12))
    z *= 1 + 0.42 * near**2 * min(1.0, flat / 0.05) * (1 - min(1, abs(y) / 0.34))
    vertex.co = (min(x, ground), y * (1 + 0.06 * near), z)


def _tread(rubber: Any, deep: float) -> Any:
    points: list[tuple[float, float, float]] = []
    faces: list[tuple[int, ...]] = []
    step = 2 * math.pi / BLOCKS
    for i in range(BLOCKS):
        for row, (z0, z1, lean, shift) in enumerate(((-0.092, -0.030, -0.028, 0.0), (-0.026, 0.026, 0.0, 0.5), (0.030, 0.092, 0.028, 0.0))):
            a, half = (i + shift) * step, 0.36 * step if row != 1 else 0.33 * step
            first = len(points)
            for r in (0.372, RADIUS - 0.012 + deep):
                wide = half if r < 0.38 else half * 0.9
                for z, skew in ((z0, -lean), (z1, lean)):
                    rr = r - 0.010 * (abs(z) / 0.092) ** 4
                    for b in (a - wide + skew, a + wide + skew):
                        points.append((rr * math.cos(b), rr * math.sin(b), z))
            faces += [tuple(first + k for k in f) for f in ((4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5), (0, 2, 3, 1))]
    return mesh(points, faces, rubber, bevel=0.0015, segments=1)


def rim(paint: Any, dark: Any, steel: Any) -> None:
    """The rim about z, its outer face up."""
    lathe([(0.17, -0.085), (SEAT + 0.016, -0.09), (SEAT + 0.018, -0.082), (SEAT - 0.004, -0.07), (0.185, -0.03), (0.185, 0.045), (SEAT - 0.004, 0.07), (SEAT + 0.018, 0.082),
           (SEAT + 0.016, 0.09), (SEAT, 0.088), (SEAT - 0.016, 0.074), (0.176, 0.045), (0.174, 0.030), (0.160, 0.034), (0.12, 0.052), (0.105, 0.050), (0.096, 0.036), (0.0, 0.036)], paint, steps=64, angle=40)
    lathe([(0.062, 0.03), (0.06, 0.085), (0.05, 0.096), (0, 0.097)], paint, bevel=0.003)
    for i in range(HOLES):
        a = 2 * math.pi * i / HOLES
        cylinder(0.0145, 0.012, (0.141 * math.cos(a), 0.141 * math.sin(a), 0.0405), dark, bevel=0.001, steps=20)
    for i in range(NUTS):
        a = 2 * math.pi * (i + 0.5) / NUTS
        at = (0.083 * math.cos(a), 0.083 * math.sin(a), 0.046)
        cylinder(0.013, 0.02, at, steel, (0, 0, 17 * i), steps=6, bevel=0.0015)
        cylinder(0.007, 0.032, at, steel, steps=14)
    box((0.006, 0.006, 0.03), (SEAT - 0.03, 0.0, 0.075), dark, (0, 25, 0), bevel=0.002)


def wheel(at: Any, turn: Any, *, paint: Any, rubber: Any, flat: float = 0, worn: float = 0) -> None:
    """A whole wheel about z."""
    dark = materials.plastic((0.008, 0.008, 0.008), rough=0.9)
    nuts = materials.steel((0.25, 0.24, 0.22), rust=0.4, fine=4)
    with under(at, turn):
        tyre(rubber, flat=flat, worn=worn)
        rim(paint, dark, nuts)
