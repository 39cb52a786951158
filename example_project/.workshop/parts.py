# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""What lies on a bench? Dials with needles, labels, chalk, rags, tools, jars, wires with clips, sheets of paper."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import materials
from scene import FONT, box, cylinder, lathe, letters, mesh, prism, tube, under

HAND = FONT.with_name("DejaVuSansMono-Oblique.ttf")
INK = (0.012, 0.012, 0.016)


def chalk() -> Any:
    """A line of chalk: white where the surface is high, nothing where it is not."""
    s = materials.Surface("chalk", through=True)
    return s.done(colour=(0.78, 0.77, 0.72), rough=1.0, sheer=s.between(s.noise(520, 4), 0.34, 0.52, (0.25, 0.95)))


def written(words: str, size: float, at: Sequence[float], turn: Sequence[float] = (0, 0, 0), *, material: Any = None, align: str = "CENTER") -> Any:
    """Words by hand."""
    return letters(words, size, at, material or materials.plastic(INK, rough=0.8), turn, align=align, font=HAND, depth=0.00005)


def picture_on(picture: Path, size: tuple[float, float], at: Any, turn: float = 0, *, curl: float = 0.004, shine: float = 0.3, rough: float = 0.85, age: float = 0.25, stand: float = 0) -> Any:
    """A sheet of paper of so many metres that shows a picture, its corners lifting a little; `stand` tips it up by degrees."""
    n = 24
    points = []
    for j in range(n + 1):
        for i in range(n + 1):
            u, v = i / n - 0.5, j / n - 0.5
            lift = curl * (16 * abs(u * v) ** 1.6 * 3 + 0.35 * math.sin(4.2 * u + 1) * math.cos(3.1 * v))
            points.append((u * size[0], v * size[1], max(0.0003, lift)))
    faces = [(j * (n + 1) + i, j * (n + 1) + i + 1, (j + 1) * (n + 1) + i + 1, (j + 1) * (n + 1) + i) for j in range(n) for i in range(n)]
    thing = mesh(points, faces, materials.printed(picture, shine=shine, rough=rough, age=age), at, (stand, 0, turn), angle=180)
    layer = thing.data.uv_layers.new()
    for loop in thing.data.loops:
        k = loop.vertex_index
        layer.data[loop.index].uv = ((k % (n + 1)) / n, (k // (n + 1)) / n)
    return thing


def label(words: str, at: Sequence[float], turn: float = 0, *, tall: float = 0.022, stand: float = 0, string: bool = True) -> None:
    """A card label with a hole and a piece of string."""
    wide = tall * (0.55 * max(len(line) for line in words.split("\n")) + 1.9) * 0.62
    lines = words.split("\n")
    high = tall * (0.55 + 0.75 * len(lines))
    card = materials.cloth((0.60, 0.50, 0.34), fine=6, stain=0.25)
    with under(at, (stand, 0, turn)):
        prism([(-wide / 2, -high / 2), (wide / 2, -high / 2), (wide / 2, high / 2), (-wide / 2, high / 2), (-wide / 2 - tall * 0.3, high / 4), (-wide / 2 - tall * 0.3, -high / 4)], (0, 0.0006), card, axis="z", bevel=0.0002)
        lathe([(0.0022, 0.0006), (0.0022, 0.0012), (0.004, 0.0012), (0.004, 0.0006)], materials.steel((0.6, 0.4, 0.15), rust=0.1), (-wide / 2 - tall * 0.08, 0, 0), steps=24)
        if string:
            x = -wide / 2 - tall * 0.1
            tube([(x, 0, 0.0012), (x - 0.012, 0.005, 0.004), (x - 0.03, 0.001, 0.001), (x - 0.045, 0.012, 0.001)], 0.0006, materials.cloth((0.5, 0.45, 0.35)))
        for i, line in enumerate(lines):
            written(line, tall * 0.72, (tall * 0.1, high / 2 - tall * (0.62 + 0.75 * i), 0.0008))


def dial(radius: float, scale: tuple[float, float], step: float, value: float, *, small: int = 5, sweep: tuple[float, float] = (225, -45), words: Sequence[tuple[str, float]] = (), face: materials.Colour = (0.72, 0.69, 0.60),
         ink: materials.Colour = INK, window: str = "", glass: bool = True, bezel: Any = None, numbers: float = 0.17) -> None:
    """A round instrument that faces +z: a scale from `scale[0]` to `scale[1]` numbered at each `step`, the needle at `value`."""
    low, high = scale
    paper, black = materials.plastic(face, rough=0.7, fine=14, dirt=0.25), materials.plastic(ink, rough=0.6, dirt=0)
    cylinder(radius * 0.97, 0.002, (0, 0, -0.001), paper, bevel=0.0002, steps=64)

    def at(v: float, r: float) -> tuple[float, float, float]:
        a = math.radians(sweep[0] + (sweep[1] - sweep[0]) * (v - low) / (high - low))
        return r * math.cos(a) * radius, r * math.sin(a) * radius, a

    count = round((high - low) / step) * small
    for k in range(count + 1):
        big = k % small == 0
        x, y, a = at(low + k * step / small, 0.86 if big else 0.885)
        box((radius * (0.13 if big else 0.075), radius * (0.022 if big else 0.012), 0.0003), (x, y, 0.0002), black, (0, 0, math.degrees(a)), bevel=0)
        if big:
            x, y, _ = at(low + k * step / small, 0.655)
            letters(f"{low + k * step / small:g}", radius * numbers, (x, y, 0.0002), black, depth=0.0001)
    for word, y in words:
        letters(word, radius * 0.12, (0, y * radius, 0.0002), black, depth=0.0001)
    if window:
        wide = radius * 0.125
        box((wide * (len(window) + 0.5), radius * 0.25, 0.0012), (0, -radius * 0.42, 0.0002), materials.plastic((0.01, 0.01, 0.01), rough=0.5), bevel=0.0003)
        for i, digit in enumerate(window):
            x = (i - (len(window) - 1) / 2) * wide
            last = i == len(window) - 1 and len(window) > 6
            drum = materials.plastic((0.7, 0.68, 0.62) if last else (0.035, 0.035, 0.035), rough=0.5, dirt=0.1)
            box((wide * 0.9, radius * 0.20, 0.001), (x, -radius * 0.42, 0.0008), drum, bevel=0.0003)
            letters(digit, radius * 0.20, (x, -radius * 0.425, 0.0014), materials.plastic((0.78, 0.76, 0.70), rough=0.6, dirt=0), depth=0.0001, bold=True)
    x, y, a = at(value, 0.34)
    with under((0, 0, 0.004), (0, 0, math.degrees(a))):
        red = materials.plastic((0.42, 0.03, 0.015), rough=0.5, dirt=0)
        prism([(-0.2 * radius, -0.028 * radius), (0.80 * radius, -0.007 * radius), (0.80 * radius, 0.007 * radius), (-0.2 * radius, 0.028 * radius)], (0, 0.0008), red, axis="z", bevel=0.0001)
        cylinder(radius * 0.075, 0.004, (0, 0, 0.001), materials.plastic((0.02, 0.02, 0.02)), bevel=0.0008)
    ring = bezel or materials.steel((0.68, 0.67, 0.64), rust=0.12, rough=0.2, oil=0.15, fine=9)
    deep = max(0.006, radius * 0.16)
    lathe([(radius * 0.96, 0), (radius * 0.96, deep * 0.8), (radius * 1.0, deep), (radius * 1.06, deep), (radius * 1.09, deep * 0.6), (radius * 1.08, -deep * 2), (radius * 0.9, -deep * 3.2), (0, -deep * 3.2)], ring, steps=72, angle=50)
    if glass:
        lathe([(0, deep * 0.84), (radius * 0.97, deep * 0.8)], materials.glass(dirt=0.025, fine=10), steps=48)


def rag(at: Sequence[float], size: tuple[float, float], colour: materials.Colour, *, seed: int = 1, turn: float = 0, folds: float = 0.007) -> None:
    """A cotton rag thrown down."""
    chance = random.Random(seed)
    waves = [(chance.uniform(3, 17), chance.uniform(3, 17), chance.uniform(0, 6), chance.uniform(0.2, 1)) for _ in range(9)]
    n = 56
    points = []
    for i in range(n):
        for j in range(n):
            u, v = i / (n - 1) - 0.5, j / (n - 1) - 0.5
            lift = sum(h / (1 + (a + b) / 12) * math.sin(a * u * 1.6 + b * v * 1.6 + c) for a, b, c, h in waves)
            edge = max(abs(u), abs(v)) * 2
            z = folds * max(0.0, abs(lift) * (0.25 + 0.9 * edge**3))
            points.append((u * size[0] * (1 + 0.05 * math.sin(9 * v)), v * size[1] * (1 + 0.06 * math.sin(8 * u + 1)), z + 0.0006))
    faces = [(i * n + j, (i + 1) * n + j, (i + 1) * n + j + 1, i * n + j + 1) for i in range(n - 1) for j in range(n - 1)]
    mesh(points, faces, materials.cloth(colour, fine=7, stain=0.75), at, (0, 0, turn), angle=180)


def spanner(at: Sequence[float], turn: float, size: float, length: float) -> None:
    """An open spanner, lying."""
    jaw = []
    for k in range(13):
        a = math.radians(38 + 284 * k / 12)
        jaw.append((size * 1.15 * math.cos(a), size * 1.15 * math.sin(a)))
    jaw += [(size * 0.1, -size * 0.52), (-size * 0.25, -size * 0.45), (-size * 0.25, size * 0.45), (size * 0.1, size * 0.52)]
    metal = materials.steel((0.5, 0.49, 0.47), rust=0.12, rough=0.3, fine=9)
    with under(at, (0, 0, turn)):
        prism(jaw, (0, size * 0.42), metal, axis="z", turn=(0, 0, -15), bevel=size * 0.06)
        box((length, size * 0.85, size * 0.26), (-size - length / 2 + size * 0.2, 0, size * 0.21), metal, bevel=size * 0.09)
        prism([(-c[0], c[1]) for c in jaw], (0, size * 0.42), metal, (-2 * size - length + size * 0.4, 0, 0), (0, 0, -15), axis="z", bevel=size * 0.06)


def rule(at: Sequence[float], turn: float, inches: int = 6) -> None:
    """A steel rule in inches, with eighths and the sixteenths between."""
    inch = 0.0254
    black = materials.plastic((0.015, 0.015, 0.015), dirt=0)
    with under(at, (0, 0, turn)):
        box((inch * (inches + 0.4), 0.022, 0.001), (inch * inches / 2, 0, 0.0005), materials.steel((0.62, 0.61, 0.58), rust=0.04, rough=0.32, oil=0.15, fine=14), bevel=0.0003)
        for k in range(inches * 16 + 1):
            tall = 0.009 if k % 16 == 0 else 0.0065 if k % 8 == 0 else 0.005 if k % 2 == 0 else 0.003
            box((0.0003, tall, 0.0002), (k * inch / 16, 0.011 - tall / 2, 0.001), black, bevel=0)
            if k % 16 == 0 and k:
                letters(str(k // 16), 0.008, (k * inch - 0.004, -0.003, 0.0011), black, depth=0.00005)


def jar(radius: float, tall: float, full: float, fluid: materials.Colour, at: Sequence[float]) -> None:
    """A glass jar without a lid, filled so far."""
    with under(at):
        wall = 0.0024
        lathe([(0, 0.001), (radius, 0.001), (radius, tall * 0.86), (radius * 0.93, tall * 0.92), (radius * 0.93, tall), (radius * 0.93 - wall, tall), (radius * 0.93 - wall, tall * 0.92), (radius - wall, tall * 0.85),
               (radius - wall, 0.005), (0, 0.005)], materials.glass((0.93, 0.97, 0.95), dirt=0.03, fine=8), angle=60)
        lathe([(0, 0.0052), (radius - wall - 0.0002, 0.0052), (radius - wall - 0.0002, tall * full), (0, tall * full)], materials.fuel(fluid), angle=40)


def clip(at: Sequence[float], turn: Sequence[float], colour: materials.Colour) -> None:
    """A crocodile clip, jaws to +x."""
    metal = materials.steel((0.6, 0.6, 0.58), rust=0.05, rough=0.25)
    with under(at, turn):
        for side in (1, -1):
            prism([(0, 0.0006 * side), (0.018, 0.0006 * side), (0.018, 0.0025 * side), (-0.004, 0.0055 * side), (-0.006, 0.003 * side)], (-0.0028, 0.0028), metal, bevel=0.0004)
        cylinder(0.0052, 0.026, (-0.016, 0, 0), materials.plastic(colour, rough=0.4), (0, 90, 0), bevel=0.0015)


def clamp(at: Sequence[float], turn: Sequence[float], radius: float, *, wide: float = 0.009) -> None:
    """A hose clamp about z."""
    metal = materials.steel((0.6, 0.6, 0.57), rust=0.05, rough=0.25, fine=12)
    with under(at, turn):
        lathe([(radius, -wide / 2), (radius + 0.001, -wide / 2), (radius + 0.001, wide / 2), (radius, wide / 2)], metal)
        box((0.011, 0.006, wide), (0, -radius - 0.004, 0), metal, bevel=0.001)
        cylinder(0.0035, 0.018, (0.002, -radius - 0.0045, 0), metal, (0, 90, 0), steps=6, bevel=0.0005)
