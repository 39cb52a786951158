# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""The pictures of what came off or goes on, on the bench: cylinders, a diaphragm, bushes, two speedometers, a solenoid, and the shelf."""

from __future__ import annotations

import math
import random
from typing import Any

import materials
import parts
import places
from mathutils import Vector
from scene import area, box, camera, cylinder, lathe, letters, mesh, plain_sky, tube, under


def top(colour: materials.Colour = (0.19, 0.12, 0.068), *, fine: float = 2.4, stain: float = 0.6) -> None:
    """The bench itself, in the light of a window to the left and a cool room."""
    places.bench(materials.timber(colour, fine=fine, stain=stain, plank=0.149), size=(2.2, 1.3))
    plain_sky((0.20, 0.19, 0.18), (0.30, 0.33, 0.38), 0.35)


def brake_cylinder(bore: float, metal: Any, inside: Any) -> None:
    """A wheel cylinder about z, its open bore up; `bore` is its diameter."""
    r = bore / 2
    lathe([(0, -0.028), (r, -0.028), (r, 0.026), (r + 0.0012, 0.0275), (r + 0.0052, 0.0275), (r + 0.0062, 0.026), (r + 0.0062, 0.021), (r + 0.0042, 0.019), (r + 0.0042, 0.015), (r + 0.0068, 0.013),
           (r + 0.0068, -0.014), (r + 0.0042, -0.016), (r + 0.0042, -0.02), (r + 0.0062, -0.022), (r + 0.0062, -0.0285), (0, -0.0285)], metal, steps=64, bevel=0.0005)
    lathe([(0, 0.004), (r - 0.0002, 0.004), (r - 0.0002, 0.009), (r * 0.8, 0.0098), (r * 0.5, 0.0098), (r * 0.45, 0.0085), (0, 0.0085)], inside, steps=48)
    box((0.034, 0.018, 0.030), (0, -r - 0.006, 0), metal, bevel=0.003)
    for x in (-0.012, 0.012):
        cylinder(0.0042, 0.022, (x, -r - 0.022, 0), metal, (90, 0, 0), bevel=0.0006)
    cylinder(0.006, 0.012, (0, -r - 0.019, 0), metal, (90, 0, 0), steps=6)
    cylinder(0.003, 0.02, (r + 0.012, 0, 0), materials.steel((0.6, 0.42, 0.16), rust=0, fine=12), (0, 90, 0))
    cylinder(0.0048, 0.007, (r + 0.010, 0, 0), materials.steel((0.6, 0.42, 0.16), rust=0, fine=12), (0, 90, 0), steps=6)


def cylinders() -> dict[str, Any]:
    top(fine=3)
    zinc = materials.steel((0.60, 0.59, 0.55), rust=0.03, rough=0.3, oil=0.12, fine=12)
    dark = materials.cast((0.05, 0.05, 0.052), fine=14, grime=0.5)
    seal = materials.plastic((0.02, 0.02, 0.02), rough=0.5)
    for x, bore, metal in ((-0.045, 0.0254, zinc), (0.045, 0.028575, dark)):
        with under((x, 0.01, 0.029)):
            brake_cylinder(bore, metal, seal)
    parts.rule((-0.078, -0.040, 0.0002), 0)
    parts.label("1 in\nwrong", (-0.050, -0.070, 0.0002), 5, tall=0.0125)
    parts.label("1 1/8 in\nright", (0.044, -0.070, 0.0002), -4, tall=0.0125)
    parts.rag((0.16, 0.12, 0.001), (0.22, 0.18), (0.14, 0.20, 0.27), turn=25, folds=0.012)
    parts.spanner((-0.12, 0.09, 0.0005), 150, 0.014, 0.09)
    area((-0.6, 0.45, 0.55), (0, 0, 0), 12, 0.45, (1, 0.95, 0.88))
    area((0.7, -0.2, 0.6), (0, 0, 0.02), 2.5, 0.5, (0.8, 0.88, 1))
    camera((0.012, -0.20, 0.215), (0.0, -0.018, 0.014), lens=46, stop=9, focus=(0, 0, 0.05))
    return {"exposure": 0.15}


def diaphragm() -> dict[str, Any]:
    top((0.15, 0.10, 0.06))
    parts.rag((0.0, 0.0, 0.001), (0.26, 0.22), (0.30, 0.33, 0.36), turn=-8, folds=0.008)
    cloth = materials.rubber((0.030, 0.027, 0.024), dust=0.10, fine=14, rough=0.42)
    metal = materials.steel((0.55, 0.52, 0.45), rust=0.16, rough=0.3, fine=12)
    crack = materials.plastic((0.004, 0.004, 0.004), rough=1)
    edge = materials.rubber((0.11, 0.095, 0.075), dust=0.1, fine=14)
    with under((0, 0, 0.008), (3, -2, 0)):
        lathe([(0, -0.001), (0.040, -0.001), (0.040, 0.0022), (0.0365, 0.0024), (0.0345, 0.0026), (0.032, 0.0048), (0.029, 0.0056), (0.026, 0.0044), (0.0235, 0.0024), (0.018, 0.002), (0, 0.002)], cloth, steps=96, angle=60)
        lathe([(0.0195, 0.002), (0.0195, 0.0036), (0.0185, 0.0044), (0.008, 0.0046), (0.0075, 0.006), (0, 0.006)], metal, steps=64, bevel=0.0004)
        lathe([(0.004, 0.006), (0.004, 0.010), (0.0034, 0.0106), (0, 0.0106)], metal, bevel=0.0003)
        for k in range(6):
            a = math.radians(60 * k + 12)
            cylinder(0.0024, 0.0042, (0.0372 * math.cos(a), 0.0372 * math.sin(a), 0.0008), crack, bevel=0.0001)
        chance = random.Random(2)
        way = [(0.0335 + chance.gauss(0, 0.00035), math.radians(a), 0.0037) for a in range(-168, -46, 3)]
        line = [(r * math.cos(a), r * math.sin(a), z) for r, a, z in way]
        n = len(line)
        for wide, lift, stuff in ((0.0021, 0.0007, edge), (0.0013, 0.0012, crack)):
            points, faces = [], []
            for i, (x, y, z) in enumerate(line):
                v = Vector((x, y, 0)).normalized() * wide * (0.25 + math.sin(math.pi * i / (n - 1)) ** 0.6) * chance.uniform(0.75, 1.25)
                points += [(x - v.x, y - v.y, z + 0.0006 + lift), (x + v.x, y + v.y, z - 0.0006 + lift)]
            faces = [(2 * i, 2 * i + 1, 2 * i + 3, 2 * i + 2) for i in range(n - 1)]
            mesh(points, faces, stuff, angle=180)
    for x, y in ((0.098, 0.028), (0.108, 0.008), (0.100, -0.018), (0.112, -0.040)):
        with under((x, y, 0.0042), (90, 0, 31 * (x + y) * 1000)):
            places.bolt((0, 0, 0.0), 0.008, metal, washer=False)
            cylinder(0.0022, 0.016, (0, 0, -0.008), metal)
    with under((-0.112, -0.01, 0.009), (0, 0, 78)):
        cylinder(0.0028, 0.11, (0.075, 0, 0), metal, (0, 90, 0))
        lathe([(0.006, -0.04), (0.0105, -0.034), (0.0115, 0), (0.010, 0.03), (0.007, 0.036)], materials.plastic((0.42, 0.05, 0.02), rough=0.3), (-0.02, 0, 0), (0, 90, 0), steps=10)
    parts.label("lift pump\n10 Feb", (0.064, -0.050, 0.0085), -7, tall=0.011)
    area((-0.5, 0.35, 0.4), (0, 0, 0), 6.5, 0.35, (1, 0.95, 0.88))
    area((0.5, 0.3, 0.5), (0, 0, 0), 2.5, 0.4, (0.82, 0.9, 1))
    camera((0.01, -0.17, 0.21), (0.012, -0.014, 0.004), lens=43, stop=9, focus=(0, -0.02, 0.01))
    return {"exposure": 0.2}


def bushes() -> dict[str, Any]:
    top((0.22, 0.14, 0.08), fine=3)
    parts.rag((0, 0.055, 0.001), (0.19, 0.14), (0.18, 0.24, 0.33), turn=12, folds=0.006)
    nylon = materials.plastic((0.60, 0.55, 0.42), rough=0.38, fine=22, dirt=0.75)
    bronze = materials.steel((0.70, 0.40, 0.15), rust=0.0, rough=0.25, oil=0.0, fine=5)
    ring = [(0.0152, -0.009), (0.0205, -0.009), (0.0205, 0.005), (0.0245, 0.006), (0.0245, 0.009), (0.0152, 0.009)]
    ring.append(ring[0])
    for at, turn, part in (((0.004, 0.048, 0.0135), (4, 3, 120), 118), ((0.006, 0.040, 0.0135), (-4, 2, -12), 100), ((-0.008, 0.026, 0.0135), (3, -5, 226), 96)):
        lathe(ring, nylon, at, turn, ends=part, steps=40, bevel=0.0006)
    for i in range(14):
        c = random.Random(i)
        box((0.002 * c.uniform(0.4, 1.4), 0.0015, 0.001), (c.gauss(0, 0.03), 0.055 + c.gauss(0, 0.02), 0.009), nylon, (0, 0, c.uniform(0, 180)), bevel=0.0003)
    with under((-0.006, -0.050, 0.0095), (0, 0, 0)):
        lathe(ring, bronze, steps=80, bevel=0.0007)
        for k in range(4):
            a = math.radians(90 * k + 35)
            cylinder(0.0018, 0.003, (0.0228 * math.cos(a), 0.0228 * math.sin(a), 0.0085), materials.plastic((0.01, 0.01, 0.01)), bevel=0.0002)
    parts.label("2 weeks", (0.026, -0.006, 0.0095), 8, tall=0.0115)
    parts.label("bronze 30.0", (0.010, -0.090, 0.0004), -4, tall=0.0115)
    area((-0.35, 0.4, 0.42), (0, 0, 0), 7, 0.3, (1, 0.95, 0.88))
    area((0.5, -0.1, 0.5), (0, 0, 0), 2.2, 0.4, (0.82, 0.9, 1))
    camera((0.004, -0.16, 0.22), (0.0, -0.016, 0.006), lens=50, stop=10, focus=(0, -0.01, 0.012))
    return {"exposure": 0.15}


SPEEDO = {"scale": (0, 70), "step": 10, "sweep": (215, -35), "words": (("MPH", 0.30), ("miles", -0.66))}


def two_meters() -> dict[str, Any]:
    top((0.17, 0.11, 0.065))
    old = materials.steel((0.30, 0.28, 0.25), rust=0.55, rough=0.4, fine=9)
    new = materials.paint((0.02, 0.02, 0.02), rust=0.08, dust=0.1, fine=7)
    for x, figure, face, bezel, words in ((-0.063, "087416", (0.60, 0.54, 0.40), old, "out"), (0.063, "041260", (0.70, 0.68, 0.61), new, "in")):
        with under((x, 0.01, 0.040), (14, 0, -3 if x < 0 else 4)):
            parts.dial(0.050, value=0, window=figure, face=face, bezel=bezel, small=2, numbers=0.16, **SPEEDO)
        parts.label(words, (x + 0.012, -0.077, 0.0004), 5 if x < 0 else -6, tall=0.018)
    hose = materials.plastic((0.015, 0.015, 0.015), rough=0.55)
    tube([(-0.16, 0.17, 0.006), (-0.05, 0.14, 0.006), (0.03, 0.10, 0.006), (0.11, 0.13, 0.006), (0.2, 0.11, 0.006)], 0.0035, hose)
    parts.spanner((0.165, -0.02, 0.0005), 70, 0.011, 0.07)
    parts.rag((-0.19, 0.06, 0.001), (0.16, 0.2), (0.32, 0.16, 0.12), seed=4, turn=20)
    area((-0.55, 0.5, 0.45), (0, 0, 0.03), 9, 0.4, (1, 0.94, 0.86))
    area((0.5, 0.0, 0.7), (0, 0, 0), 3, 0.4, (0.82, 0.9, 1))
    camera((0.0, -0.215, 0.25), (0, -0.012, 0.024), lens=38, stop=9, focus=(0, 0.0, 0.048))
    return {"exposure": 0.15}


def solenoid() -> dict[str, Any]:
    top((0.17, 0.11, 0.065))
    body, dark = materials.plastic((0.62, 0.36, 0.03), rough=0.5, fine=9), materials.plastic((0.018, 0.018, 0.02), rough=0.45)
    white = materials.plastic((0.7, 0.7, 0.68), dirt=0)
    with under((-0.062, 0.0, 0.0), (0, 0, 6)):
        box((0.088, 0.168, 0.030), (0, 0, 0.015), body, bevel=0.010)
        box((0.076, 0.156, 0.033), (0, 0, 0.0165), dark, bevel=0.006)
        box((0.064, 0.038, 0.003), (0, 0.050, 0.033), materials.plastic((0.30, 0.335, 0.25), rough=0.2, dirt=0.05), bevel=0.001)
        digits = materials.plastic((0.012, 0.016, 0.012), dirt=0)
        letters("11.9", 0.034, (-0.006, 0.0495, 0.0346), digits, bold=True, depth=0.00005)
        letters("Ω", 0.018, (0.026, 0.045, 0.0346), digits, bold=True, depth=0.00005)
        cylinder(0.024, 0.010, (0, -0.012, 0.036), dark, bevel=0.002)
        box((0.008, 0.044, 0.008), (0, -0.012, 0.043), dark, (0, 0, -60), bevel=0.002)
        box((0.0015, 0.014, 0.0004), (0.0115, -0.0053, 0.0471), white, (0, 0, -60), bevel=0)
        for k, word in enumerate(("off", "V", "V", "Ω", "A", "mA")):
            a = math.radians(150 - 40 * k)
            letters(word, 0.0075, (0.032 * math.cos(a), -0.012 + 0.032 * math.sin(a), 0.0332), white, depth=0.00005)
        for x, tint in ((-0.014, (0.01, 0.01, 0.01)), (0.014, (0.45, 0.02, 0.01))):
            lathe([(0.0035, 0), (0.0035, 0.003), (0.006, 0.003), (0.006, 0)], white, (x, -0.062, 0.033))
            cylinder(0.005, 0.02, (x, -0.062, 0.042), materials.plastic(tint), bevel=0.001)
    steel, brass = materials.steel((0.5, 0.49, 0.47), rust=0.22, rough=0.32, fine=11), materials.steel((0.62, 0.43, 0.16), rust=0.02, fine=14)
    can = materials.paint((0.03, 0.03, 0.032), rust=0.28, dust=0.1, fine=12, rough=0.3)
    with under((0.075, 0.018, 0.019), (0, 90, 24)):
        lathe([(0, -0.034), (0.0165, -0.034), (0.0185, -0.032), (0.0185, 0.022), (0.0165, 0.024), (0, 0.024)], can, steps=56, bevel=0.0008)
        cylinder(0.0155, 0.008, (0, 0, 0.028), steel, steps=6, bevel=0.001)
        for k in range(8):
            lathe([(0.0098, 0.034 + 0.0017 * k), (0.0108, 0.03485 + 0.0017 * k), (0.0098, 0.0357 + 0.0017 * k)], steel, steps=32)
        cylinder(0.0098, 0.017, (0, 0, 0.040), steel)
        cylinder(0.0045, 0.012, (0, 0, 0.053), brass)
        for y in (-0.008, 0.008):
            cylinder(0.0022, 0.014, (0, y, -0.040), brass)
            cylinder(0.0042, 0.004, (0, y, -0.0365), brass, steps=6)
    red, black = materials.plastic((0.45, 0.02, 0.01), rough=0.35), materials.plastic((0.012, 0.012, 0.012), rough=0.4)
    parts.clip((0.040, -0.006, 0.020), (0, 0, 35), (0.01, 0.01, 0.01))
    parts.clip((0.028, 0.020, 0.020), (0, 0, 0), (0.45, 0.02, 0.01))
    tube([(-0.069, -0.063, 0.052), (-0.066, -0.078, 0.056), (-0.03, -0.105, 0.006), (0.02, -0.09, 0.003), (0.02, -0.04, 0.008), (0.026, -0.016, 0.019)], 0.0019, black)
    tube([(-0.042, -0.060, 0.052), (-0.034, -0.070, 0.055), (0.002, -0.070, 0.006), (0.018, -0.045, 0.003), (0.0, -0.005, 0.006), (0.010, 0.020, 0.020)], 0.0019, red)
    parts.label("85 °C in oil\nmax 9 Ω", (0.092, -0.062, 0.0004), -8, tall=0.0145)
    parts.rag((0.16, 0.11, 0.001), (0.2, 0.16), (0.36, 0.32, 0.26), seed=6, turn=40, folds=0.01)
    parts.spanner((-0.05, 0.145, 0.0005), 175, 0.014, 0.09)
    area((-0.6, 0.35, 0.5), (0, 0, 0.0), 9, 0.4, (1, 0.94, 0.86))
    area((0.5, 0.2, 0.6), (0.05, 0, 0), 3.5, 0.4, (0.82, 0.9, 1))
    camera((0.015, -0.24, 0.27), (0.012, -0.003, 0.012), lens=45, stop=9, focus=(0.02, 0.0, 0.035))
    return {"exposure": 0.15}


def shelf() -> dict[str, Any]:
    wood = materials.timber((0.20, 0.13, 0.075), fine=1.6, stain=0.5)
    wall = materials.timber((0.13, 0.095, 0.06), along="z", fine=1.2, grey=0.4)
    places.boards((-1.2, 0.20), (1.2, 0.20), 1.4, wall, gap=0.004, wide=0.15)
    for z in (0.22, 0.60):
        box((2.2, 0.30, 0.026), (0, 0.02, z - 0.013), wood, bevel=0.003)
    for x in (-0.72, 0.74):
        for z in (0.20, 0.58):
            box((0.03, 0.26, 0.04), (x, 0.03, z - 0.02), wood)
    rim = materials.steel((0.6, 0.6, 0.58), rust=0.3, rough=0.2, fine=6)
    glass = materials.plastic((0.5, 0.53, 0.53), rough=0.08, dirt=0.5)
    for x in (-0.47, -0.27):
        with under((x, 0.09, 0.69), (80, 0, 8 if x < -0.4 else -4)):
            lathe([(0.085, -0.04), (0.09, 0.0), (0.088, 0.012), (0.078, 0.012), (0.076, 0.004)], rim, angle=50)
            lathe([(0.077, 0.005), (0.05, 0.018), (0, 0.024)], glass, angle=80)
    parts.label("headlamps, rims good", (-0.38, -0.1345, 0.587), 0, tall=0.024, stand=88, string=False)
    with under((0.0, 0.06, 0.667), (78, 0, 3)):
        parts.dial(0.060, value=0, window="087416", face=(0.60, 0.54, 0.40), bezel=materials.steel((0.30, 0.28, 0.25), rust=0.5, fine=9), small=2, numbers=0.16, **SPEEDO)
    parts.label("old head, stays", (0.0, -0.1345, 0.587), 0, tall=0.024, stand=88, string=False)
    iron = materials.cast((0.10, 0.10, 0.10), fine=7, grime=0.5)
    with under((0.30, 0.03, 0.60), (0, 0, 20)):
        lathe([(0, 0), (0.042, 0), (0.042, 0.03), (0.056, 0.034), (0.056, 0.046), (0.05, 0.05), (0.05, 0.075), (0.03, 0.095), (0, 0.098)], iron, bevel=0.002)
        box((0.03, 0.12, 0.014), (0, -0.05, 0.03), iron, (18, 0, 0), bevel=0.004)
        for k in range(6):
            a = k * math.pi / 3
            places.bolt((0.049 * math.cos(a), 0.049 * math.sin(a), 0.05), 0.009, rim, washer=False)
        for a in (40, 170):
            cylinder(0.009, 0.05, (0.06 * math.cos(math.radians(a)), 0.06 * math.sin(math.radians(a)), 0.066), materials.steel((0.6, 0.42, 0.16), rust=0.05), (0, 90, a))
    parts.label("lift pump, spare", (0.32, -0.1345, 0.587), 0, tall=0.024, stand=88, string=False)
    tin = materials.paint((0.30, 0.05, 0.03), rust=0.4, dust=0.2, fine=4)
    with under((0.56, 0.05, 0.60)):
        lathe([(0, 0), (0.05, 0), (0.05, 0.13), (0.052, 0.132), (0.052, 0.15), (0, 0.153)], tin, bevel=0.002)
    # the board below: a crate of rubbers, a coil of pipe, jars of nuts, an old tin box
    crate = materials.timber((0.30, 0.21, 0.12), fine=2)
    for y in (-0.09, 0.12):
        for z in (0.03, 0.085):
            box((0.34, 0.01, 0.05), (-0.48, y, 0.22 + z), crate, bevel=0.002)
    for x in (-0.65, -0.31):
        box((0.012, 0.21, 0.11), (x, 0.015, 0.275), crate, bevel=0.002)
    chance, rubber = random.Random(5), materials.rubber(fine=5, dust=0.5)
    for i in range(12):
        r = chance.uniform(0.02, 0.05)
        at = (-0.48 + chance.uniform(-0.12, 0.12), 0.015 + chance.uniform(-0.05, 0.05), 0.30 + 0.006 * i)
        with under(at, (chance.uniform(-40, 40), chance.uniform(-40, 40), 0)):
            lathe([(r, -0.006), (r + 0.01, -0.006), (r + 0.01, 0.006), (r, 0.006), (r, -0.006)], rubber, bevel=0.002)
    parts.label("rubbers", (-0.48, -0.0985, 0.275), 0, tall=0.026, stand=90, string=False)
    copper = materials.steel((0.62, 0.30, 0.16), rust=0.0, rough=0.25, fine=6)
    coil = [((0.115 - 0.0004 * k) * math.cos(k * 0.35), 0.012 * math.sin(k * 0.11), (0.115 - 0.0004 * k) * math.sin(k * 0.35)) for k in range(90)]
    with under((-0.10, 0.12, 0.342), (-9, 0, 0)):
        tube(coil, 0.0026, copper)
    parts.label("brake pipe, 4 m", (-0.08, -0.1345, 0.207), 0, tall=0.024, stand=88, string=False)
    for x in (0.10, 0.20, 0.30):
        with under((x, 0.03, 0.22)):
            lathe([(0, 0.001), (0.036, 0.001), (0.038, 0.006), (0.038, 0.075), (0.032, 0.083), (0.032, 0.09)], materials.glass((0.85, 0.92, 0.88), dirt=0.12, fine=6), angle=60)
            lathe([(0.0345, 0.086), (0.0345, 0.102), (0, 0.103)], materials.paint((0.35, 0.33, 0.28), rust=0.3, fine=6), bevel=0.001)
            for i in range(26):
                c = random.Random(i + int(x * 100))
                a, r = c.uniform(0, 6.3), 0.026 * c.random() ** 0.5
                cylinder(0.007, 0.006, (r * math.cos(a), r * math.sin(a), 0.008 + 0.0024 * i), rim if x < 0.25 else copper, (c.uniform(-70, 70), c.uniform(-70, 70), 0), steps=6, bevel=0.0006)
    parts.label("nuts 3/8 UNF", (0.20, -0.1345, 0.207), 0, tall=0.024, stand=88, string=False)
    box((0.26, 0.17, 0.11), (0.55, 0.03, 0.275), materials.paint((0.05, 0.09, 0.13), rust=0.35, dust=0.3, fine=3), bevel=0.008)
    box((0.265, 0.175, 0.02), (0.55, 0.03, 0.335), materials.paint((0.05, 0.09, 0.13), rust=0.45, dust=0.4, fine=3), bevel=0.006)
    box((0.035, 0.008, 0.035), (0.55, -0.06, 0.325), rim, bevel=0.003)
    parts.label("old dials", (0.55, -0.1345, 0.207), 0, tall=0.024, stand=88, string=False)
    plain_sky((0.14, 0.13, 0.12), (0.18, 0.19, 0.22), 0.35)
    area((-1.3, -1.2, 1.5), (0, 0, 0.45), 42, (0.7, 0.9), (1, 0.95, 0.88))
    area((0.9, -1.4, 0.8), (0.2, 0, 0.45), 7, 0.8, (1, 0.7, 0.42))
    camera((0.10, -1.34, 0.62), (0.03, 0.05, 0.485), lens=38, stop=5.6, focus=(0, -0.05, 0.5))
    return {"exposure": 0.1}
