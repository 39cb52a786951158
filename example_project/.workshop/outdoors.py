# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""The pictures of the whole truck: in the barn, on an old print, at dusk, on the lane, on the rollers and under the oak."""

from __future__ import annotations

import math
import random
from pathlib import Path
from typing import Any

import materials
import places
from parts import picture_on
from PIL import Image, ImageDraw, ImageEnhance, ImageFilter, ImageFont
from scene import area, box, camera, cylinder, letters, mesh, plain_sky, prism, sky, spot, sun, tube, under
from truck import State, truck
from wheels import rim, tyre, wheel

STRAW = ((0.42, 0.30, 0.12), (0.62, 0.48, 0.24))


def flat(x: float, y: float) -> float:
    return 0.0


def barn() -> dict[str, Any]:
    wood = materials.timber((0.17, 0.115, 0.07), along="z", plank=0.2, grey=0.45)
    beam = materials.timber((0.13, 0.085, 0.05), along="x", fine=0.6)
    straw = materials.leaves(STRAW)
    places.ground(materials.earth(((0.16, 0.12, 0.08), (0.24, 0.19, 0.125)), fine=1.2, lumps=0.06), (-7, -6, 9, 6), lambda x, y: 0.015 * math.sin(3 * x) * math.cos(2.3 * y) - 0.01)
    places.stalks(9000, lambda c: (c.uniform(-4.5, 6), c.gauss(0, 2.4), 0.012), straw, 3, length=0.16)
    places.boards((-3.6, -5), (-3.6, 5), 5.0, wood, gap=0.007, seed=8)
    places.boards((-3.6, 3.4), (9, 3.4), 4.6, wood, gap=0.03, seed=12, lost=0.03)
    box((400, 400, 0.1), (0, 0, -0.3), materials.earth(((0.10, 0.11, 0.05), (0.16, 0.15, 0.08))))
    for y in (-2.6, 0.2, 3.2):
        box((0.2, 0.2, 5), (-3.4, y, 2.5), wood, bevel=0.015)
    for x in (-1.2, 1.9, 4.6):
        box((0.2, 0.2, 4.4), (x, 3.2, 2.2), wood, bevel=0.015)
        box((0.18, 8, 0.2), (x, 0, 3.55), beam, bevel=0.015)
    for z in (1.1, 2.9):
        box((0.1, 8, 0.14), (-3.5, 0, z), beam, bevel=0.01)
        box((10, 0.1, 0.14), (2, 3.3, z + 0.2), beam, bevel=0.01)
    box((14, 9, 0.1), (1, 0, 4.3), wood)
    box((14, 0.1, 5), (2, -5.2, 2.4), wood)
    for i, (x, y, z, a) in enumerate(((-2.6, 2.2, 0, 8), (-2.5, 2.75, 0, -4), (-2.6, 2.4, 0.36, 3), (-1.5, 2.8, 0, 92), (-2.9, -2.4, 0, 80), (-2.8, -2.9, 0, 95), (-2.85, -2.6, 0.36, 84))):
        places.bale((x, y, z), a, straw, i)
    truck((0, 0.1, 0), 0, State(rust=0.62, dust=0.95, mud=0.2, flat=0.06, tarpaulin=True, dull=0.8))
    sky(30, 100, 0.25)
    way = (-0.42, -1.0, -0.62)
    heading = math.degrees(math.atan2(-way[1], -way[0]))
    sun(math.degrees(math.atan2(0.62, math.hypot(0.42, 1))), heading, 14, (1, 0.86, 0.66), 0.5)
    for i, (x, z) in enumerate(((-1.9, 3.3), (-0.3, 3.4), (0.9, 2.9), (2.2, 3.3), (3.1, 3.0), (-2.7, 2.8), (1.6, 3.5))):
        places.shaft((x, 3.35, z), way, 4.6, 0.30 + 0.09 * (i % 3), 0.26)
    area((7.6, -1.5, 2.4), (0, 0, 0.9), 260, (4, 3), (0.86, 0.92, 1))
    camera((5.3, -2.9, 1.45), (0.35, 0.12, 0.98), lens=31, stop=4, focus=(1.9, -0.6, 1))
    return {"exposure": 0.45}


def meadow(colours: tuple[materials.Colour, materials.Colour], haze: tuple[materials.Colour, float], where: Any, height: Any, count: int, *, tall: float = 0.2) -> None:
    blade = places.hazed(materials.leaves(colours), *haze)
    kinds = [places.clump(blade, i, tall=tall) for i in range(4)]
    places.strew(kinds, count, where, height, 11)


def print_2011_inside() -> dict[str, Any]:
    haze = ((0.55, 0.66, 0.80), 900.0)

    def height(x: float, y: float) -> float:
        return 0.02 * math.sin(x) * math.cos(y * 0.8) + 0.0006 * max(0, -x - 8) ** 1.8

    soil = places.hazed(materials.earth(((0.10, 0.13, 0.035), (0.17, 0.17, 0.06))), *haze)
    places.ground(soil, (-160, -120, 14, 160), height, 80)
    meadow(((0.09, 0.15, 0.03), (0.25, 0.24, 0.07)), haze, lambda c: (c.uniform(-9, 7), c.uniform(-6, 8)), height, 3600, tall=0.16)
    leaf = places.hazed(materials.leaves(((0.035, 0.075, 0.02), (0.09, 0.14, 0.035))), *haze)
    for i, (x, y, t) in enumerate(((-14, 9, 7), (-19, -3, 8.5), (-24, 16, 9), (-16, -13, 7))):
        places.tree((x, y, height(x, y)), leaf, tall=t, seed=i + 2, leaf=(0.3, 0.22), crown=1.5)
    truck((0, 0, 0), 0, State(rust=0.12, dust=0.06, mud=0.2, plough=True))
    sky(38, -75, 0.11)
    sun(38, -75, 4.2)
    camera((5.6, -5.0, 1.5), (0.35, 0, 0.85), lens=37, stop=8)
    return {"exposure": 0.0}


def print_2011(inside: Path) -> dict[str, Any]:
    with Image.open(inside) as image:
        faded = ImageEnhance.Color(image.convert("RGB").resize((1200, 900))).enhance(0.62).filter(ImageFilter.GaussianBlur(1.1))
    faded = Image.merge("RGB", [band.point([int(low + v * (high - low) / 255) for v in range(256)]) for band, low, high in zip(faded.split(), (46, 30, 34), (250, 236, 205), strict=True)])
    ImageDraw.Draw(faded).text((930, 835), "14 08 '11", fill=(246, 150, 70), font=ImageFont.truetype("DejaVuSansMono-Bold.ttf", 38))
    sheet = Image.new("RGB", (1300, 1000), (236, 230, 214))
    sheet.paste(faded, (50, 50))
    target = inside.with_name("print-2011-sheet.png")
    sheet.save(target)
    places.bench(materials.timber((0.20, 0.125, 0.07), fine=3, stain=0.5))
    picture_on(target, (0.15, 0.1154), (0, 0.005, 0.002), 4, curl=0.0016, shine=0.6, rough=0.35, age=0.12)
    area((-0.5, 0.7, 0.6), (0, 0, 0), 9, 0.5, (1, 0.93, 0.83))
    area((0.6, -0.3, 0.7), (0, 0, 0), 3, 0.7, (0.8, 0.88, 1))
    sun(24, 140, 1.4, (1, 0.85, 0.65), 2)
    camera((0.005, -0.085, 0.20), (0, -0.002, 0), lens=42, stop=7, roll=-2)
    return {"exposure": -0.2}


def first_start() -> dict[str, Any]:
    places.ground(materials.concrete((0.12, 0.105, 0.09), wet=0.9, oil=0.2, fine=0.8), (-22, -20, 16, 30), lambda x, y: 0.012 * math.sin(1.3 * x) * math.sin(1.7 * y), 90)
    wood = materials.timber((0.12, 0.05, 0.035), along="z", plank=0.2, grey=0.3)
    pale = materials.timber((0.20, 0.14, 0.085), along="z", plank=0.2)
    places.boards((-9, 6), (-3.2, 6), 3.6, wood, gap=0.006)
    places.boards((1.0, 6), (7, 6), 3.6, wood, gap=0.006, seed=9)
    box((4.4, 0.06, 0.7), (-1.1, 6, 3.3), wood)
    roof = materials.paint((0.08, 0.075, 0.075), rust=0.5, dust=0.1)
    prism([(5.5, 3.4), (10.5, 6.4), (15.5, 3.4), (15.5, 3.55), (10.5, 6.6), (5.5, 3.55)], (-9.4, 7.4), roof, axis="x")
    for x in (-9, 7):
        prism([(6, 3.4), (15, 3.4), (10.5, 6.3)], (x - 0.05, x + 0.05), wood, axis="x")
    places.boards((-4, 11.5), (2.5, 11.5), 3.6, pale, gap=0.004, seed=2)
    for x0, x1, y1 in ((-3.2, -4.6, 4.2), (1.0, 2.7, 4.3)):
        places.boards((x0, 5.95), (x1, y1), 3.0, pale, gap=0.004, seed=4)
    area((-1, 8.6, 3.3), (-1, 8.6, 0), 330, 1.2, (1, 0.62, 0.28))
    with under((0, 9.6, 0)):
        for i in range(4):
            places.bale((-2.2 + 1.1 * i, 1.3, 0), 0, materials.leaves(STRAW), i)
    leaf = materials.leaves(((0.02, 0.03, 0.01), (0.04, 0.05, 0.02)))
    for i, (x, y, t) in enumerate(((-15, 12, 8), (13, 20, 10), (11, 9, 6.5))):
        places.tree((x, y, 0), leaf, tall=t, seed=i + 5, leaf=(0.3, 0.2), crown=1.4)
    truck((0.2, 1.7, 0), -52, State(rust=0.34, dust=0.2, mud=0.25, lit=70, steer=6))
    heading = math.radians(-52)
    for side in (1, -1):
        x, y = 2.02, side * 0.675
        at = (0.2 + x * math.cos(heading) - y * math.sin(heading), 1.7 + x * math.sin(heading) + y * math.cos(heading), 0.93)
        spot(at, (at[0] + 6 * math.cos(heading), at[1] + 6 * math.sin(heading), 0.1), 300, 62, (1, 0.78, 0.48))
    eye = (4.9, -4.6, 1.35)
    tail = (-0.72, 1.75, 2.2)
    for i, (dx, dz, size) in enumerate(((0.0, 0.1, 0.32), (-0.2, 0.45, 0.5), (-0.5, 0.9, 0.75), (-0.9, 1.3, 0.95), (-1.4, 1.6, 1.0))):
        places.puff((tail[0] + dx, tail[1], tail[2] + dz), eye, size, (0.34, 0.33, 0.36), 0.62 - 0.07 * i, i * 3.7)
    plain_sky((0.85, 0.42, 0.22), (0.09, 0.13, 0.28), 0.85, cloud=0.35)
    area((9, -9, 7), (0, 1, 1), 240, 6, (0.55, 0.62, 1))
    area((-20, 26, 9), (0, 0, 0), 900, (14, 5), (1, 0.55, 0.3))
    camera(eye, (-0.35, 2.6, 1.35), lens=30, stop=2.8, focus=(1.4, 0.2, 1))
    return {"exposure": 0.9}


def lane_bend(x: float) -> float:
    return 0.9 * math.sin(x * 0.055) - 0.9 * math.sin(0)


def on_the_road() -> dict[str, Any]:
    haze = ((0.52, 0.63, 0.78), 1500.0)

    def height(x: float, y: float) -> float:
        off = abs(y - lane_bend(x))
        verge = 0.10 * min(1, max(0, off - 1.75) / 0.8) - 0.02 * max(0, 1 - off / 1.5)
        far = max(0.0, math.hypot(x, y) - 45)
        roll = 0.0011 * far**1.8 * (0.55 + 0.45 * math.sin(0.011 * y + 0.006 * x + 1.1)) if far else 0
        return verge + min(roll, 75 + 20 * math.sin(0.013 * y + 0.5))

    field = places.hazed(materials.earth(((0.085, 0.13, 0.03), (0.20, 0.20, 0.065)), fine=0.05, lumps=0.3), *haze)
    places.ground(field, (-560, -480, 30, 480), lambda x, y: height(x, y) - 0.03, 130)
    tar = materials.concrete((0.135, 0.13, 0.125), oil=0.15, fine=1.3)
    n = 120
    points = []
    for i in range(n + 1):
        x = 14 - 60 * i / n
        points += [(x, lane_bend(x) + side, 0.03 + (0.05 if abs(side) < 1 else 0)) for side in (-1.75, 0, 1.75)]
    faces = [(3 * i + k, 3 * i + k + 1, 3 * i + k + 4, 3 * i + k + 3) for i in range(n) for k in range(2)]
    mesh(points, faces, tar, angle=180)

    def verge(chance: random.Random) -> tuple[float, float] | None:
        x = 9 - 40 * chance.random() ** 1.5
        side = chance.choice((1, -1))
        return x, lane_bend(x) + side * (1.62 + abs(chance.gauss(0, 0.55)))

    meadow(((0.075, 0.14, 0.025), (0.27, 0.25, 0.08)), haze, verge, height, 4200, tall=0.24)
    leaf = places.hazed(materials.leaves(((0.03, 0.07, 0.015), (0.10, 0.15, 0.035))), *haze)
    for side, tall, first in ((1, 1.35, 7), (-1, 1.15, 0)):
        places.hedge([(x, lane_bend(x) + side * 3.1) for x in range(first, -46, -6)], height, leaf, tall=tall, seed=4 + side, step=0.5)
    for i, (x, y, t) in enumerate(((-26, 7, 7), (-42, -8, 9), (-52, 12, 9), (-70, -24, 10), (-85, 30, 12), (-64, 3, 9))):
        places.tree((x, y, height(x, y)), leaf, tall=t, seed=i + 3, leaf=(0.34, 0.24), crown=1.5, haze=haze)
    truck((-0.6, lane_bend(-0.6) - 0.15, 0.06), 2, State(rust=0.22, dust=0.10, mud=0.12, steer=-2))
    eye = (6.2, -2.15, 1.2)
    for i, (x, z, size) in enumerate(((-1.4, 2.35, 0.26), (-1.9, 2.6, 0.42), (-2.7, 2.85, 0.6))):
        places.puff((x, -0.75, z), eye, size, (0.50, 0.50, 0.52), 0.62 - 0.12 * i, i * 2.1)
    sky(42, -48, 0.10, dust=1.4)
    sun(42, -48, 4.0)
    camera(eye, (-0.9, 0.12, 1.12), lens=37, stop=5.6, focus=(1.4, -0.8, 1))
    return {"exposure": 0.5}


def test_lane() -> dict[str, Any]:
    places.ground(materials.concrete((0.33, 0.325, 0.31), oil=0.5, wet=0.35), (-9, -6, 9, 6), flat, 2)
    low, high = materials.paint((0.10, 0.16, 0.20), rust=0.05, dust=0.1), materials.paint((0.52, 0.53, 0.50), rust=0.04, dust=0.1)
    box((0.2, 12, 1.3), (-6.5, 0, 0.65), low)
    box((0.2, 12, 4), (-6.55, 0, 3.2), high)
    for y in (3.9, -4.2):
        box((16, 0.2, 1.3), (0, y, 0.65), low)
        box((16, 0.2, 4), (0, y + 0.04 * (y > 0), 3.2), high)
    box((0.06, 3.4, 3.4), (-6.38, -0.1, 1.7), materials.paint((0.40, 0.42, 0.43), rust=0.1, dust=0.1))
    for i in range(9):
        box((0.03, 3.4, 0.03), (-6.34, -0.1, 0.35 + 0.38 * i), materials.plastic((0.06, 0.06, 0.06)))
    yellow = materials.paint((0.62, 0.40, 0.03), rust=0.0, dust=0.3, rough=0.6)
    for y in (1.75, -1.75):
        box((11, 0.11, 0.004), (-0.5, y, 0.002), yellow, bevel=0.001)
    steel, dark = materials.steel(rust=0.2, fine=2), materials.plastic((0.015, 0.015, 0.015), rough=0.8)
    box((0.86, 2.8, 0.006), (1.25, 0, 0.004), dark)
    for x in (1.05, 1.46):
        for y in (0.75, -0.75):
            cylinder(0.10, 0.98, (x, y, 0.01), materials.concrete((0.10, 0.10, 0.10), fine=6), (90, 0, 0))
    for x in (0.80, 1.70):
        box((0.06, 2.9, 0.03), (x, 0, 0.012), yellow)
    box((0.9, 0.32, 0.05), (1.25, 0, 0.02), steel)
    with under((-0.2, 2.45, 1.98), (0, 0, 68), 1.25):
        box((0.9, 0.14, 0.62), (0, 0, 0), materials.plastic((0.05, 0.06, 0.07)), bevel=0.02)
        face, ink, red = materials.lamp((0.8, 0.8, 0.74), 0.7), materials.plastic((0.01, 0.01, 0.01)), materials.plastic((0.6, 0.02, 0.01))
        for x, value, words in ((-0.22, 3.31, "3.31"), (0.22, 3.21, "3.21")):
            cylinder(0.17, 0.02, (x, -0.075, 0.06), face, (90, 0, 0))
            for k in range(9):
                a = math.radians(220 - 32.5 * k)
                box((0.03, 0.004, 0.005), (x + 0.145 * math.cos(a), -0.087, 0.06 + 0.145 * math.sin(a)), ink, (0, -math.degrees(a), 0), bevel=0)
            a = math.radians(220 - 260 * value / 8)
            box((0.13, 0.005, 0.007), (x + 0.06 * math.cos(a), -0.09, 0.06 + 0.06 * math.sin(a)), red, (0, -math.degrees(a), 0), bevel=0)
            letters(words, 0.10, (x, -0.075, -0.22), materials.lamp((1, 0.25, 0.1), 2.5), (90, 0, 0), bold=True)
        tube([(0, 0, 0.3), (0, 0.1, 2.5)], 0.03, dark, straight=True)
    with under((-4.6, -3.6, 0)):
        box((0.7, 0.5, 0.9), (0, 0, 0.45), materials.paint((0.35, 0.05, 0.03), rust=0.15), bevel=0.02)
        for z in (0.25, 0.5, 0.75):
            box((0.02, 0.44, 0.2), (0.35, 0, z - 0.05), materials.paint((0.3, 0.04, 0.03), rust=0.15), bevel=0.01)
    for y in (-1.6, 1.9):
        for x in (-4.2, 0.2):
            box((1.6, 0.12, 0.06), (x, y, 3.55), materials.lamp((0.92, 0.97, 1), 9))
    truck((0, 0, 0.035), 0, State(rust=0.2, dust=0.08, mud=0.08, plate="0417-WX-M"))
    area((0, 0, 3.5), (0, 0, 0), 150, (6, 4), (0.95, 0.98, 1))
    area((8, 0, 2.2), (0, 0, 0.8), 160, (4, 3), (0.85, 0.93, 1))
    plain_sky((0.4, 0.45, 0.5), (0.4, 0.45, 0.5), 0.25)
    camera((6.0, -0.62, 1.30), (0.6, 0.28, 1.05), lens=38, stop=5.6, focus=(2, 0, 1))
    return {"exposure": 0.1}


def autumn() -> dict[str, Any]:
    haze = ((0.60, 0.585, 0.56), 70.0)

    def height(x: float, y: float) -> float:
        far = max(0.0, -x - 9)
        return 0.03 * math.sin(0.9 * x + 0.4 * y) + 0.02 * math.cos(1.7 * y) + 0.004 * far**1.45 - (0.02 if abs(y) < 1.1 and x < 3 else 0)

    soil = places.hazed(materials.earth(((0.085, 0.075, 0.03), (0.15, 0.125, 0.055)), fine=1), *haze)
    places.ground(soil, (-130, -110, 14, 110), height, 110)
    meadow(((0.085, 0.10, 0.028), (0.24, 0.20, 0.085)), haze, lambda c: (7.5 - 22 * c.random() ** 1.4, c.uniform(-9, 11)), height, 4800, tall=0.13)
    gold = materials.leaves(((0.30, 0.085, 0.012), (0.52, 0.28, 0.035)), sheen=0.45)
    fallen = [places.cards(110, lambda c: (c.gauss(0, 0.34), c.gauss(0, 0.34), c.uniform(0.03, 0.11)), (0.06, 0.04), gold, s) for s in range(3)]
    places.strew(fallen, 330, lambda c: (c.gauss(-1.6, 2.6), c.gauss(1.7, 2.3)), height, 5, tilt=2)
    places.tree((-3.3, 3.3, 0), gold, tall=8.6, seed=12, leaf=(0.12, 0.08), full=1.6, crown=1.1)
    misty = places.hazed(materials.leaves(((0.16, 0.08, 0.02), (0.24, 0.15, 0.05))), *haze)
    for i, (x, y, t) in enumerate(((-34, -9, 8), (-42, 12, 10), (-55, -24, 11), (-50, 30, 10), (-60, 2, 11))):
        places.tree((x, y, height(x, y)), misty, tall=t, seed=i + 20, leaf=(0.34, 0.24), crown=1.4, haze=haze)
    on_hood = places.cards(34, lambda c: (x := c.uniform(0.75, 1.8), c.uniform(-0.42, 0.42), 1.372 - 0.092 * (x - 0.7) + 0.01), (0.06, 0.04), gold, 9)
    for vertex in on_hood.data.vertices:
        vertex.co.z = 1.366 - 0.092 * (vertex.co.x - 0.7) + 0.35 * (vertex.co.z - (1.382 - 0.092 * (vertex.co.x - 0.7)))
    on_hood.location = (0, 0, 0)
    on_bed = places.cards(40, lambda c: (c.uniform(-1.9, -0.9), c.uniform(-0.7, 0.7), 0.94), (0.08, 0.055), gold, 10)
    on_bed.location = (0, 0, 0)
    truck((0, 0, 0.0), 0, State(rust=0.17, dust=0.03, mud=0.32, steer=12))
    plain_sky((0.86, 0.80, 0.70), (0.48, 0.54, 0.62), 0.85, cloud=0.2)
    sun(17, -62, 4.6, (1, 0.76, 0.50), 2)
    camera((5.15, -3.5, 1.35), (0.0, 0.3, 1.2), lens=31, stop=4, focus=(1.9, -0.6, 1))
    return {"exposure": 0.15, "look": "AgX - High Contrast"}


def tyres() -> dict[str, Any]:
    places.ground(materials.concrete((0.26, 0.24, 0.21), oil=0.35), (-4, -4, 4, 0.3), flat, 2)
    wood = materials.timber((0.20, 0.065, 0.04), along="z", plank=0.19, grey=0.35)
    places.boards((-2.2, 0.2), (2.2, 0.2), 2.6, wood, gap=0.006, wide=0.17)
    for z in (0.5, 1.75):
        box((4.4, 0.04, 0.15), (0, 0.165, z), wood, bevel=0.005)
    box((2.3, 0.036, 0.14), (0.0, 0.14, 1.13), wood, (0, -32, 0), bevel=0.005)
    hinge = materials.steel((0.1, 0.1, 0.1), rust=0.7, fine=3)
    box((0.9, 0.012, 0.06), (-0.75, 0.138, 1.75), hinge, bevel=0.003)
    for x in (-1.1, -0.8, -0.5):
        places.bolt((x, 0.132, 1.75), 0.022, hinge, (90, 0, 0), washer=False)
    new = materials.rubber((0.016, 0.016, 0.017), dust=0.06, rough=0.5)
    old = materials.paint((0.56, 0.50, 0.36), rust=0.0, dust=0.04, rough=0.3)
    for i, (dx, dy) in enumerate(((0, 0), (0.012, -0.01), (-0.015, 0.008), (0.01, 0.012))):
        with under((0.56 + dx, -0.28 + dy, 0.106 + 0.205 * i), (0, 0, 37 * i)):
            tyre(new)
            rim(old, materials.plastic((0.01, 0.01, 0.01), rough=0.9), materials.steel(fine=4))
    wheel((-0.33, -0.42, 0.397), (76, 0, 14), paint=old, rubber=new)
    places.stalks(160, lambda c: (c.uniform(-1.2, 1.2), c.uniform(-1.3, 0.1), 0.006), materials.leaves(STRAW), 5)
    sun(36, -128, 3.4, (1, 0.9, 0.76), 1)
    sky(36, -128, 0.10)
    camera((-0.12, -2.95, 0.90), (0.07, -0.2, 0.66), lens=44, stop=4, focus=(-0.33, -0.5, 0.45))
    return {"exposure": 0.1}
