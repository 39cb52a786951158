# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""The pictures from inside the cab: the floor with its holes, the floor with its patch, and the dashboard in evening light."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import Any

import materials
import parts
import places
from scene import area, box, camera, copy, cylinder, lathe, letters, mesh, plain_sky, prism, sky, sun, tube, under

HOLES = ((-0.36, 0.12, 0.105, 0.080), (-0.60, -0.10, 0.045, 0.024), (0.40, 0.24, 0.065, 0.055), (-0.155, -0.06, 0.030, 0.017), (0.16, -0.33, 0.020, 0.020))
"Middle and half size of the five, metres, as the entry measures them: driver's side to the left."


def _outline(hole: Sequence[float], seed: int, more: float = 0.0, count: int = 44) -> list[tuple[float, float]]:
    x, y, w, h = hole
    chance = random.Random(seed)
    waves = [(k, chance.uniform(0, 6.3), 0.20 / k) for k in (2, 3, 5, 7, 11)]
    ring = []
    for i in range(count):
        a = 2 * math.pi * i / count
        r = 1 + sum(s * math.sin(k * a + p) for k, p, s in waves) + chance.gauss(0, 0.035)
        ring.append((x + (w * r + more) * math.cos(a), y + (h * r + more) * math.sin(a)))
    return ring


def _rusted(colour: materials.Colour, patches: Sequence[Sequence[float]]) -> Any:
    """Floor paint that has gone to rust around each hole, brushed bright at its edge."""
    s = materials.Surface("floor", colour)
    near: Any = 0.0
    for x, y, w, h in patches:
        node = s.nodes.new("ShaderNodeVectorMath")
        node.operation = "DISTANCE"
        s.links.new(s.place, node.inputs[0])
        node.inputs[1].default_value = (x, y, 0)
        near = s.sum("MAXIMUM", near, s.between(node.outputs["Value"], 2.3 * max(w, h) + 0.05, 0.8 * max(w, h)))
    rough = s.sum("MULTIPLY_ADD", near, 0.34, s.sum("MULTIPLY_ADD", s.noise(60, 5), 0.28, s.sum("MULTIPLY", s.noise(8, 9, rough=0.7), 0.72)))
    rust = s.between(rough, 0.60, 0.66)
    bright = s.between(rough, 0.80, 0.86)
    base = s.mix(s.noise(5, 7), tuple(c * 0.7 for c in colour), tuple(c * 1.25 for c in colour))
    base = s.mix(s.sum("MULTIPLY", s.between(s.noise(2.7, 8), 0.4, 0.7), 0.5), base, (0.09, 0.07, 0.05))
    base = s.mix(rust, base, s.mix(s.noise(55, 5), materials.RUST, (0.28, 0.11, 0.04)))
    base = s.mix(s.sum("MULTIPLY", bright, 0.7), base, (0.23, 0.19, 0.16))
    s.bump(s.sum("MULTIPLY_ADD", rust, 0.5, s.noise(70, 5)), 0.4, 0.002)
    return s.done(colour=base, rough=s.between(s.noise(15, 5), 0.3, 0.7, (0.45, 0.8)), metal=s.sum("MULTIPLY", bright, 0.6))


def _cut(thing: Any, outline: Sequence[tuple[float, float]], material: Any) -> None:
    cutter = prism(outline, (-0.06, 0.06), material, axis="z", bevel=0)
    cutter.hide_render = True
    change = thing.modifiers.new("hole", "BOOLEAN")
    change.operation, change.object, change.solver = "DIFFERENCE", cutter, "EXACT"


def _pan(sheet: Any, holes: Sequence[Sequence[float]]) -> None:
    """The floor between the sills: sheet with pressed ribs, and the tunnel in the middle."""
    floor = mesh([(-0.85, -0.62, 0), (0.85, -0.62, 0), (0.85, 0.62, 0), (-0.85, 0.62, 0), (-0.85, -0.62, -0.003), (0.85, -0.62, -0.003), (0.85, 0.62, -0.003), (-0.85, 0.62, -0.003)],
                 [(0, 1, 2, 3), (7, 6, 5, 4), (4, 5, 1, 0), (5, 6, 2, 1), (6, 7, 3, 2), (7, 4, 0, 3)], sheet)
    floor.data.polygons.foreach_set("use_smooth", [False] * len(floor.data.polygons))  # else its shade would run from hole to hole
    for i, hole in enumerate(holes):
        _cut(floor, _outline(hole, 40 + i), sheet)
    prism([(-0.12, 0), (0.12, 0), (0.085, 0.10), (-0.085, 0.10)], (-0.14, 0.64), sheet, axis="y", bevel=0.02)
    for y in (-0.105, -0.02, 0.44, 0.5) if holes else (0.30, 0.36):
        for x in (0.52,) if holes else (0.5,):
            box((0.36, 0.026, 0.012), (x, y, 0.001), sheet, bevel=0.006)
    for x in (-0.85, 0.85):
        box((0.06, 1.3, 0.12), (x, 0, 0.04), sheet, bevel=0.012)


def floor_map() -> dict[str, Any]:
    _pan(_rusted((0.135, 0.14, 0.13), HOLES), HOLES)
    edge = materials.steel((0.3, 0.26, 0.23), rust=0.8, fine=7)
    for i, hole in enumerate(HOLES):
        ring = _outline(hole, 40 + i)
        tube([(x, y, -0.0015) for x, y in ring], 0.0022, edge, closed=True, straight=True)
        parts_at = {0: (0.145, 0.075), 1: (0.085, 0.05), 2: (0.105, 0.07), 3: (-0.065, 0.045), 4: (0.06, 0.03)}[i]
        wide = _outline((hole[0], hole[1], hole[2] + 0.022, hole[3] + 0.022), 90 + i)
        tube([(x, y, 0.0004) for x, y in wide], 0.0021, parts.chalk(), closed=True, straight=True)
        parts.written(str(i + 1), 0.10, (hole[0] + parts_at[0], hole[1] + parts_at[1], 0.0008), material=parts.chalk())
    grass = materials.leaves(((0.05, 0.11, 0.02), (0.20, 0.24, 0.06)))
    places.ground(materials.earth(((0.05, 0.05, 0.025), (0.10, 0.09, 0.045)), fine=4), (-1, -0.8, 1, 0.8), lambda x, y: -0.42, 2)
    kinds = [places.clump(grass, i, blades=30, tall=0.22, spread=0.06) for i in range(3)]
    chance = random.Random(7)
    for hole in HOLES:
        for _ in range(14):
            copy(chance.choice(kinds), (hole[0] + chance.gauss(0, 0.10), hole[1] + chance.gauss(0, 0.09), -0.42), (0, 0, chance.uniform(0, 360)), chance.uniform(0.8, 1.4))
    lever = materials.rubber(fine=3, dust=0.4)
    with under((0, 0.22, 0.10)):
        lathe([(0.062, 0), (0.058, 0.012), (0.045, 0.018), (0.048, 0.03), (0.034, 0.036), (0.036, 0.05), (0.02, 0.056), (0.012, 0.075)], lever)
        tube([(0, 0, 0.05), (0, -0.02, 0.2), (0.01, -0.04, 0.30)], 0.008, materials.steel(rust=0.3, fine=4))
        lathe([(0, -0.02), (0.015, -0.014), (0.019, 0.0), (0.014, 0.014), (0, 0.018)], materials.plastic((0.01, 0.01, 0.01), rough=0.3), (0.01, -0.04, 0.31))
    steel = materials.steel(rust=0.5, fine=5)
    for x in (-0.66, -0.30, 0.30, 0.66):
        for y in (-0.22, -0.50):
            cylinder(0.006, 0.004, (x, y, 0.001), materials.plastic((0.004, 0.004, 0.004)))
            lathe([(0.0065, 0), (0.0065, 0.003), (0.013, 0.003), (0.014, 0)], steel, (x, y, 0))
    parts.spanner((0.50, -0.36, 0.001), 130, 0.017, 0.13)
    with under((-0.02, -0.46, 0.012), (0, 0, 20)):
        cylinder(0.006, 0.055, (0, 0, 0), materials.plastic((0.8, 0.79, 0.75), rough=0.9, dirt=0.05), (0, 90, 0))
    with under((0.56, -0.10, 0.02), (0, 0, -58)):
        box((0.26, 0.03, 0.022), (0, 0, 0), materials.timber((0.32, 0.21, 0.12), fine=4), bevel=0.006)
        for i in range(60):
            c = random.Random(i)
            cylinder(0.0008, 0.024, (0.05 + 0.075 * c.random(), c.uniform(-0.011, 0.011), -0.018), steel, (c.gauss(0, 8), c.gauss(0, 8), 0), bevel=0, steps=5)
    plain_sky((0.35, 0.37, 0.40), (0.55, 0.62, 0.72), 0.45)
    sun(52, 120, 2.2, (1, 0.92, 0.80), 1.5)
    camera((0.02, -0.56, 1.40), (0.0, -0.03, 0), lens=36, stop=7)
    return {"exposure": 0.25}


def floor_patch() -> dict[str, Any]:
    _pan(_rusted((0.135, 0.14, 0.13), ((-0.8, -0.5, 0.05, 0.05),)), ())
    primer = materials.paint((0.26, 0.065, 0.040), rust=0.0, dust=0.03, fine=5, rough=0.55)
    seal = materials.plastic((0.30, 0.29, 0.26), rough=0.5, fine=6, dirt=0.25)
    x0, y0, x1, y1 = -0.56, -0.16, -0.17, 0.30
    box((x1 - x0, y1 - y0, 0.0022), ((x0 + x1) / 2, (y0 + y1) / 2, 0.0016), primer, bevel=0.0008)
    halo = materials.paint((0.24, 0.070, 0.045), rust=0.0, dust=0.06, fine=5, rough=0.65)
    chance = random.Random(3)
    around = []
    for (ax, ay), (bx, by) in (((x0, y0), (x1, y0)), ((x1, y0), (x1, y1)), ((x1, y1), (x0, y1)), ((x0, y1), (x0, y0))):
        out = ((by - ay) / math.dist((ax, ay), (bx, by)), -(bx - ax) / math.dist((ax, ay), (bx, by)))
        for k in range(1, 60):
            more = 0.030 + chance.gauss(0, 0.0008) + 0.007 * math.sin(0.31 * k + ax * 9) + 0.004 * math.sin(0.83 * k + ay * 7)
            around.append((ax + (bx - ax) * k / 60 + out[0] * more, ay + (by - ay) * k / 60 + out[1] * more))
    prism(around, (0.0001, 0.0005), halo, axis="z", bevel=0)
    rim = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    for a, b in zip(rim, rim[1:] + rim[:1], strict=True):
        far = math.dist(a, b)
        count = int(far / 0.012)
        way = [(a[0] + (b[0] - a[0]) * k / count + chance.gauss(0, 0.0012), a[1] + (b[1] - a[1]) * k / count + chance.gauss(0, 0.0012), 0.001) for k in range(count + 1)]
        tube(way, 0.0052, seal)
        plugs = round(far / 0.040)
        inward = (-(b[1] - a[1]) / far * 0.018, (b[0] - a[0]) / far * 0.018)
        for k in range(1, plugs):
            t = k / plugs
            lathe([(0.0046, 0), (0.0046, 0.0008), (0.0032, 0.0014), (0, 0.0009)], primer, (a[0] + (b[0] - a[0]) * t + inward[0], a[1] + (b[1] - a[1]) * t + inward[1], 0.0024), steps=16)
    for k in range(3):
        box((0.022, 0.30, 0.007), (x0 + 0.11 + 0.085 * k, 0.07, 0.003), primer, bevel=0.0035)
    parts.spanner((-0.30, -0.265, 0.0008), 196, 0.019, 0.16)
    with under((-0.70, 0.22, 0.0)):
        tin = materials.steel((0.6, 0.6, 0.6), rust=0.15, rough=0.25, fine=5)
        lathe([(0, 0.0), (0.043, 0.0), (0.045, 0.002), (0.044, 0.004), (0.044, 0.092), (0.046, 0.095), (0.038, 0.097), (0.037, 0.09)], tin, bevel=0.0008)
        lathe([(0.0444, 0.012), (0.0446, 0.012), (0.0446, 0.082), (0.0444, 0.082)], materials.paint((0.30, 0.30, 0.27), rust=0, dust=0.1, fine=6))
        cylinder(0.037, 0.002, (0, 0, 0.080), materials.paint((0.26, 0.065, 0.04), rust=0, dust=0, rough=0.2), bevel=0)
        letters("primer", 0.021, (0.0, -0.0452, 0.045), materials.plastic((0.25, 0.03, 0.02)), (90, 0, 0), bold=True)
    with under((-0.64, 0.06, 0.008), (0, 0, 62)):
        box((0.12, 0.022, 0.012), (-0.06, 0, 0), materials.timber((0.36, 0.12, 0.05), fine=5), bevel=0.004)
        box((0.03, 0.034, 0.011), (0.012, 0, 0), materials.steel(fine=8), bevel=0.001)
        box((0.042, 0.031, 0.008), (0.046, 0, 0), materials.paint((0.16, 0.042, 0.03), rust=0, dust=0, fine=9), bevel=0.003)
    plain_sky((0.35, 0.37, 0.40), (0.55, 0.62, 0.72), 0.4)
    sun(44, 150, 2.0, (1, 0.92, 0.80), 1.5)
    camera((-0.30, -0.60, 0.62), (-0.375, 0.03, 0), lens=36, stop=5.6, focus=(-0.36, -0.02, 0))
    return {"exposure": 0.2}


def dashboard() -> dict[str, Any]:
    green, cream = materials.paint((0.060, 0.098, 0.052), rust=0.12, dust=0.18, fine=2), materials.paint((0.50, 0.45, 0.32), rust=0.08, dust=0.12, fine=2.5, rough=0.35)
    black = materials.plastic((0.016, 0.016, 0.016), rough=0.42, fine=4)
    # the far side is +y: the windscreen leans away from us at its head
    prism([(-0.02, 0), (0.30, 0.02), (0.30, 0.06), (-0.02, 0.05)], (-0.85, 0.85), green, (0, 0, 0), axis="x", bevel=0.012)
    prism([(-0.02, -0.26), (0.03, -0.26), (0.03, 0.05), (-0.02, 0.05)], (-0.85, 0.85), green, axis="x", bevel=0.012)
    box((0.62, 0.02, 0.22), (0.08, -0.03, -0.105), cream, bevel=0.010)
    for x in (-0.2, 0.36):
        for z in (-0.02, -0.19):
            cylinder(0.006, 0.004, (x, -0.041, z), materials.steel(fine=6), (90, 0, 0))
    bezel = materials.steel((0.05, 0.05, 0.05), rust=0.1, rough=0.35, fine=9)
    speedo = {"scale": (0, 70), "step": 10, "sweep": (215, -35), "words": (("MPH", 0.30), ("miles", -0.66))}
    with under((-0.085, -0.043, -0.105), (90, 0, 0)):
        parts.dial(0.078, value=0, window="041260", small=2, numbers=0.16, face=(0.70, 0.68, 0.61), bezel=bezel, **speedo)
    for x, z, low, high, step, word in ((0.075, -0.055, 0, 6, 2, "bar"), (0.175, -0.055, 40, 120, 40, "°C"), (0.075, -0.155, 0, 1, 0.5, "fuel"), (0.175, -0.155, 8, 16, 4, "V")):
        with under((x, -0.043, z), (90, 0, 0)):
            parts.dial(0.036, (low, high), step, low, small=4, words=((word, -0.45),), numbers=0.24, face=(0.70, 0.68, 0.61), bezel=bezel)
    for z, tint in ((-0.04, (0.5, 0.02, 0.01)), (-0.085, (0.55, 0.3, 0.02)), (-0.13, (0.02, 0.25, 0.06)), (-0.175, (0.03, 0.08, 0.4))):
        with under((0.265, -0.042, z), (90, 0, 0)):
            lathe([(0.013, 0), (0.013, 0.005), (0.0105, 0.007)], bezel)
            lathe([(0.0105, 0.003), (0.008, 0.009), (0, 0.011)], materials.plastic(tint, rough=0.15, dirt=0.1))
    for x, word in ((0.325, "lamps"), (-0.195, "heat")):
        with under((x, -0.042, -0.105), (90, 0, 0)):
            lathe([(0.006, 0), (0.006, 0.02), (0.013, 0.022), (0.015, 0.034), (0.011, 0.04), (0, 0.041)], black, bevel=0.001)
            letters(word, 0.012, (0, -0.028, 0.0008), materials.plastic((0.03, 0.03, 0.03)))
    for x in (-0.86, 0.0, 0.86):
        box((0.045 if x else 0.035, 0.05, 0.85), (x, 0.34, 0.40), green, (-11, 0, 0), bevel=0.01)
    box((1.8, 0.08, 0.09), (0, 0.41, 0.74), green, bevel=0.015)
    box((1.8, 0.6, 0.04), (0, 0.12, 0.80), materials.cloth((0.30, 0.28, 0.22)), bevel=0.01)
    rubber = materials.rubber(fine=3)
    for x0, x1 in ((-0.84, -0.02), (0.02, 0.84)):
        tube([(x0, 0.285, 0.07), (x1, 0.285, 0.07), (x1, 0.405, 0.69), (x0, 0.405, 0.69)], 0.012, rubber, closed=True, straight=True)
        mesh([(x0, 0.29, 0.07), (x1, 0.29, 0.07), (x1, 0.41, 0.69), (x0, 0.41, 0.69)], [(0, 1, 2, 3)], materials.glass(dirt=0.035, fine=2))
    for x in (-0.42, 0.42):
        tube([(x + 0.12, 0.31, 0.07), (x + 0.05, 0.335, 0.20), (x - 0.1, 0.36, 0.38)], 0.005, black)
        tube([(x + 0.04, 0.335, 0.13), (x - 0.22, 0.385, 0.58)], 0.006, black)
    with under((-0.20, -0.36, -0.215), (58, 0, 0)):
        ring = [(0.205 * math.cos(a), 0.205 * math.sin(a), 0) for a in (k * math.pi / 12 for k in range(24))]
        tube(ring, 0.0125, black, closed=True)
        for a in (-90, 8, 172):
            box((0.20, 0.026, 0.006), (0.105 * math.cos(math.radians(a)), 0.105 * math.sin(math.radians(a)), -0.008), materials.steel((0.3, 0.3, 0.3), rust=0.15, fine=5), (0, 0, a), bevel=0.003)
        lathe([(0, -0.4), (0.02, -0.4), (0.02, -0.03), (0.036, -0.02), (0.036, 0.006), (0.03, 0.012), (0, 0.014)], black, bevel=0.002)
    # what lies beyond the glass
    with under((0, 0, -0.12)):
        mesh([(-0.50, 0.32, 0.02), (0.50, 0.32, 0.02), (0.44, 1.62, -0.09), (-0.44, 1.62, -0.09)], [(0, 1, 2, 3)], green)
        for x in (-0.235, 0.235):
            prism([(0.40, 0.0), (1.55, -0.10), (1.55, -0.07), (0.40, 0.04)], (x - 0.055, x + 0.055), green, axis="x", bevel=0.012)
    haze = ((0.62, 0.36, 0.19), 900.0)
    land = places.hazed(materials.earth(((0.05, 0.07, 0.02), (0.12, 0.11, 0.04)), fine=0.2), *haze)
    places.ground(land, (-300, 3, 300, 620), lambda x, y: -1.35 + 0.0042 * max(0, y - 40) ** 1.42 * (0.6 + 0.4 * math.sin(0.02 * x + 0.6) + 0.2 * math.sin(0.05 * x)), 90)
    leaf = places.hazed(materials.leaves(((0.02, 0.035, 0.01), (0.06, 0.07, 0.02))), *haze)
    for i, (x, y, t) in enumerate(((-15, 46, 7), (14, 58, 8), (-34, 80, 9), (38, 85, 10), (-6, 105, 9), (3, 120, 10), (24, 130, 11), (-22, 125, 10))):
        places.tree((x, y, -1.3), leaf, tall=t, seed=i + 31, leaf=(0.34, 0.24), crown=1.4)
    sky(5, 62, 0.10, dust=2)
    sun(9, 58, 2.4, (1, 0.62, 0.30), 1)
    for at, power, size, colour in (((-0.5, -0.9, 0.6), 5, 0.5, (1, 0.85, 0.68)), ((0.9, -0.5, 0.4), 3, 0.4, (0.7, 0.8, 1))):
        area(at, (0.05, 0, -0.1), power, size, colour).visible_glossy = False  # else the windscreen shows the lamps
    camera((0.085, -0.86, 0.20), (0.04, 0.05, 0.02), lens=31, stop=5.6, focus=(0.05, -0.05, -0.08))
    return {"exposure": 0.5}
