# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""The pictures of the engine and what feeds it, and of the sheets that were drawn for it."""

from __future__ import annotations

import math
import tempfile
from pathlib import Path
from typing import Any

import materials
import parts
import places
import sheets
from scene import area, box, camera, cylinder, lathe, letters, plain_sky, prism, sun, tube, under


def _sheet(name: str) -> Path:
    return getattr(sheets, name)(Path(tempfile.gettempdir()) / f"sheet-{name}.png")


def _pencil(at: Any, turn: float, colour: materials.Colour = (0.5, 0.06, 0.03)) -> None:
    with under(at, (0, 90, turn)):
        cylinder(0.0036, 0.13, (0, 0, 0), materials.plastic(colour, rough=0.3), steps=6, bevel=0.0003)
        lathe([(0.0036, 0.065), (0.0012, 0.079)], materials.timber((0.5, 0.36, 0.2), fine=10), steps=12)
        lathe([(0.0012, 0.079), (0.0002, 0.084)], materials.plastic((0.02, 0.02, 0.02)), steps=12)
        cylinder(0.0038, 0.012, (0, 0, -0.062), materials.steel((0.6, 0.5, 0.25), rust=0), steps=20)


def _desk(name: str, turn: float, *, colour: materials.Colour = (0.19, 0.12, 0.07)) -> None:
    places.bench(materials.timber(colour, fine=2.4, stain=0.6, plank=0.149), size=(2.2, 1.3))
    parts.picture_on(_sheet(name), (0.297, 0.2145), (0, 0, 0.0008), turn, curl=0.004, age=0.22, shine=0.15)
    plain_sky((0.20, 0.19, 0.18), (0.30, 0.33, 0.38), 0.35)


def pipe_routing() -> dict[str, Any]:
    _desk("pipe_routing", 3)
    copper = materials.steel((0.66, 0.33, 0.17), rust=0.0, rough=0.24, oil=0.12, fine=10)
    zinc = materials.steel((0.6, 0.58, 0.5), rust=0.04, fine=14)
    tube([(-0.22, 0.10, 0.003), (-0.12, 0.125, 0.003), (0.02, 0.118, 0.003), (0.06, 0.135, 0.004), (0.10, 0.165, 0.003), (0.24, 0.17, 0.003)], 0.0024, copper)
    tube([(0.155, -0.14, 0.003), (0.17, -0.02, 0.003), (0.166, 0.02, 0.004), (0.19, 0.05, 0.003)], 0.0024, copper)
    for x, y, a in ((0.157, -0.115, 84), (0.168, -0.03, 84), (-0.165, -0.085, 20), (-0.185, -0.065, 70), (-0.158, -0.055, 140)):
        with under((x, y, 0.0052), (0, 90, a)):
            cylinder(0.0055, 0.007, (0, 0, 0), zinc, steps=6, bevel=0.0006)
            cylinder(0.0046, 0.011, (0, 0, 0.009), zinc, steps=24)
    _pencil((0.085, -0.116, 0.0045), 6)
    parts.spanner((-0.115, -0.128, 0.0005), 178, 0.010, 0.085)
    area((-0.6, 0.4, 0.6), (0, 0, 0), 12, 0.4, (1, 0.95, 0.88))
    camera((0.01, -0.15, 0.345), (0.0, 0.002, 0), lens=38, stop=7, focus=(0, -0.02, 0))
    return {"exposure": 0.05}


def lift_pump_section() -> dict[str, Any]:
    _desk("lift_pump_section", -5, colour=(0.15, 0.10, 0.065))
    metal = materials.cast((0.34, 0.34, 0.33), fine=12, metal=0.7, grime=0.5, rough=0.4)
    with under((0.165, 0.085, 0.0), (0, 0, 20)):
        lathe([(0, 0), (0.034, 0), (0.036, 0.003), (0.036, 0.007), (0.03, 0.009), (0.028, 0.024), (0.018, 0.032), (0, 0.033)], metal, bevel=0.0008)
        for k in range(6):
            a = k * math.pi / 3
            places.bolt((0.032 * math.cos(a), 0.032 * math.sin(a), 0.007), 0.007, materials.steel(fine=12), washer=False)
    parts.jar(0.030, 0.085, 0.35, (0.66, 0.42, 0.06), (-0.185, 0.085, 0.0))
    _pencil((0.06, -0.115, 0.0045), -8, (0.03, 0.07, 0.25))
    _pencil((-0.10, -0.122, 0.0045), 170)
    area((-0.5, 0.5, 0.5), (0, 0, 0), 10, 0.35, (1, 0.9, 0.76))
    area((0.6, -0.1, 0.6), (0, 0, 0), 3, 0.4, (0.82, 0.9, 1))
    camera((-0.03, -0.20, 0.31), (0.0, -0.002, 0), lens=38, stop=5.6, focus=(0, -0.02, 0), roll=2)
    return {"exposure": 0.05}


def clutch_hydraulics() -> dict[str, Any]:
    _desk("clutch_hydraulics", 4)
    steel, zinc = materials.steel((0.5, 0.49, 0.47), rust=0.1, fine=12), materials.steel((0.60, 0.58, 0.5), rust=0.03, rough=0.28, fine=14)
    black = materials.rubber(fine=10, dust=0.05)
    with under((0.125, 0.12, 0.019), (0, 90, -12)):
        lathe([(0, -0.05), (0.015, -0.05), (0.0165, -0.048), (0.0165, 0.03), (0.0185, 0.031), (0.0185, 0.036), (0, 0.036)], zinc, bevel=0.0006)
        for k in range(4):
            lathe([(0.0145 - 0.0018 * k, 0.036 + 0.006 * k), (0.0165 - 0.0018 * k, 0.039 + 0.006 * k), (0.0135 - 0.0018 * k, 0.042 + 0.006 * k)], black)
        cylinder(0.0045, 0.05, (0, 0, 0.078), steel)
        cylinder(0.005, 0.014, (-0.019, 0, -0.035), zinc, (0, 90, 0), steps=6)
        cylinder(0.003, 0.012, (-0.030, 0, -0.035), materials.steel((0.62, 0.43, 0.16), rust=0), (0, 90, 0))
    tube([(0.075, 0.135, 0.02), (0.03, 0.155, 0.03), (-0.03, 0.142, 0.012), (-0.10, 0.15, 0.008), (-0.25, 0.135, 0.008)], 0.0062, black)
    cylinder(0.008, 0.018, (0.068, 0.138, 0.021), zinc, (0, 90, -22), steps=6)
    with under((-0.148, -0.088, 0.012), (0, 90, 36)):
        lathe([(0.010, -0.05), (0.011, -0.05), (0.011, 0.03), (0.003, 0.035), (0.0025, 0.05), (0.0015, 0.05), (0.0020, 0.034), (0.010, 0.029)], materials.glass((0.95, 0.97, 0.96), dirt=0.02, fine=9))
        lathe([(0, -0.012), (0.0098, -0.012), (0.0098, 0.028), (0, 0.028)], materials.fuel((0.62, 0.42, 0.12)))
        lathe([(0, -0.016), (0.0098, -0.016), (0.0098, -0.012), (0, -0.012)], black)
        cylinder(0.0035, 0.05, (0, 0, -0.043), materials.plastic((0.6, 0.6, 0.58)))
        cylinder(0.013, 0.002, (0, 0, -0.068), materials.plastic((0.6, 0.6, 0.58)))
        cylinder(0.017, 0.002, (0, 0, -0.05), materials.plastic((0.6, 0.6, 0.58)))
    area((-0.5, 0.45, 0.5), (0, 0, 0), 10, 0.4, (1, 0.95, 0.88))
    area((0.6, 0.0, 0.6), (0, 0, 0), 3, 0.4, (0.82, 0.9, 1))
    camera((0.0, -0.16, 0.35), (0.0, 0.008, 0), lens=37, stop=7, focus=(0, 0, 0.005), roll=-1.5)
    return {"exposure": 0.05}


def wiring_diagram() -> dict[str, Any]:
    _desk("wiring_diagram", -3, colour=(0.16, 0.10, 0.06))
    tints = ((0.45, 0.02, 0.01), (0.02, 0.12, 0.04), (0.02, 0.05, 0.3), (0.5, 0.3, 0.02), (0.02, 0.02, 0.02))
    for i, tint in enumerate(tints):
        y = 0.108 + 0.006 * i
        tube([(-0.26, y + 0.05, 0.002), (-0.12, y + 0.012 * math.sin(i), 0.002 + 0.002 * i), (0.0, y + 0.02, 0.003), (0.12, y - 0.012 * i + 0.02, 0.002), (0.205, 0.10 - 0.028 * i, 0.003)], 0.0016, materials.plastic(tint, rough=0.4))
        tube([(0.205, 0.10 - 0.028 * i, 0.003), (0.212, 0.097 - 0.029 * i, 0.003)], 0.0008, materials.steel((0.7, 0.35, 0.18), rust=0, fine=20))
    with under((-0.178, -0.02, 0.0)):
        lathe([(0, 0.002), (0.028, 0.002), (0.034, 0.004), (0.040, 0.07), (0.0375, 0.07), (0.032, 0.008), (0, 0.006)], materials.paint((0.48, 0.47, 0.42), rust=0.0, dust=0, fine=9, rough=0.2))
        cylinder(0.0362, 0.001, (0, 0, 0.057), materials.liquid((0.20, 0.085, 0.02)), bevel=0)
        cylinder(0.0355, 0.001, (0, 0, 0.056), materials.plastic((0.06, 0.022, 0.008), rough=0.1))
    _pencil((0.055, -0.10, 0.0045), 22)
    area((0.35, 0.40, 0.5), (0, 0, 0), 8, 0.25, (1, 0.80, 0.56))
    area((-0.6, 0.1, 0.7), (0, 0, 0), 2.5, 0.5, (0.8, 0.88, 1))
    camera((-0.02, -0.20, 0.33), (-0.008, 0.0, 0), lens=37, stop=5.6, focus=(0, -0.02, 0), roll=1)
    return {"exposure": 0.15}


def lighting() -> dict[str, Any]:
    wood = materials.timber((0.21, 0.14, 0.08), along="y", fine=1.8, grey=0.5, plank=0.12)
    for i in range(9):
        box((0.117, 1.4, 0.02), (-0.48 + 0.12 * i, 0, -0.010), wood, bevel=0.002)
    parts.picture_on(_sheet("lighting"), (0.297, 0.2145), (0, 0, 0.001), 1.5, curl=0.012, age=0.5, shine=0.1)
    pin = materials.steel((0.62, 0.45, 0.2), rust=0.1, fine=16)
    for x, y in ((-0.140, 0.095), (0.136, 0.10)):
        lathe([(0, 0.002), (0.005, 0.0022), (0.0045, 0.0038), (0, 0.0046)], pin, (x, y, 0.004))
    iron = materials.steel((0.16, 0.15, 0.14), rust=0.6, fine=8)
    with under((0.205, 0.06, 0.0)):
        tube([(0, 0, 0), (0, 0, 0.05), (0.0, 0.012, 0.056)], 0.0035, iron)
        tube([(0.0, -0.004, 0.03), (0.012, -0.06, 0.014), (0.004, -0.13, 0.012), (-0.012, -0.06, 0.02), (-0.002, -0.006, 0.034)], 0.0022, materials.plastic((0.45, 0.02, 0.01)))
    sun(38, 148, 2.6, (1, 0.86, 0.66), 1.5)
    plain_sky((0.25, 0.26, 0.28), (0.35, 0.4, 0.48), 0.5)
    camera((0.03, -0.10, 0.37), (0.012, -0.006, 0), lens=37, stop=8)
    return {"exposure": 0.0}


def compression() -> dict[str, Any]:
    block = materials.cast((0.20, 0.060, 0.035), fine=5, grime=0.75)
    head = materials.cast((0.075, 0.078, 0.08), fine=5, grime=0.6, rough=0.5)
    steel, brass = materials.steel(rust=0.25, fine=6), materials.steel((0.6, 0.42, 0.16), rust=0.02, fine=9)
    box((0.62, 0.24, 0.09), (0.06, 0.10, -0.045), head, bevel=0.008)
    box((0.62, 0.03, 0.16), (0.06, -0.01, -0.14), block, bevel=0.006)
    prism([(-0.22, 0.10), (0.36, 0.10), (0.36, 0.20), (-0.22, 0.20)], (0.0, 0.075), materials.paint((0.05, 0.075, 0.045), rust=0.1, dust=0.1, fine=4), axis="z", bevel=0.016)
    for x in (-0.10, 0.06, 0.22):
        places.bolt((x, 0.15, 0.074), 0.016, steel)
    for i in range(4):
        x = -0.13 + 0.125 * i
        lathe([(0.008, 0.0), (0.008, 0.006), (0.013, 0.006), (0.014, 0.001), (0.014, 0)], steel, (x, 0.045, 0), bevel=0.0006)
        cylinder(0.0078, 0.004, (x, 0.045, 0.0), materials.plastic((0.004, 0.004, 0.004)))
        places.bolt((x + 0.06, 0.045, 0), 0.017, steel, stud=0.012)
        places.bolt((x + 0.05, -0.012, -0.1), 0.015, steel, (90, 0, 0))
    cylinder(0.0085, 0.03, (-0.13, 0.045, 0.016), brass, steps=6)
    cylinder(0.006, 0.03, (-0.13, 0.045, 0.04), brass)
    tube([(-0.13, 0.045, 0.05), (-0.132, 0.045, 0.085), (-0.10, 0.04, 0.118), (-0.055, 0.022, 0.09), (-0.052, 0.03, 0.05), (-0.052, 0.03, 0.045)][:4], 0.0055, materials.rubber(fine=8))
    with under((-0.052, 0.016, 0.112), (66, 0, 6)):
        parts.dial(0.046, (0, 30), 5, 20.4, words=(("bar", -0.36),), numbers=0.2, face=(0.76, 0.75, 0.71), bezel=materials.steel((0.05, 0.05, 0.05), rust=0.1, rough=0.4, fine=9))
        cylinder(0.006, 0.025, (0, -0.055, -0.012), brass, (90, 0, 0), steps=6)
    slate = materials.cast((0.028, 0.031, 0.033), fine=5, grime=0.2, rough=0.75)
    with under((0.155, 0.105, 0.128), (70, 0, -10)):
        box((0.175, 0.135, 0.006), (0, 0, -0.003), slate, bevel=0.001)
        for x, w in ((-0.09, 0.012), (0.09, 0.012)):
            box((w, 0.16, 0.012), (x, 0, -0.003), materials.timber((0.33, 0.22, 0.12), along="y", fine=4), bevel=0.002)
        for y in (-0.074, 0.074):
            box((0.19, 0.012, 0.012), (0, y, -0.003), materials.timber((0.33, 0.22, 0.12), fine=4), bevel=0.002)
        for i, figure in enumerate(("1  20.4", "2  22.8", "3  22.5", "4  21.1")):
            parts.written(figure, 0.032, (-0.072, 0.049 - 0.032 * i, 0.0006), (0, 0, (i % 2) - 0.5), material=parts.chalk(), align="LEFT")
    for i in range(4):
        parts.written(str(i + 1), 0.026, (-0.104 + 0.125 * i, 0.012, 0.0006), material=parts.chalk())
    plain_sky((0.10, 0.09, 0.08), (0.2, 0.22, 0.26), 0.3)
    area((-0.7, -0.4, 0.8), (0, 0.05, 0.05), 15, 0.35, (1, 0.94, 0.85))
    area((0.7, 0.1, 0.6), (0, 0.05, 0.05), 5, 0.4, (0.75, 0.86, 1))
    camera((0.055, -0.37, 0.235), (0.062, 0.04, 0.078), lens=37, stop=5.6, focus=(-0.05, 0.0, 0.11))
    return {"exposure": 0.3}


def lift_pump_fitted() -> dict[str, Any]:
    block, alloy = materials.cast((0.055, 0.075, 0.082), fine=5, grime=0.7), materials.cast((0.5, 0.5, 0.49), fine=11, metal=0.85, grime=0.12, rough=0.34)
    steel, brass, hose = materials.steel(rust=0.3, fine=7), materials.steel((0.64, 0.45, 0.17), rust=0.0, fine=10, rough=0.24), materials.rubber(fine=7, dust=0.03, rough=0.5)
    box((1.4, 0.06, 0.9), (0, 0.03, 0), block, bevel=0.01)
    box((0.30, 0.02, 0.22), (-0.22, -0.008, -0.02), block, bevel=0.012)
    for x in (-0.345, -0.275, -0.165, -0.095):
        for z in (-0.11, 0.07):
            places.bolt((x, -0.018, z), 0.016, steel, (90, 0, 0))
    for x in (-0.38, 0.02, 0.42):
        box((0.03, 0.03, 0.9), (x, -0.008, 0), block, bevel=0.012)
    tube([(-0.6, -0.02, -0.18), (0.7, -0.02, -0.19)], 0.010, materials.paint((0.03, 0.03, 0.03), rust=0.3, fine=4))
    with under((-0.18, -0.028, -0.02), (90, 0, 0)):
        lathe([(0, 0), (0.05, 0), (0.052, 0.003), (0.05, 0.012), (0.032, 0.016), (0.032, 0.03)], alloy, bevel=0.001)
        for x in (-0.042, 0.042):
            places.bolt((x, 0.0, 0.012), 0.013, brass)
    with under((-0.18, -0.085, -0.01)):
        lathe([(0, -0.045), (0.022, -0.045), (0.03, -0.03), (0.042, -0.012), (0.045, -0.008), (0.045, 0.006), (0.038, 0.01), (0.034, 0.034), (0.022, 0.044), (0, 0.046)], alloy, steps=64, bevel=0.0012)
        for k in range(6):
            a = k * math.pi / 3 + 0.3
            places.bolt((0.0405 * math.cos(a), 0.0405 * math.sin(a), 0.006), 0.0085, steel, washer=False)
        for side in (-1, 1):
            cylinder(0.009, 0.03, (side * 0.045, 0, 0.022), brass, (0, 90, 0), steps=6)
            cylinder(0.0065, 0.03, (side * 0.068, 0, 0.022), brass, (0, 90, 0))
        letters("ZP 2207-B", 0.0095, (0, -0.0385, 0.020), materials.plastic((0.03, 0.03, 0.03)), (96, 0, 0))
        tube([(0.0, -0.02, -0.04), (0.02, -0.045, -0.058), (0.05, -0.06, -0.066)], 0.004, steel)
        lathe([(0, -0.005), (0.006, -0.003), (0.006, 0.003), (0, 0.005)], steel, (0.05, -0.06, -0.066))
    tube([(-0.115, -0.085, 0.012), (-0.06, -0.09, 0.01), (-0.02, -0.085, 0.07), (0.02, -0.075, 0.125), (0.085, -0.07, 0.13)], 0.0085, hose)
    tube([(-0.245, -0.085, 0.012), (-0.31, -0.09, 0.005), (-0.35, -0.08, -0.10), (-0.46, -0.06, -0.19), (-0.62, -0.06, -0.2)], 0.0085, hose)
    for at, turn in (((-0.112, -0.085, 0.012), (0, 90, 0)), ((-0.248, -0.085, 0.012), (0, 90, 0)), ((0.074, -0.071, 0.13), (0, 90, 0))):
        parts.clamp(at, turn, 0.0087)
    with under((0.155, -0.075, 0.105)):
        lathe([(0, -0.125), (0.040, -0.122), (0.043, -0.118), (0.043, -0.006), (0.040, 0.0), (0, 0.0)], materials.paint((0.42, 0.045, 0.02), rust=0.0, dust=0.03, fine=6, rough=0.25), bevel=0.0015)
        lathe([(0, 0), (0.047, 0), (0.049, 0.004), (0.049, 0.022), (0.036, 0.032), (0.018, 0.040), (0, 0.042)], alloy, bevel=0.001)
        box((0.09, 0.04, 0.03), (0, 0.04, 0.014), alloy, bevel=0.005)
        letters("fuel", 0.020, (-0.0, -0.0434, -0.06), materials.plastic((0.75, 0.73, 0.68)), (90, 0, 0), bold=True)
        cylinder(0.009, 0.03, (-0.060, 0, 0.022), brass, (0, 90, 0), steps=6)
        cylinder(0.008, 0.022, (0.060, 0, 0.020), brass, (0, 90, 0), steps=6)
        cylinder(0.0032, 0.02, (0.072, 0, 0.014), brass)
    fuel = (0.60, 0.27, 0.02)
    tube([(0.227, -0.075, 0.112), (0.2275, -0.076, 0.06), (0.228, -0.077, -0.12)], 0.0026, materials.fuel(fuel))
    tube([(0.227, -0.075, 0.1215), (0.2268, -0.0752, 0.108)], 0.0032, materials.fuel(fuel))
    box((0.5, 0.16, 0.02), (0.27, -0.10, -0.195), materials.timber((0.22, 0.14, 0.08), fine=3), bevel=0.003)
    parts.jar(0.042, 0.105, 0.58, fuel, (0.228, -0.08, -0.1848))
    plain_sky((0.12, 0.11, 0.10), (0.22, 0.24, 0.28), 0.4)
    area((-0.5, -0.9, 0.7), (0, 0, 0), 20, 0.35, (1, 0.94, 0.85))
    area((0.8, -0.5, 0.2), (0.1, 0, 0), 6, 0.4, (0.78, 0.87, 1))
    camera((0.06, -0.74, 0.10), (0.0, -0.03, -0.025), lens=39, stop=5.6, focus=(0, -0.1, 0))
    return {"exposure": 0.25}


def fuse_box() -> dict[str, Any]:
    sheet = materials.paint((0.060, 0.098, 0.052), rust=0.12, dust=0.12, fine=3)
    box((1.0, 0.8, 0.02), (0, 0, -0.010), sheet)
    box((1.0, 0.02, 0.02), (0, 0.155, 0.004), sheet, bevel=0.008)
    black, steel = materials.plastic((0.018, 0.018, 0.019), rough=0.42), materials.steel(rust=0.1, fine=9)
    box((0.19, 0.062, 0.022), (0, 0, 0.011), black, bevel=0.004)
    box((0.176, 0.036, 0.026), (0, 0, 0.013), black, bevel=0.002)
    for x in (-0.106, 0.106):
        box((0.03, 0.03, 0.006), (x, 0, 0.003), black, bevel=0.002)
        places.bolt((x, 0, 0.006), 0.009, steel)
    tints = {"7.5": (0.24, 0.10, 0.035), "5": (0.50, 0.24, 0.03), "10": (0.48, 0.02, 0.015), "15": (0.03, 0.15, 0.45)}
    wires = ((0.5, 0.3, 0.02), (0.5, 0.3, 0.02), (0.03, 0.06, 0.35), (0.03, 0.06, 0.35), (0.02, 0.14, 0.05), (0.45, 0.45, 0.42), (0.35, 0.02, 0.2), (0.45, 0.02, 0.01), (0.16, 0.08, 0.03), (0.015, 0.015, 0.015))
    paper, ink = materials.cloth((0.68, 0.66, 0.58), fine=8, stain=0.15), materials.plastic(parts.INK, dirt=0)
    for i, ampere in enumerate(("7.5", "7.5", "7.5", "7.5", "5", "5", "10", "10", "15", "10")):
        x = -0.0765 + 0.017 * i
        box((0.0052, 0.020, 0.014), (x, 0, 0.031), materials.plastic(tints[ampere], rough=0.25, dirt=0.05), bevel=0.0012)
        letters(ampere, 0.0058, (x, 0, 0.0382), materials.plastic((0.85, 0.85, 0.82), dirt=0), (0, 0, 90), bold=True, depth=0.00005)
        letters(str(i + 1), 0.0085, (x, 0.0245, 0.0222), materials.plastic((0.8, 0.8, 0.76), dirt=0), depth=0.00005)
        for side in (1, -1):
            stuff = materials.plastic(wires[i] if side < 0 else (0.45, 0.02, 0.01), rough=0.4)
            out = x * (1.25 if side < 0 else 0.75)
            tube([(x, side * 0.026, 0.012), (x, side * 0.045, 0.012), (out, side * 0.075, 0.006), (out * (1.12 if side < 0 else 0.4), side * 0.12, 0.005 + (0 if side < 0 else 0.004 * (i % 3))), (out * (1.15 if side < 0 else 0.3) + (0.03 if side > 0 else 0), side * 0.19, 0.006 + 0.003 * (i % 3))], 0.0017, stuff)
        at = (x * 1.33, -0.088 - 0.022 * (i % 2), 0.0075)
        with under(at, (0, 0, 7 * math.sin(3.1 * i))):
            box((0.017, 0.014, 0.0007), (0, 0, 0), paper, bevel=0.0002)
            parts.written(str(i + 1), 0.0125, (0, 0, 0.0004), material=ink)
    for i, word in enumerate(("dip", "main", "fog")):
        with under((-0.148, 0.030 - 0.046 * i, 0)):
            box((0.030, 0.030, 0.030), (0, 0, 0.015), black, bevel=0.002)
            box((0.024, 0.024, 0.0008), (0, 0, 0.0302), materials.steel((0.6, 0.6, 0.6), rust=0, fine=12))
            letters(word, 0.010, (0, 0, 0.0308), ink, depth=0.00005)
    plain_sky((0.12, 0.12, 0.12), (0.25, 0.27, 0.3), 0.4)
    area((-0.4, 0.4, 0.5), (0, 0, 0), 8, 0.3, (1, 0.95, 0.88))
    area((0.5, -0.1, 0.4), (0, 0, 0), 2.5, 0.3, (0.78, 0.87, 1))
    camera((0.02, -0.19, 0.275), (-0.020, -0.030, 0.010), lens=37, stop=7, focus=(0, -0.02, 0.03), roll=-2)
    return {"exposure": 0.25}


def cooling() -> dict[str, Any]:
    enamel = materials.paint((0.025, 0.025, 0.028), rust=0.08, dust=0.05, fine=3, rough=0.22)
    box((0.9, 0.7, 0.04), (0, 0.05, -0.020), enamel, bevel=0.01)
    tiles = materials.paint((0.55, 0.54, 0.49), rust=0, dust=0.12, fine=5, rough=0.18)
    for i in range(8):
        for k in range(5):
            box((0.147, 0.012, 0.147), (-0.53 + 0.15 * i, 0.44, 0.02 + 0.15 * k), tiles, bevel=0.003)
    iron = materials.cast((0.02, 0.02, 0.02), fine=7)
    for a in range(0, 360, 45):
        box((0.13, 0.010, 0.012), (0.065 * math.cos(math.radians(a)), 0.065 * math.sin(math.radians(a)), 0.012), iron, (0, 0, a))
    flame = materials.lamp((0.08, 0.25, 1.0), 6)
    for a in range(0, 360, 24):
        lathe([(0.004, 0), (0.003, 0.006), (0, 0.014)], flame, (0.052 * math.cos(math.radians(a)), 0.052 * math.sin(math.radians(a)), 0.003), steps=8)
    pan = materials.steel((0.62, 0.62, 0.61), rust=0.0, rough=0.2, oil=0.25, fine=4)
    with under((0, 0, 0.019)):
        lathe([(0, 0), (0.112, 0), (0.120, 0.006), (0.123, 0.10), (0.127, 0.103), (0.127, 0.105), (0.121, 0.105), (0.1175, 0.008), (0, 0.003)], pan, steps=80, angle=50)
        tube([(-0.121, -0.02, 0.085), (-0.17, -0.045, 0.098), (-0.34, -0.12, 0.106)], 0.011, materials.plastic((0.02, 0.018, 0.016), rough=0.4))
        water = materials.liquid((0.96, 0.98, 0.97), index=1.33)
        lathe([(0, 0.072), (0.05, 0.0725), (0.10, 0.0720), (0.1195, 0.0728)], water, steps=80, angle=80)
        brass, steel = materials.steel((0.60, 0.43, 0.18), rust=0.06, rough=0.26, fine=9), materials.steel((0.5, 0.5, 0.5), rust=0.1, fine=9)
        with under((-0.028, -0.012, 0.066), (9, -7, 20)):
            lathe([(0, 0.004), (0.016, 0.004), (0.018, 0.002), (0.027, 0.001), (0.027, 0.004), (0.020, 0.006), (0.0165, 0.009), (0, 0.009)], brass, steps=64, bevel=0.0005)
            lathe([(0.0, 0.018), (0.004, 0.017), (0.004, 0.009)], steel)
            for a in (0, 180):
                with under((0, 0, 0), (0, 0, a)):
                    tube([(0.017, 0, 0.004), (0.015, 0, 0.018), (0.005, 0, 0.024), (0, 0, 0.0245)], 0.002, brass)
            lathe([(0, -0.03), (0.010, -0.03), (0.011, -0.008), (0, -0.004)], brass)
        tube([(-0.028, -0.012, 0.09), (-0.03, 0.0, 0.13), (-0.07, 0.08, 0.125), (-0.10, 0.13, 0.05)], 0.0009, steel)
        for i in range(60):
            a, r = i * 2.4, 0.114 * ((i + 0.5) / 60) ** 0.5
            lathe([(0.0026 + 0.002 * (i % 3) / 2, 0), (0.0018, 0.0016), (0, 0.0021)], water, (r * math.cos(a), r * math.sin(a), 0.0724), steps=14, angle=80)
        with under((0.045, 0.03, 0.085), (16, 14, 0)):
            glass = materials.glass((0.95, 0.97, 0.97), dirt=0.02, fine=9)
            cylinder(0.0058, 0.23, (0, 0, 0.065), glass)
            box((0.0088, 0.0006, 0.19), (0, 0.001, 0.075), materials.plastic((0.75, 0.74, 0.70), dirt=0), bevel=0.0002)
            cylinder(0.0011, 0.164, (0, 0.0, 0.055), materials.lamp((0.5, 0.01, 0.005), 0.25))
            for k in range(12):
                z = -0.005 + 0.0142 * k
                box((0.006, 0.0004, 0.0006), (0.0, 0.0005, z), materials.plastic((0.02, 0.02, 0.02)), bevel=0)
    with under((0.20, 0.06, 0.063), (74, 0, -10)):
        parts.dial(0.055, (0, 120), 20, 100, small=4, words=(("°C", -0.36),), numbers=0.19, face=(0.78, 0.77, 0.73))
    tube([(0.19, 0.075, 0.05), (0.15, 0.10, 0.17), (0.09, 0.06, 0.165), (0.07, 0.03, 0.10)], 0.0022, materials.steel((0.62, 0.35, 0.2), rust=0, fine=9))
    eye = (-0.05, -0.52, 0.42)
    for i, (x, z, size) in enumerate(((-0.02, 0.17, 0.09), (0.03, 0.24, 0.13), (-0.03, 0.32, 0.17))):
        places.puff((x, 0.03, z), eye, size, (0.8, 0.8, 0.8), 0.30 - 0.05 * i, 4.1 * i)
    plain_sky((0.14, 0.13, 0.12), (0.2, 0.22, 0.25), 0.4)
    area((-0.9, -0.1, 0.7), (0, 0, 0.05), 17, 0.5, (0.92, 0.96, 1))
    area((0.5, -0.2, 1.0), (0, 0, 0.05), 9, 0.3, (1, 0.78, 0.52))
    camera(eye, (0.045, 0.03, 0.078), lens=42, stop=5.6, focus=(-0.02, -0.02, 0.09))
    return {"exposure": 0.3}
