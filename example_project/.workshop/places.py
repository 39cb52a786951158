# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""Where does a picture happen? Ground, grass, hedges, an oak, hills with haze, a barn from inside and outside, a test hall, a bench."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import materials
from mathutils import Vector
from scene import box, copy, cylinder, mesh, tube, under

Height = Callable[[float, float], float]


def ground(material: Any, reach: tuple[float, float, float, float], height: Height, cells: int = 90) -> Any:
    """A sheet of land from x0, y0 to x1, y1, lifted by a function."""
    x0, y0, x1, y1 = reach
    points = [(x := x0 + (x1 - x0) * i / cells, y := y0 + (y1 - y0) * j / cells, height(x, y)) for i in range(cells + 1) for j in range(cells + 1)]
    n = cells + 1
    faces = [(i * n + j, (i + 1) * n + j, (i + 1) * n + j + 1, i * n + j + 1) for i in range(cells) for j in range(cells)]
    return mesh(points, faces, material, angle=180)


def hazed(material: Any, colour: materials.Colour, reach: float) -> Any:
    """The same material as it looks through air: it turns to `colour` over so many metres."""
    nodes, links = material.node_tree.nodes, material.node_tree.links
    out = next(n for n in nodes if n.type == "OUTPUT_MATERIAL")
    last = out.inputs[0].links[0].from_socket
    eye, air, both, fade = (nodes.new(f"ShaderNode{k}") for k in ("CameraData", "Emission", "MixShader", "MapRange"))
    air.inputs[0].default_value = (*colour, 1)
    fade.inputs["From Max"].default_value = reach
    fade.inputs["To Max"].default_value = 0.97
    fade.interpolation_type = "SMOOTHERSTEP"
    links.new(eye.outputs["View Distance"], fade.inputs["Value"])
    links.new(fade.outputs[0], both.inputs[0])
    links.new(last, both.inputs[1])
    links.new(air.outputs[0], both.inputs[2])
    links.new(both.outputs[0], out.inputs[0])
    return material


def cards(count: int, spread: Callable[[random.Random], Sequence[float]], size: tuple[float, float], material: Any, seed: int, *, ragged: float = 1.2) -> Any:
    """Many little leaves in one mesh, each with six corners."""
    chance = random.Random(seed)
    points, faces = [], []
    for _ in range(count):
        at = Vector(spread(chance))
        length, wide = (s * chance.uniform(0.6, ragged) for s in size)
        way = Vector((chance.gauss(0, 1), chance.gauss(0, 1), chance.gauss(0, 0.8))).normalized()
        side = way.cross(Vector((chance.gauss(0, 1), chance.gauss(0, 1), chance.gauss(0, 1)))).normalized() * wide / 2
        k = len(points)
        points += [at, at + way * length * 0.3 + side * 0.9, at + way * length * 0.7 + side * 0.8, at + way * length, at + way * length * 0.7 - side * 0.8, at + way * length * 0.3 - side * 0.9]
        faces.append(tuple(range(k, k + 6)))
    return mesh(points, faces, material, (0, 0, -500), angle=180)


def clump(material: Any, seed: int, *, blades: int = 46, tall: float = 0.22, spread: float = 0.16) -> Any:
    """A tuft of grass, to be copied."""
    chance = random.Random(seed)
    points, faces = [], []
    for _ in range(blades):
        x, y = chance.gauss(0, spread), chance.gauss(0, spread)
        a, h = chance.uniform(0, 2 * math.pi), tall * chance.uniform(0.45, 1.2)
        lean, w = chance.uniform(0.1, 0.75) * h, chance.uniform(0.0025, 0.006)
        dx, dy = math.cos(a), math.sin(a)
        k = len(points)
        for t in (0, 0.5, 1):
            off, wide = lean * t * t, w * (1 - 0.85 * t)
            points += [(x + dx * off - dy * wide, y + dy * off + dx * wide, h * t), (x + dx * off + dy * wide, y + dy * off - dx * wide, h * t)]
        faces += [(k, k + 1, k + 3, k + 2), (k + 2, k + 3, k + 5, k + 4)]
    return mesh(points, faces, material, (0, 0, -500), angle=180)


def strew(kinds: Sequence[Any], count: int, where: Callable[[random.Random], tuple[float, float] | None], height: Height, seed: int, *, scale: tuple[float, float] = (0.6, 1.3), tilt: float = 8) -> None:
    """Copies of some things over the ground, wherever `where` gives a place."""
    chance = random.Random(seed)
    for _ in range(count):
        spot = where(chance)
        if spot:
            copy(chance.choice(kinds), (*spot, height(*spot)), (chance.uniform(-tilt, tilt), chance.uniform(-tilt, tilt), chance.uniform(0, 360)), chance.uniform(*scale))


def _ball(chance: random.Random) -> tuple[float, float, float]:
    v = Vector((chance.gauss(0, 1), chance.gauss(0, 1), chance.gauss(0, 1))).normalized() * chance.uniform(0.35, 1) ** 0.6
    return (v.x, v.y, v.z * 0.8)


def foliage(material: Any, seed: int, *, count: int = 420, leaf: tuple[float, float] = (0.16, 0.10)) -> Any:
    """A ball of leaves one metre in radius, to be copied."""
    return cards(count, _ball, leaf, material, seed)


def hedge(ways: Sequence[tuple[float, float]], height: Height, material: Any, *, tall: float = 1.3, seed: int = 3, step: float = 0.42, wide: float = 0.5) -> None:
    """A hedge along a line on the ground."""
    chance = random.Random(seed)
    kinds = [foliage(material, seed + i, count=900, leaf=(0.10, 0.07)) for i in range(2)]
    dark = materials.plastic((0.022, 0.036, 0.012), rough=1)
    for (x0, y0), (x1, y1) in pairwise(ways):
        far = math.dist((x0, y0), (x1, y1))
        count = max(1, int(far / step))
        mid = ((x0 + x1) / 2, (y0 + y1) / 2)
        box((far, wide * 0.5, tall * 0.75), (*mid, height(*mid) + tall * 0.37), dark, (0, 0, math.degrees(math.atan2(y1 - y0, x1 - x0))))
        for i in range(count):
            t = i / count
            x, y = x0 + (x1 - x0) * t, y0 + (y1 - y0) * t
            for level in (0.25, 0.6, 0.95):
                at = (x + chance.gauss(0, 0.12), y + chance.gauss(0, 0.16), height(x, y) + tall * level * chance.uniform(0.85, 1.12))
                copy(chance.choice(kinds), at, (0, 0, chance.uniform(0, 360)), chance.uniform(0.8, 1.25) * wide)


def tree(at: Sequence[float], material: Any, *, tall: float = 7, seed: int = 1, leaf: tuple[float, float] = (0.17, 0.12), full: float = 1.0, crown: float = 1.0, haze: tuple[materials.Colour, float] | None = None) -> None:
    """An oak: a trunk that forks until its twigs carry balls of leaves."""
    chance = random.Random(seed)
    bark = materials.timber((0.10, 0.078, 0.055), along="z", fine=0.7, stain=0.5)
    if haze:
        bark = hazed(bark, *haze)
    kinds = [foliage(material, seed * 7 + i, count=int(300 * full), leaf=leaf) for i in range(3)]
    ends: list[Vector] = []

    def grow(start: Vector, way: Vector, length: float, radius: float, left: int) -> None:
        middle = start + way * length * 0.5 + Vector((chance.gauss(0, 0.06), chance.gauss(0, 0.06), 0)) * length
        end = start + way * length
        tube([start, middle, end], radius, bark)
        if not left:
            ends.append(end)
            return
        for _ in range(3 if left > 1 else 2):
            turn = Vector((chance.gauss(0, 0.75), chance.gauss(0, 0.75), chance.uniform(-0.05, 0.75)))
            grow(end, (way * 0.55 + turn).normalized(), length * chance.uniform(0.58, 0.76), radius * 0.58, left - 1)

    with under(at):
        grow(Vector((0, 0, -0.2)), Vector((0.03, 0.02, 1)), tall * 0.32, tall * 0.042, 3)
        for end in ends:
            for _ in range(3):
                off = Vector((chance.gauss(0, 0.35), chance.gauss(0, 0.35), chance.gauss(0, 0.25)))
                copy(chance.choice(kinds), end + off, (0, 0, chance.uniform(0, 360)), chance.uniform(0.55, 0.95) * crown * tall / 7)


def puff(at: Sequence[float], eye: Sequence[float], size: float, colour: materials.Colour, much: float, seed: float) -> None:
    """A wisp of smoke: a sheet that faces the camera and is thick in the middle only."""
    s = materials.Surface("puff", through=True)
    place = s.nodes.new("ShaderNodeTexCoord")
    far = s.nodes.new("ShaderNodeVectorMath")
    far.operation = "LENGTH"
    s.links.new(place.outputs["Object"], far.inputs[0])
    noise = s.nodes.new("ShaderNodeTexNoise")
    noise.noise_dimensions = "4D"
    noise.inputs["W"].default_value, noise.inputs["Scale"].default_value, noise.inputs["Detail"].default_value = seed, 1.7, 3.5
    s.links.new(place.outputs["Object"], noise.inputs["Vector"])
    fade = s.sum("MULTIPLY", s.between(far.outputs["Value"], 0.98, 0.05), s.between(noise.outputs[0], 0.36, 0.72))
    s.done(colour=colour, rough=1.0, specular=0.0, sheer=s.sum("MULTIPLY", fade, much), glow=colour, glow_much=0.25)
    thing = mesh([(-1, -1, 0), (1, -1, 0), (1, 1, 0), (-1, 1, 0)], [(0, 1, 2, 3)], s.material, at)
    thing.rotation_euler = (Vector(eye) - Vector(at)).to_track_quat("Z", "Y").to_euler()
    thing.scale = (size, size, size)
    thing.visible_shadow = thing.visible_diffuse = False


def shaft(start: Sequence[float], way: Sequence[float], length: float, wide: float, much: float, colour: materials.Colour = (1, 0.87, 0.66)) -> None:
    """Light that hangs in dust: a sheet that only adds a little, fading at both edges and along its way."""
    s = materials.Surface("shaft", through=True)
    place = s.nodes.new("ShaderNodeTexCoord")
    u, v = (s.axis(place.outputs["Object"], k) for k in (0, 1))
    fade = s.sum("MULTIPLY", s.between(s.sum("ABSOLUTE", v), wide / 2, 0.0), s.between(u, length, length * 0.1))
    clear, glow, both = (s.nodes.new(f"ShaderNode{k}") for k in ("BsdfTransparent", "Emission", "AddShader"))
    glow.inputs[0].default_value = (*colour, 1)
    s.links.new(s.sum("MULTIPLY", s.sum("MULTIPLY", fade, s.between(s.noise(1.3, 4), 0.25, 0.75, (0.35, 1.2))), much), glow.inputs[1])
    s.links.new(clear.outputs[0], both.inputs[0])
    s.links.new(glow.outputs[0], both.inputs[1])
    s.links.new(both.outputs[0], s.out.inputs[0])
    thing = mesh([(0, -wide / 2, 0), (length, -wide / 2, 0), (length, wide / 2, 0), (0, wide / 2, 0)], [(0, 1, 2, 3)], s.material, start)
    thing.rotation_euler = Vector(way).to_track_quat("X", "Z").to_euler()
    thing.visible_shadow = thing.visible_diffuse = thing.visible_glossy = False


def boards(start: Sequence[float], end: Sequence[float], tall: float, material: Any, *, gap: float = 0.018, wide: float = 0.19, seed: int = 5, thick: float = 0.028, lost: float = 0.0) -> None:
    """A wall of upright boards from one point of the ground to another, not one of them quite like its neighbour."""
    chance = random.Random(seed)
    x0, y0, x1, y1 = start[0], start[1], end[0], end[1]
    far, heading = math.dist((x0, y0), (x1, y1)), math.atan2(y1 - y0, x1 - x0)
    at = 0.0
    while at < far:
        width = wide * chance.uniform(0.75, 1.25)
        if chance.random() >= lost:
            t = (at + width / 2) / far
            z = tall / 2 + chance.uniform(-0.03, 0.03)
            box((width, thick, tall), (x0 + (x1 - x0) * t, y0 + (y1 - y0) * t, z), material, (0, chance.gauss(0, 0.25), math.degrees(heading) + chance.gauss(0, 0.6)), bevel=0.004)
        at += width + gap * chance.uniform(0.2, 1.9)


def bale(at: Sequence[float], turn: float, material: Any, seed: int) -> None:
    """A straw bale: a block with a coat of stalks."""
    with under(at, (0, 0, turn)):
        box((0.95, 0.45, 0.36), (0, 0, 0.18), material, bevel=0.05)
        stalks(700, _shell, material, seed)
        for x in (-0.24, 0.24):
            tube([(x, -0.23, 0), (x, -0.235, 0.36), (x, 0.235, 0.365), (x, 0.23, 0)], 0.004, materials.plastic((0.25, 0.12, 0.05)), straight=True)


def _shell(chance: random.Random) -> tuple[float, float, float]:
    face = chance.random()
    x, y, z = chance.uniform(-0.47, 0.47), chance.uniform(-0.22, 0.22), chance.uniform(0.01, 0.36)
    if face < 0.4:
        return x, math.copysign(0.225, y), z
    return (x, y, 0.36) if face < 0.75 else (math.copysign(0.475, x), y, z)


def stalks(count: int, where: Callable[[random.Random], Sequence[float]], material: Any, seed: int, *, length: float = 0.13) -> Any:
    """Loose straw, one mesh."""
    chance = random.Random(seed)
    points, faces = [], []
    for _ in range(count):
        at, a = Vector(where(chance)), chance.uniform(0, math.pi)
        way = Vector((math.cos(a), math.sin(a), chance.gauss(0.02, 0.16))) * length * chance.uniform(0.3, 1.2)
        side = Vector((-math.sin(a), math.cos(a), 0)) * 0.0022
        k = len(points)
        points += [at - way / 2 - side, at - way / 2 + side, at + way / 2 + side, at + way / 2 - side]
        faces.append((k, k + 1, k + 2, k + 3))
    return mesh(points, faces, material, angle=180)


def bench(material: Any, *, wall: Any = None, size: tuple[float, float] = (2.2, 0.9)) -> None:
    """A bench top whose surface is z = 0, and what stands behind it."""
    across = 0.0
    while across < size[1]:
        box((size[0], 0.146, 0.05), (0, across - size[1] / 2 + 0.073, -0.025), material, bevel=0.003)
        across += 0.149
    if wall:
        box((4, 0.05, 2), (0, size[1] / 2 + 0.12, 0.6), wall)


def bolt(at: Sequence[float], size: float, material: Any, turn: Sequence[float] = (0, 0, 0), *, washer: bool = True, stud: float = 0.0) -> None:
    """A hexagon head of so many metres across, its foot at `at`."""
    with under(at, turn):
        if washer:
            cylinder(size * 0.82, size * 0.12, (0, 0, size * 0.06), material, bevel=0.0003)
        cylinder(size * 0.56, size * 0.48, (0, 0, size * 0.34), material, (0, 0, 23), steps=6, bevel=size * 0.05)
        cylinder(size * 0.38, size * 0.1 + stud, (0, 0, size * 0.6 + stud / 2), material, steps=20, bevel=size * 0.03)
