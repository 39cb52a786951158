# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""What does the Sedge look like? An invented field truck: a wheelhouse of a cab whose windscreen leans forward, flat wings, an open bed."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Any

import materials
from scene import box, cylinder, lathe, letters, mesh, prism, tube, under
from wheels import RADIUS, wheel

GREEN, CREAM = (0.060, 0.098, 0.052), (0.56, 0.50, 0.36)
AXLES, TRACK = (1.25, -1.25), 0.72


@dataclass
class State:
    """How the truck is found: rust, dust and mud from 0 to 1, tyres flat by so many metres, lamps lit, what lies or hangs on it."""

    rust: float = 0.25
    dust: float = 0.15
    mud: float = 0.15
    flat: float = 0.0
    lit: float = 0.0
    tarpaulin: bool = False
    plate: str = ""
    plough: bool = False
    steer: float = 0.0
    dull: float = 0.0


class Truck:
    """Builds the truck about its middle on the ground, nose to +x."""

    def __init__(self, state: State) -> None:
        self.state = s = state
        faded = tuple(c + s.dull * (0.13 - c) * 0.35 for c in GREEN)
        self.green = materials.paint(faded, rust=s.rust, dust=s.dust, mud=s.mud, rough=0.34 + 0.3 * s.dull)
        self.cream = materials.paint(CREAM, rust=s.rust * 0.9, dust=s.dust * 0.8, mud=s.mud, rough=0.4 + 0.2 * s.dull)
        self.black = materials.paint((0.018, 0.018, 0.018), rust=s.rust * 1.25, dust=s.dust, mud=s.mud * 1.2, rough=0.5)
        self.dark = materials.plastic((0.012, 0.012, 0.012), rough=0.85)
        self.steel = materials.steel(rust=min(0.9, s.rust * 1.6), fine=3)
        self.rubber = materials.rubber(dust=0.12 + 0.7 * s.dust, mud=s.mud)
        self.glass = materials.glass(dirt=0.02 + 0.55 * s.dust)

    def build(self) -> None:
        with under((0, 0, -self.state.flat)):
            self._chassis()
            self._nose()
            self._front()
            self._cab()
            self._inside()
            self._glazing()
            self._bed()
            self._trim()
            if self.state.plough:
                self._plough()
            for x in AXLES:
                for side in (1, -1):
                    steer = self.state.steer if x > 0 else 0
                    # the pressed side of a flat tyre, +x of the wheel, must look at the ground
                    with under((x, side * TRACK, RADIUS), (0, 0, steer)), under((0, 0, 0), (-90 * side, 0, 0)):
                        wheel((0, 0, 0), (0, 0, 90 * side), paint=self.cream, rubber=self.rubber, flat=self.state.flat)

    def _chassis(self) -> None:
        for y in (-0.38, 0.38):
            box((4.05, 0.075, 0.13), (0.0, y, 0.62), self.black, bevel=0.012)
        for x in (-1.9, -0.6, 0.4, 1.8):
            box((0.09, 0.78, 0.09), (x, 0, 0.62), self.black)
        for x in AXLES:
            cylinder(0.052, 1.36, (x, 0, RADIUS), self.black, (90, 0, 0))
            with under((x, 0.16, RADIUS)):
                lathe([(0, -0.15), (0.1, -0.12), (0.155, -0.03), (0.155, 0.03), (0.1, 0.12), (0, 0.15)], self.black, turn=(0, 90, 0))
            for y in (-0.42, 0.42):
                for k in range(5):
                    reach = 0.56 - 0.09 * k
                    arc = [(x + reach * t, 0.055, 0) for t in (-1, -0.5, 0, 0.5, 1)]
                    low = [(p[0], y, 0.50 - 0.013 * k + 0.10 * ((p[0] - x) / 0.56) ** 2) for p in arc]
                    tube(low, 0.008, self.black)
                    tube([(a, b + 0.026, c) for a, b, c in low], 0.008, self.black)
        cylinder(0.03, 1.1, (0.55, 0.14, 0.5), self.black, (0, 95, 0))
        cylinder(0.03, 1.1, (-0.65, 0.14, 0.5), self.black, (0, 85, 0))
        box((0.7, 0.42, 0.3), (0.05, 0.1, 0.56), self.black, bevel=0.05)
        box((0.62, 0.26, 0.24), (-0.2, -0.58, 0.56), self.black, bevel=0.035)
        box((0.5, 0.24, 0.22), (-0.28, 0.6, 0.57), self.black, bevel=0.012)

    def _nose(self) -> None:
        arch = [(0.64, 0.60), (0.735, 0.60), (0.90, 0.955), (1.61, 0.955), (1.77, 0.64), (1.965, 0.64), (1.965, 1.07), (1.92, 1.115), (0.64, 1.15)]
        for a, b in ((0.50, 0.845), (-0.845, -0.50)):
            prism(arch, (a, b), self.green, bevel=0.016)
        for side in (1, -1):
            lip = [(0.72, 0.59), (0.895, 0.965), (1.615, 0.965), (1.78, 0.63)]
            tube([(x, side * 0.85, z) for x, z in lip], 0.014, self.green, straight=True)
        box((1.26, 0.98, 0.50), (1.27, 0, 0.86), self.dark)
        hood = [(0.64, -0.55, 1.12), (1.955, -0.49, 1.08), (1.955, 0.49, 1.08), (0.64, 0.55, 1.12), (0.64, -0.50, 1.35), (1.93, -0.44, 1.235), (1.93, 0.44, 1.235), (0.64, 0.50, 1.35)]
        faces = [(3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]
        mesh(hood, faces, self.green, bevel=0.045, segments=4)
        for y in (-0.235, 0.235):
            prism([(0.70, 1.332), (1.86, 1.232), (1.84, 1.262), (0.74, 1.358)], (y - 0.055, y + 0.055), self.green, bevel=0.012)
        for side in (1, -1):
            for i in range(7):
                x = 0.84 + 0.085 * i
                box((0.012, 0.02, 0.11), (x, side * (0.536 - 0.046 * (x - 0.64)), 1.225 - 0.05 * (x - 0.64)), self.green, (side * 13, 0, 0), bevel=0.006)
            box((0.05, 0.03, 0.075), (1.66, side * 0.503, 1.135), self.black, bevel=0.008)
            cylinder(0.006, 0.1, (1.66, side * 0.515, 1.15), self.steel)

    def _front(self) -> None:
        x = 1.955
        for z, h in ((1.12, 0.10), (0.71, 0.14)):
            box((0.045, 0.98, h), (x, 0, z), self.green, bevel=0.014)
        for y, w in ((0.45, 0.09), (-0.45, 0.09), (0, 0.13)):
            box((0.046, w, 0.42), (x, y, 0.93), self.green, bevel=0.014)
        for i in range(5):
            for y in (0.235, -0.235):
                box((0.012, 0.35, 0.034), (x - 0.005, y, 0.822 + 0.062 * i), self.green, (0, 28, 0), bevel=0.005)
        box((0.02, 0.94, 0.46), (x - 0.07, 0, 0.94), self.black)
        mesh([(x + 0.0245, 0, 0.985), (x + 0.0245, 0.03, 0.945), (x + 0.0245, 0, 0.885), (x + 0.0245, -0.03, 0.945)], [(0, 1, 2, 3)], self.cream)
        for side in (1, -1):
            box((0.04, 0.27, 0.27), (1.965, side * 0.675, 0.925), self.green, bevel=0.02)
            with under((1.984, side * 0.675, 0.93), (0, 90, 0)):
                lathe([(0.115, -0.01), (0.118, 0.012), (0.108, 0.022), (0.096, 0.016), (0.096, 0.0)], self.steel, angle=60)
                bright = materials.steel((0.75, 0.75, 0.73), rust=0.06 if self.state.dust < 0.5 else 0.4, rough=0.14, oil=0.05, fine=4)
                lathe([(0, -0.055), (0.05, -0.045), (0.098, 0.0)], bright)
                lathe([(0.098, 0.004), (0.075, 0.020), (0.04, 0.029), (0, 0.032)], self.glass, angle=80)
                if self.state.lit:
                    lathe([(0, -0.02), (0.068, 0.002), (0, 0.006)], materials.lamp((1.0, 0.80, 0.48), self.state.lit))
            for z, tint, y in ((0.715, (0.9, 0.30, 0.02), 0.73), (0.715, (0.75, 0.75, 0.72), 0.61)):
                with under((1.966, side * y, z), (0, 90, 0)):
                    lathe([(0.042, 0), (0.042, 0.012), (0.036, 0.014)], self.black)
                    lathe([(0.036, 0.01), (0.03, 0.026), (0, 0.031)], materials.plastic(tint, rough=0.18, dirt=0.3))
        prism([(2.05, 0.53), (2.13, 0.54), (2.13, 0.70), (2.05, 0.71)], (-0.86, 0.86), self.black, bevel=0.012)
        for y in (-0.55, 0.55):
            tube([(2.12, y, 0.66), (2.20, y, 0.64), (2.20, y, 0.58), (2.12, y, 0.56)], 0.014, self.steel)
            box((0.2, 0.06, 0.08), (2.0, y * 0.7, 0.62), self.black)
        if self.state.plate:
            box((0.012, 0.52, 0.115), (2.138, 0, 0.62), materials.plastic((0.62, 0.61, 0.55), dirt=0.3), bevel=0.004)
            letters(self.state.plate, 0.098, (2.146, 0, 0.62), materials.plastic((0.01, 0.01, 0.01)), (90, 0, 90), bold=True)

    def _cab(self) -> None:
        for side in (1, -1):
            y = side * 0.80
            box((1.20, 0.05, 0.60), (0.04, y, 0.89), self.green, bevel=0.014)
            box((0.90, 0.03, 0.535), (0.145, side * 0.826, 0.905), self.green, bevel=0.012)
            box((0.90, 0.012, 0.03), (0.145, side * 0.842, 1.04), self.green, bevel=0.006)
            box((0.86, 0.04, 0.035), (0.145, side * 0.815, 1.19), self.black, bevel=0.008)
            for z in (0.74, 1.08):
                cylinder(0.014, 0.075, (0.612, side * 0.842, z), self.black)
            box((0.115, 0.022, 0.026), (-0.21, side * 0.856, 1.115), self.steel, bevel=0.008)
            box((0.03, 0.035, 0.03), (-0.165, side * 0.848, 1.115), self.steel, bevel=0.006)
            box((0.62, 0.16, 0.03), (0.14, side * 0.88, 0.50), self.black)
            for x in (-0.08, 0.36):
                box((0.03, 0.4, 0.03), (x, side * 0.70, 0.515), self.black)
            # pillars and frames about the glass
            prism([(0.575, 1.18), (0.64, 1.18), (0.775, 1.88), (0.705, 1.88)], (y - side * 0.03, y + side * 0.025), self.green, bevel=0.01)
            prism([(-0.56, 1.18), (-0.38, 1.18), (-0.36, 1.88), (-0.56, 1.88)], (y - side * 0.03, y + side * 0.025), self.green, bevel=0.01)
            for points in ([(-0.345, 1.20), (-0.33, 1.835), (0.665, 1.835), (0.55, 1.20)],):
                tube([(x, side * 0.815, z) for x, z in points], 0.016, self.green, straight=True)
            tube([(0.13, side * 0.812, 1.2), (0.14, side * 0.812, 1.84)], 0.010, self.black, straight=True)
        box((0.05, 1.60, 0.62), (-0.54, 0, 0.89), self.green, bevel=0.01)
        for y, w in ((0.62, 0.36), (-0.62, 0.36)):
            box((0.045, w, 0.70), (-0.54, y, 1.53), self.green, bevel=0.01)
        for z, h in ((1.22, 0.12), (1.83, 0.1)):
            box((0.045, 1.0, h), (-0.54, 0, z), self.green, bevel=0.01)
        roof = [(-0.63, -0.80), (0.80, -0.80), (0.955, -0.66), (0.955, 0.66), (0.80, 0.80), (-0.63, 0.80)]
        prism(roof, (1.865, 1.915), self.cream, axis="z", bevel=0.022)
        small = [(x * 0.86 + 0.02, y * 0.86) for x, y in roof]
        prism(small, (1.90, 1.948), self.cream, axis="z", bevel=0.03)
        for y in (-0.4, 0, 0.4):
            box((1.1, 0.03, 0.018), (0.12, y, 1.952), self.cream, bevel=0.008)
        prism([(0.60, 1.10), (0.665, 1.10), (0.665, 1.235), (0.60, 1.235)], (-0.80, 0.80), self.green, bevel=0.012)
        prism([(0.66, 1.80), (0.80, 1.80), (0.80, 1.87), (0.66, 1.87)], (-0.80, 0.80), self.green, bevel=0.01)
        prism([(0.585, 1.20), (0.645, 1.20), (0.765, 1.85), (0.71, 1.85)], (-0.022, 0.022), self.green, bevel=0.008)

    def _inside(self) -> None:
        floor = materials.paint((0.08, 0.08, 0.075), rust=0.3, dust=self.state.dust)
        seat = materials.cloth((0.035, 0.032, 0.03), stain=0.3)
        box((1.2, 1.56, 0.03), (0.04, 0, 0.60), floor)
        for y in (0.38, -0.38):
            box((0.44, 0.5, 0.16), (-0.2, y, 0.98), seat, bevel=0.05)
            box((0.13, 0.5, 0.52), (-0.44, y, 1.24), seat, (0, -9, 0), bevel=0.05)
        box((0.5, 1.3, 0.28), (-0.22, 0, 0.75), floor)
        box((0.16, 1.5, 0.16), (0.54, 0, 1.18), materials.plastic((0.05, 0.055, 0.045)), bevel=0.03)
        with under((0.34, 0.38, 1.26), (0, -32, 0)):
            ring = [(0.2 * math.cos(a), 0.2 * math.sin(a), 0) for a in (k * math.pi / 8 for k in range(16))]
            tube(ring, 0.013, self.dark, closed=True)
            for a in (0, 120, 240):
                box((0.2, 0.03, 0.008), (0.1 * math.cos(math.radians(a)), 0.1 * math.sin(math.radians(a)), 0), self.dark, (0, 0, a))
            cylinder(0.02, 0.4, (0, 0, -0.2), self.dark)

    def _glazing(self) -> None:
        for side in (1, -1):
            y0, y1 = side * 0.03, side * 0.77
            mesh([(0.618, y0, 1.23), (0.618, y1, 1.23), (0.738, y1, 1.82), (0.738, y0, 1.82)], [(0, 1, 2, 3)], self.glass)
            edge = [(0.625, y0, 1.235), (0.625, y1, 1.235), (0.742, y1, 1.812), (0.742, y0, 1.812)]
            tube(edge, 0.012, self.dark, closed=True, straight=True)
            y = side * 0.797
            mesh([(-0.35, y, 1.2), (0.58, y, 1.2), (0.69, y, 1.84), (-0.35, y, 1.84)], [(0, 1, 2, 3)], self.glass)
            tube([(0.665, side * 0.30, 1.215), (0.69, side * 0.33, 1.24), (0.725, side * 0.52, 1.60)], 0.006, self.dark)
            tube([(0.705, side * 0.42, 1.38), (0.745, side * 0.60, 1.76)], 0.008, self.dark)
        mesh([(-0.54, -0.45, 1.27), (-0.54, 0.45, 1.27), (-0.54, 0.45, 1.79), (-0.54, -0.45, 1.79)], [(0, 1, 2, 3)], self.glass)

    def _bed(self) -> None:
        boards = materials.timber((0.20, 0.14, 0.09), plank=0.14, grey=0.5)
        box((1.42, 1.62, 0.05), (-1.36, 0, 0.90), boards)
        box((1.44, 1.64, 0.05), (-1.36, 0, 0.855), self.black)
        for side in (1, -1):
            box((1.45, 0.03, 0.36), (-1.36, side * 0.83, 1.06), self.green, bevel=0.008)
            for z in (0.90, 1.235):
                box((1.46, 0.05, 0.035), (-1.36, side * 0.832, z), self.green, bevel=0.010)
            for i in range(6):
                box((0.05, 0.045, 0.33), (-2.03 + 0.268 * i, side * 0.835, 1.065), self.green, bevel=0.012)
            guard = [(-1.80, 0.60), (-1.64, 0.84), (-0.86, 0.84), (-0.72, 0.60), (-0.74, 0.60), (-0.875, 0.825), (-1.625, 0.825), (-1.78, 0.60)]
            prism(guard, (side * 0.56, side * 0.86), self.black, bevel=0.004)
            box((0.008, 0.28, 0.24), (-1.80, side * 0.70, 0.50), self.rubber)
            box((0.03, 0.12, 0.20), (-2.09, side * 0.76, 0.72), materials.plastic((0.35, 0.012, 0.01), rough=0.2), bevel=0.008)
            for x in (-1.9, -1.1):
                cylinder(0.012, 0.08, (x, side * 0.858, 0.885), self.steel, (0, 90, 0))
        box((0.03, 1.66, 0.36), (-2.085, 0, 1.06), self.green, bevel=0.008)
        for y in (-0.6, -0.2, 0.2, 0.6):
            box((0.045, 0.05, 0.33), (-2.09, y, 1.065), self.green, bevel=0.012)
        for y in (-0.78, -0.26, 0.26, 0.78):
            tube([(-0.68, y, 0.90), (-0.68, y, 1.78)], 0.018, self.black, straight=True)
        for z in (1.32, 1.55, 1.78):
            tube([(-0.68, -0.79, z), (-0.68, 0.79, z)], 0.018, self.black, straight=True)
        with under((-0.83, 0.22, 1.335), (0, -82, 0)):
            wheel((0, 0, 0), (0, 0, 20), paint=self.cream, rubber=self.rubber)
        if self.state.tarpaulin:
            self._tarpaulin()

    def _tarpaulin(self) -> None:
        chance = random.Random(4)
        n, points, faces = 60, [], []
        waves = [(chance.uniform(2, 13), chance.uniform(2, 13), chance.uniform(0, 6), chance.uniform(0.006, 0.03)) for _ in range(12)]
        for i in range(n):
            for j in range(n):
                u, v = i / (n - 1), j / (n - 1)
                x, y = -2.28 + 1.62 * u, -0.99 + 1.98 * v
                lift = 1.31 + 0.10 * math.sin(math.pi * v) * u + sum(h * math.sin(a * u * 3 + b * v * 3 + c) for a, b, c, h in waves) * 0.6
                out = max(0.0, abs(y) - 0.86, -2.12 - x)
                lift -= 0.12 * (max(0.0, abs(y) - 0.84) > 0) + out * 2.8
                if u > 0.62:
                    near = math.exp(-(((y - 0.22) / 0.42) ** 2)) * (u - 0.62) / 0.38
                    lift += 0.42 * near
                points.append((x, max(-0.9, min(0.9, y)) + 0.02 * math.sin(17 * u), lift))
        for i in range(n - 1):
            faces += [(i * n + j, (i + 1) * n + j, (i + 1) * n + j + 1, i * n + j + 1) for j in range(n - 1)]
        mesh(points, faces, materials.cloth((0.105, 0.10, 0.078), stain=0.6), angle=80)

    def _trim(self) -> None:
        guard = self.steel
        tube([(-0.3, -0.5, 0.52), (-0.60, -0.55, 0.55), (-0.635, -0.62, 0.75), (-0.635, -0.62, 1.95)], 0.03, self.black)
        cylinder(0.062, 0.62, (-0.635, -0.62, 1.50), guard)
        tube([(-0.635, -0.62, 1.93), (-0.635, -0.62, 2.05), (-0.70, -0.62, 2.13)], 0.032, guard)
        for side in (1, -1):
            tube([(0.66, side * 0.82, 1.30), (0.74, side * 0.95, 1.33), (0.74, side * 0.97, 1.55)], 0.009, self.black)
            box((0.025, 0.13, 0.20), (0.745, side * 0.975, 1.58), self.black, (0, 0, side * 12), bevel=0.012)
            box((0.004, 0.115, 0.18), (0.731, side * 0.975, 1.58), materials.steel((0.8, 0.8, 0.8), rust=0.02, rough=0.06, oil=0.1), (0, 0, side * 12), bevel=0.001)
        cylinder(0.045, 0.03, (-0.42, 0.845, 1.0), self.black, (90, 0, 0))

    def _plough(self) -> None:
        for y in (-0.42, 0.42):
            tube([(2.1, y, 0.62), (2.45, y, 0.45), (2.62, y, 0.35)], 0.035, self.black, straight=True)
        blade = [(2.62 + 0.16 * math.cos(a) - 0.1, 0.36 + 0.30 * math.sin(a)) for a in (k * 0.28 - 1.2 for k in range(9))]
        outline = blade + [(x - 0.02, z) for x, z in reversed(blade)]
        prism(outline, (-0.95, 0.95), self.cream, turn=(0, 0, 0), bevel=0.004)
        box((0.02, 1.9, 0.06), (2.585, 0, 0.10), self.steel)


def truck(at: Any, turn: float, state: State) -> Any:
    """Put a truck on the ground at (x, y, z), its nose turned `turn` degrees to the left of +x."""
    with under(at, (0, 0, turn)) as handle:
        Truck(state).build()
    return handle
