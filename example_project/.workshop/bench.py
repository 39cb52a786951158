# The points of a shape, and the lines of a paper, are read as one row: they are not wrapped.
# fmt: off
"""Things on the bench, on the shelf and on the floor, from close by."""

from __future__ import annotations

import math

from cut_paper import Colour, Sheet, arc, curve, ring, rounded

BENCH = ("#a9835a", "#b08a60", "#a27b53", "#b79268")


def bench_top(sheet: Sheet) -> None:
    """Planks seen from above, with the marks of use."""
    h = sheet.size[1]
    for k in range(h // 170 + 1):
        y = k * 170 - 10
        sheet.lay(sheet.cut().box(-20, y, sheet.size[0] + 40, 164), sheet.chance.choice(BENCH), to="#95704a", lift=4)
    for _ in range(24):
        x, y = sheet.chance.uniform(0, sheet.size[0]), sheet.chance.uniform(0, h)
        length, lean = sheet.chance.uniform(30, 120), sheet.chance.uniform(-10, 10)
        sheet.lay(sheet.cut().line([(x, y), (x + length, y + lean)], 2), "#86633f", lift=0, edge=0)
    sheet.glow(200, 60, 1100, (255, 238, 205), 0.24)


def bolt(sheet: Sheet, x: float, y: float, r: float, colour: Colour = "#b8b4aa") -> None:
    """A hexagon head on its washer."""
    sheet.lay(sheet.cut().disc(x, y, r * 1.35), "#8f8c84", lift=3)
    sheet.lay(sheet.cut().poly(ring(x, y, r, 6, start=sheet.chance.uniform(0, 1))), colour, to="#8b877e", lift=4)


def tag(sheet: Sheet, x: float, y: float, text: str, *, size: float = 24) -> None:
    """A paper tag on a string."""
    w = len(text) * size * 0.92 + 64
    sheet.lay(sheet.cut().line(curve([(x - 46, y - 30), (x - 16, y + 4), (x + 12, y + 22)]), 3), "#7a5d40", lift=3)
    label = sheet.cut().poly([(x, y + 22), (x + 20, y), (x + w, y), (x + w, y + size + 22), (x + 20, y + size + 22)]).disc(x + 20, y + 22, 6, hole=True)
    sheet.lay(label, "#f1e4c4", to="#dfcda4", lift=6)
    sheet.write(text, x + 40, y + 11, size=size, pen=3)


def gauge(sheet: Sheet, x: float, y: float, r: float, share: float, *, ends: tuple[str, ...] = (), unit: str = "") -> None:
    """A round gauge, its needle at a share of the scale."""
    sheet.lay(sheet.cut().disc(x, y, r * 1.16), "#3d3b40", to="#26252a", lift=16)
    sheet.lay(sheet.cut().disc(x, y, r * 1.08), "#c9b178", to="#8d7340", lift=4)
    sheet.lay(sheet.cut().disc(x, y, r), "#f4ecd8", to="#e2d6b8", lift=0, edge=0.4)
    small, big = sheet.cut(), sheet.cut()
    for k in range(31):
        turn = math.radians(135 + 270 * k / 30)
        inner, cut = (0.78, big) if k % 5 == 0 else (0.85, small)
        cut.line([(x + inner * r * math.cos(turn), y + inner * r * math.sin(turn)), (x + 0.92 * r * math.cos(turn), y + 0.92 * r * math.sin(turn))], r * (0.025 if k % 5 == 0 else 0.012))
    sheet.lay(small, "#4a4640", lift=0, edge=0)
    sheet.lay(big, "#2d2a2e", lift=0, edge=0)
    for k, text in enumerate(ends):
        turn = math.radians(135 + 270 * k / (len(ends) - 1))
        wide = len(text) * r * 0.1
        sheet.write(text, x + 0.62 * r * math.cos(turn) - wide / 2, y + 0.62 * r * math.sin(turn) - r * 0.06, size=r * 0.12, pen=r * 0.016, wild=0.02)
    if unit:
        sheet.write(unit, x - len(unit) * r * 0.045, y + r * 0.42, size=r * 0.1, pen=r * 0.014, wild=0.02, colour="#7d4f2b")
    turn = math.radians(135 + 270 * share)
    tip, side = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    needle = [(x + side[0] * r * 0.04, y + side[1] * r * 0.04), (x + tip[0] * r * 0.84, y + tip[1] * r * 0.84), (x - side[0] * r * 0.04, y - side[1] * r * 0.04), (x - tip[0] * r * 0.2, y - tip[1] * r * 0.2)]
    sheet.lay(sheet.cut().poly(needle), "#b8392a", lift=6)
    sheet.lay(sheet.cut().disc(x, y, r * 0.09), "#3a363b", lift=5)
    sheet.beam([(x - r * 0.8, y - r * 0.5), (x - r * 0.1, y - r * 0.95), (x + r * 0.3, y - r * 0.9), (x - r * 0.9, y + r * 0.2)], (255, 255, 255), 0.14, 8)


def drums(sheet: Sheet, x: float, y: float, digits: str, size: float) -> None:
    """The number drums of a meter."""
    w = size * 0.74
    sheet.lay(sheet.cut().box(x - 8, y - 8, w * len(digits) + 16, size * 1.3 + 16, r=8), "#151418", lift=0, edge=0.3)
    for k, digit in enumerate(digits):
        sheet.lay(sheet.cut().box(x + k * w + 2, y, w - 4, size * 1.3, r=4), "#2c2b30", to="#1c1b20", lift=0)
        left = x + k * w + w * (0.3 if digit == "1" else 0.2)
        sheet.write(digit, left, y + size * 0.26, size=size * 0.78, colour="#f2ead6", pen=size * 0.095, wild=0.02)


def draw_compression() -> Sheet:
    """The gauge on cylinder 1, the others in chalk."""
    sheet = Sheet(21, "#47525a")
    sheet.lay(sheet.cut().box(-20, -20, 1640, 300), "#39434b", to="#2d353c", lift=8)
    sheet.lay(sheet.cut().poly([(-20, 640), (1620, 600), (1620, 1230), (-20, 1230)]), "#6f756f", to="#4d544f", lift=14)
    sheet.lay(sheet.cut().poly([(60, 700), (1540, 664), (1560, 890), (40, 930)]), "#8b4b38", to="#6a3528", lift=16)
    for k in range(4):
        x, y = 240 + k * 370, 800 - k * 9
        sheet.lay(sheet.cut().disc(x, y, 96, 88), "#6a3528", to="#532a20", lift=5)
        sheet.lay(sheet.cut().disc(x, y, 42, 38), "#2a2527", lift=0)
        bolt(sheet, x + 180, y - 64, 22), bolt(sheet, x + 180, y + 72, 22)
        sheet.write(f"{k + 1}", x - 104, y - 128, size=42, colour="#f1ead8", pen=5)
    sheet.lay(sheet.cut().line(curve([(240, 796), (232, 690), (290, 560), (420, 470), (560, 420)]), 40), "#2f2d31", to="#232126", lift=14)
    sheet.lay(sheet.cut().poly(ring(240, 794, 46, 6)), "#c4b27e", to="#8d7b4b", lift=8)
    gauge(sheet, 660, 330, 232, 20.4 / 30, ends=("0", "5", "10", "15", "20", "25", "30"), unit="BAR")
    sheet.lay(sheet.cut().poly([(1000, 130), (1496, 112), (1506, 532), (1010, 548)]), "#2f3a38", to="#242d2c", lift=14)
    for k, text in enumerate(("1  20.4", "2  22.8", "3  22.5", "4  21.1")):
        sheet.write(text, 1070, 166 + k * 92, size=56, colour="#eee7d6", pen=5.5, wild=0.16)
    sheet.glow(250, 80, 900, (255, 236, 200), 0.32)
    sheet.frame(0.5)
    return sheet


def draw_diaphragm() -> Sheet:
    """The cracked diaphragm on a rag."""
    sheet = Sheet(22, "#a9835a")
    bench_top(sheet)
    rag = [(230, 180), (620, 110), (980, 150), (1370, 120), (1420, 520), (1380, 960), (1010, 1060), (560, 1030), (210, 1070), (170, 620)]
    sheet.lay(sheet.cut().poly(curve(rag, closed=True)), "#c9cfd0", to="#a8b2b6", lift=14)
    for points in ([(300, 300), (560, 420), (700, 760)], [(1290, 260), (1160, 520), (1250, 900)], [(420, 980), (640, 900), (1050, 960)]):
        sheet.lay(sheet.cut().line(curve(points), 5), "#8f9ba0", lift=5, edge=0.1)
    for y in (0, 1):
        sheet.lay(sheet.cut().line(curve([(210, 240 + y * 760), (600, 168 + y * 830), (980, 206 + y * 800), (1390, 178 + y * 760)]), 12), "#b14a3b", lift=0, edge=0.1)
    x, y = 800, 590
    flange = sheet.cut().poly(curve([(px, py) for px, py in ring(x, y, 372, 48)], closed=True))
    for hx, hy in ring(x, y, 334, 8, start=0.4):
        flange.disc(hx, hy, 20, hole=True)
    sheet.lay(flange, "#4b4a46", to="#353431", lift=18)
    for r, tone in ((292, "#5b5a55"), (262, "#44433f"), (230, "#605f59"), (196, "#4a4945")):
        sheet.lay(sheet.cut().disc(x, y, r), tone, to="#3b3a37", lift=5)
    sheet.lay(sheet.cut().disc(x, y, 142), "#b9b3a4", to="#87816f", lift=9)
    sheet.lay(sheet.cut().disc(x, y, 116), "#c8c2b3", to="#9b9585", lift=3)
    sheet.lay(sheet.cut().disc(x, y, 40), "#7f7868", to="#5d5749", lift=9)
    bolt(sheet, x, y, 22, "#d0cabb")
    rim = arc(x, y, 277, 196, 318, steps=60)
    jagged = [(px + sheet.chance.uniform(-6, 6), py + sheet.chance.uniform(-6, 6)) for px, py in rim]
    sheet.lay(sheet.cut().line(jagged, 15), "#c3b9a1", lift=0, edge=0.1)
    sheet.lay(sheet.cut().line(jagged, 8), "#141213", lift=0, edge=0)
    for k in (8, 19, 33, 44, 53):
        px, py = jagged[k]
        out = 1 + sheet.chance.uniform(0.06, 0.12)
        sheet.lay(sheet.cut().line([(px, py), (x + (px - x) * out, y + (py - y) * out)], 4), "#141213", lift=0, edge=0)
    for k in range(6):
        bolt(sheet, 1460 + sheet.chance.uniform(-40, 40), 330 + k * 110, 24)
    sheet.lay(sheet.cut().line([(90, 1130), (180, 300)], 30), "#c2b9a4", to="#8f8671", lift=12)
    sheet.lay(sheet.cut().poly([(150, 320), (160, 190), (200, 150), (214, 330)]), "#c2b9a4", lift=10)
    sheet.lay(sheet.cut().box(62, 960, 72, 230, r=26), "#b5432f", to="#7d2b20", lift=12)
    tag(sheet, 1120, 1090, "LIFT PUMP 2207", size=28)
    sheet.frame(0.42)
    return sheet


def wheel_cylinder(sheet: Sheet, x: float, y: float, s: float, colour: Colour, to: Colour) -> None:
    """A twin-piston wheel cylinder from the front, its bore to the viewer's right."""
    sheet.lay(sheet.cut().poly(curve([(x - 250 * s, y + 40 * s), (x - 150 * s, y + 130 * s), (x + 150 * s, y + 130 * s), (x + 250 * s, y + 40 * s), (x + 150 * s, y - 50 * s), (x - 150 * s, y - 50 * s)], closed=True)), "#8d8f8a", to="#686b67", lift=12)
    bolt(sheet, x - 170 * s, y + 60 * s, 22), bolt(sheet, x + 170 * s, y + 60 * s, 22)
    sheet.lay(sheet.cut().box(x - 230 * s, y - 110 * s, 460 * s, 190 * s, r=26 * s), colour, to=to, lift=14)
    for side in (-1, 1):
        left = x + side * 250 * s - 42 * s
        sheet.lay(sheet.cut().box(left, y - 96 * s, 84 * s, 162 * s, r=34 * s), "#2c2a2d", to="#1d1c1f", lift=7)
        for k in (0, 1):
            sheet.lay(sheet.cut().box(left + 12 * s + k * 34 * s, y - 96 * s, 12 * s, 162 * s, r=6), "#403d41", lift=1)
        sheet.lay(sheet.cut().box(x + side * 318 * s - 36 * s, y - 36 * s, 72 * s, 42 * s, r=8), "#d3cdbf", to="#99937f", lift=6)
    sheet.lay(sheet.cut().box(x - 20 * s, y - 176 * s, 40 * s, 70 * s, r=8), "#c9b178", to="#8d7340", lift=6)
    sheet.lay(sheet.cut().box(x - 190 * s, y - 80 * s, 380 * s, 16 * s, r=8), "#ffffff", lift=0, edge=0, clear=0.25)


def draw_cylinders() -> Sheet:
    """The wrong one and the right one."""
    sheet = Sheet(23, "#a9835a")
    bench_top(sheet)
    sheet.lay(sheet.cut().poly([(96, 120), (1510, 84), (1524, 1080), (110, 1110)]), "#e9e2cf", to="#d8ceb4", lift=12)
    for k in range(27):
        sheet.lay(sheet.cut().line([(130 + k * 51, 1050), (130 + k * 51, 1020 if k % 5 else 1000)], 3), "#8d836c", lift=0, edge=0)
    wheel_cylinder(sheet, 440, 400, 0.86, "#b9713f", "#8a4c27")
    wheel_cylinder(sheet, 1130, 396, 1.02, "#6f8d96", "#47646e")
    for x, r, tone, text in ((440, 96, "#b9713f", "1 IN"), (1130, 116, "#6f8d96", "1 1/8 IN")):
        sheet.lay(sheet.cut().disc(x, 790, r * 1.42), tone, to="#5b5a55", lift=12)
        sheet.lay(sheet.cut().disc(x, 790, r), "#17161a", lift=0, edge=0.4)
        sheet.lay(sheet.cut().disc(x, 790, r * 0.9).disc(x, 790, r * 0.84, hole=True), "#3c3a3f", lift=0, edge=0)
        dims = sheet.cut().line([(x - r, 960), (x + r, 960)], 4).line([(x - r, 940), (x - r, 980)], 4).line([(x + r, 940), (x + r, 980)], 4)
        sheet.lay(dims, "#a5382b", lift=0, edge=0)
        sheet.write(text, x - len(text) * 15 + 8, 976, size=32, colour="#a5382b", pen=4)
    cross = sheet.cut().line([(700, 640), (780, 720)], 15).line([(780, 640), (700, 720)], 15)
    sheet.lay(cross, "#b23a2e", lift=4)
    sheet.lay(sheet.cut().line([(1404, 690), (1432, 722), (1488, 634)], 15), "#5d8a4a", lift=4)
    sheet.frame(0.36)
    return sheet


def draw_floor_map() -> Sheet:
    """The floor from above: five holes, numbered in chalk, grass below."""
    sheet = Sheet(24, "#5b7a3a")
    for _ in range(260):
        x, y = sheet.chance.uniform(150, 1450), sheet.chance.uniform(150, 1100)
        sheet.lay(sheet.cut().poly([(x - 5, y), (x + sheet.chance.uniform(-26, 26), y - sheet.chance.uniform(30, 70)), (x + 5, y)]), sheet.chance.choice(["#7fa04a", "#4d6c30", "#94b25c"]), lift=3)
    plate = sheet.cut().box(60, 60, 1480, 1080, r=40)
    field_places = ((400, 420, 170, 130), (250, 640, 84, 50), (1190, 380, 112, 96), (688, 690, 66, 40), (820, 980, 52, 52))
    edges = []
    for x, y, rx, ry in field_places:
        edges.append([(px + sheet.chance.uniform(-24, 24), py + sheet.chance.uniform(-20, 20)) for px, py in ring(x, y, rx, 16, ry=ry)])
    for edge in edges:
        plate.poly(curve(edge, closed=True, steps=4), hole=True)
    sheet.lay(plate, "#a9a79d", to="#8c897f", lift=22)
    for (x, y, rx, ry), edge in zip(field_places, edges, strict=True):
        halo = sheet.cut().poly(curve([(x + (px - x) * 1.34 + 4, y + (py - y) * 1.34) for px, py in edge], closed=True)).poly(curve(edge, closed=True, steps=4), hole=True)
        sheet.lay(halo, "#9a5a34", to="#7d4124", lift=0, edge=0.1, clear=0.9)
        rim = sheet.cut().poly(curve([(x + (px - x) * 1.1, y + (py - y) * 1.1) for px, py in edge], closed=True)).poly(curve(edge, closed=True, steps=4), hole=True)
        sheet.lay(rim, "#5e2f1b", lift=0, edge=0.1)
        chalk = [(x + (px - x) * 1.6, y + (py - y) * 1.6) for px, py in ring(x, y, rx, 16, ry=ry)]
        sheet.lay(sheet.cut().line(curve([*chalk, chalk[0]]), 5), "#f3eddd", lift=0, edge=0, clear=0.85)
    sheet.lay(sheet.cut().poly([(700, 60), (900, 60), (930, 600), (880, 640), (740, 640), (690, 600)]), "#999789", to="#7b786c", lift=14)
    sheet.lay(sheet.cut().disc(810, 330, 66, 80).disc(810, 330, 40, 52, hole=True), "#2e2c2f", lift=8)
    for x, y in ((120, 800), (380, 806), (1180, 800), (1460, 806), (120, 1080), (1460, 1080)):
        bolt(sheet, x, y, 20)
    for k, (x, y) in enumerate(((600, 236), (120, 520), (1350, 230), (560, 756), (930, 1010))):
        sheet.write(f"{k + 1}", x, y, size=76, colour="#f6f0e0", pen=9, wild=0.2)
    ribs = sheet.cut()
    for x in (180, 300, 1240, 1360):
        ribs.line([(x, 850), (x, 1080)], 12)
    sheet.lay(ribs, "#98958a", lift=4)
    sheet.beam([(-100, 200), (300, -100), (900, -100), (-100, 900)], (255, 240, 205), 0.2, 60)
    sheet.frame(0.5)
    return sheet


def draw_floor_patch() -> Sheet:
    """The patch in place: plug welds, sealer, primer."""
    sheet = Sheet(25, "#8f8c82")
    sheet.lay(sheet.cut().poly([(-20, -20), (1620, -20), (1620, 250), (-20, 330)]), "#55663f", to="#47563a", lift=16)
    sheet.lay(sheet.cut().poly([(1330, -20), (1620, -20), (1620, 1230), (1400, 1230)]), "#7b786c", to="#5f5d54", lift=20)
    patch = [(322, 454), (1088, 410), (1142, 908), (346, 966)]
    sheet.lay(rounded(sheet.cut(), patch, 92), "#b8b2a2", to="#a49d8b", lift=3)
    sheet.lay(rounded(sheet.cut(), patch, 60), "#e5decb", to="#cfc7b0", lift=5)
    sheet.lay(rounded(sheet.cut(), patch, 46), "#b06a4e", to="#97533a", lift=5)
    for _ in range(14):
        x, y = sheet.chance.uniform(330, 1050), sheet.chance.uniform(430, 940)
        sheet.lay(sheet.cut().line([(x, y), (x + sheet.chance.uniform(60, 160), y - sheet.chance.uniform(0, 14))], 22), "#bb7557", lift=0, edge=0, clear=0.35)
    for (x1, y1), (x2, y2) in zip(patch, [*patch[1:], patch[0]], strict=True):
        count = round(math.hypot(x2 - x1, y2 - y1) / 85)
        for k in range(count):
            x, y = x1 + (x2 - x1) * k / count, y1 + (y2 - y1) * k / count
            out = 1.02
            plug(sheet, 730 + (x - 730) * out, 686 + (y - 686) * out)
    for x in (560, 760, 960):
        sheet.lay(sheet.cut().line([(x, 452 - (x - 560) * 0.04), (x + 34, 930 - (x - 560) * 0.05)], 30), "#a45f44", lift=6)
    sheet.lay(sheet.cut().poly([(1080, 1070), (1510, 900), (1540, 960), (1106, 1140)]), "#c9c4b8", to="#97928a", lift=16)
    sheet.lay(sheet.cut().disc(1530, 926, 84).poly([(1530, 926), (1640, 850), (1640, 960)], hole=True), "#c9c4b8", to="#97928a", lift=12)
    sheet.lay(sheet.cut().disc(1090, 1106, 66).disc(1090, 1106, 32, hole=True), "#c9c4b8", to="#97928a", lift=14)
    sheet.beam([(-100, 500), (400, 200), (1100, 200), (-100, 1100)], (255, 240, 205), 0.2, 70)
    sheet.frame(0.5)
    return sheet


def plug(sheet: Sheet, x: float, y: float) -> None:
    """One plug weld, ground flat."""
    sheet.lay(sheet.cut().disc(x, y, 20), "#8a4a35", lift=0, edge=0, clear=0.6)
    sheet.lay(sheet.cut().disc(x, y, 14), "#7d7a74", lift=3)
    sheet.lay(sheet.cut().disc(x, y, 10).disc(x, y, 4, hole=True), "#c7c2b6", lift=1)


def draw_lift_pump_fitted() -> Sheet:
    """The pump in its place, fuel at the bleed screw."""
    sheet = Sheet(33, "#3b4247")
    sheet.lay(sheet.cut().poly([(-20, -20), (1620, -20), (1620, 180), (-20, 230)]), "#64764c", to="#4d5c3a", lift=16)
    sheet.lay(sheet.cut().box(-40, 330, 1100, 930, r=30), "#72776f", to="#4e534d", lift=20)
    sheet.lay(sheet.cut().box(-40, 330, 1100, 96, r=20), "#80857c", to="#666b63", lift=8)
    for x in (80, 260, 860, 1000):
        bolt(sheet, x, 378, 26)
    ribs = sheet.cut()
    for x in (70, 170, 960):
        ribs.line([(x, 500), (x, 1130)], 34)
    sheet.lay(ribs, "#7c8178", to="#5a5f58", lift=8)
    feed = curve([(-30, 1010), (120, 1010), (230, 900), (300, 760), (392, 742)])
    sheet.lay(sheet.cut().line(feed, 50), "#29272b", to="#1d1c1f", lift=13)
    out = curve([(740, 742), (860, 720), (960, 600), (1060, 420), (1180, 392)])
    sheet.lay(sheet.cut().line(out, 50), "#29272b", to="#1d1c1f", lift=13)
    for x, y in ((330, 752), (800, 738), (1130, 402)):
        sheet.lay(sheet.cut().box(x - 17, y - 38, 34, 76, r=8), "#b9b5ab", to="#85817a", lift=7)
    sheet.lay(sheet.cut().box(380, 940, 380, 96, r=18), "#5f645d", to="#4a4f49", lift=10)
    for x in (424, 716):
        bolt(sheet, x, 988, 30)
    sheet.lay(sheet.cut().poly([(450, 950), (470, 850), (670, 850), (690, 950)]), "#c2bdb0", to="#97917f", lift=11)
    sheet.lay(sheet.cut().disc(570, 800, 196, 74), "#b5b0a2", to="#8b8575", lift=12)
    for x, y in ring(570, 800, 172, 8, start=0.3, ry=54):
        bolt(sheet, x, y, 15, "#d9c48a")
    sheet.lay(sheet.cut().poly([(420, 790), (440, 680), (480, 640), (660, 640), (700, 680), (720, 790)]), "#cfcabc", to="#a39d8c", lift=10)
    sheet.lay(sheet.cut().disc(570, 640, 110, 40), "#dcd7ca", to="#b7b1a1", lift=6)
    bolt(sheet, 570, 636, 24, "#c9b178")
    sheet.write("2207-B", 494, 722, size=30, colour="#6d6757", pen=4, wild=0.03)
    for x in (404, 728):
        sheet.lay(sheet.cut().box(x - 32, 704, 64, 76, r=12), "#c9b178", to="#8d7340", lift=8)
    sheet.lay(sheet.cut().line([(640, 900), (800, 1010), (872, 1120)], 30), "#a8552f", to="#7d3c20", lift=12)
    sheet.lay(sheet.cut().disc(874, 1124, 34), "#2a292c", lift=9)
    sheet.lay(sheet.cut().box(1180, 300, 300, 150, r=24), "#9b9890", to="#6c6962", lift=14)
    sheet.lay(sheet.cut().box(1216, 440, 228, 360, r=40), "#b5432f", to="#7d2b20", lift=14)
    for y in (520, 560, 700):
        sheet.lay(sheet.cut().line([(1216, y), (1444, y)], 7), "#8d3324", lift=1)
    sheet.write("F 118", 1270, 610, size=42, colour="#f4e6cf", pen=6, wild=0.03)
    sheet.lay(sheet.cut().box(1296, 244, 66, 64, r=10), "#c9b178", to="#8d7340", lift=8)
    sheet.lay(sheet.cut().line([(1460, 372), (1488, 372)], 26), "#c9b178", lift=6)
    stream = curve([(1490, 376), (1510, 420), (1514, 620), (1508, 1000)])
    sheet.lay(sheet.cut().line(stream, 15), "#e9b142", to="#d99a34", lift=5)
    sheet.lay(sheet.cut().box(1390, 880, 190, 270, r=26), "#dfe9e4", to="#b9c8c2", lift=14, clear=0.6)
    sheet.lay(sheet.cut().box(1404, 990, 162, 146, r=18), "#e9b142", to="#c98a2a", lift=0, edge=0.4)
    sheet.lay(sheet.cut().line([(1414, 904), (1414, 1120)], 9), "#ffffff", lift=0, edge=0, clear=0.5)
    tag(sheet, 110, 560, "NEW", size=34)
    sheet.glow(300, 260, 900, (255, 238, 205), 0.34)
    sheet.frame(0.5)
    return sheet


def draw_fuse_box() -> Sheet:
    """Ten fuses, each wire with its tag."""
    sheet = Sheet(26, "#5d6b4a")
    sheet.lay(sheet.cut().poly([(-20, -20), (1620, -20), (1620, 130), (-20, 100)]), "#4a563b", to="#3f4a33", lift=10)
    colours = ("#c0432f", "#e0b33e", "#3f6fa0", "#2f2d31", "#7c9a4a", "#d98a3a", "#8a5aa0", "#d8d2c2", "#8a5632", "#4a9a94")
    for k, colour in enumerate(colours):
        x = 330 + k * 104
        bend = [(x, 700), (x + sheet.chance.uniform(-10, 10), 860), (x + (k - 4.5) * 26, 980), (560 + k * 52, 1240)]
        sheet.lay(sheet.cut().line(curve(bend), 25), colour, lift=9)
        start = [(x, 330), (x + sheet.chance.uniform(-8, 8), 220), (x + (4.5 - k) * 30, 100), (620 + k * 36, -30)]
        sheet.lay(sheet.cut().line(curve(start), 25), "#b5402f" if k < 5 else colour, lift=9)
    sheet.lay(sheet.cut().box(230, 310, 1140, 420, r=34), "#3a3940", to="#28272d", lift=20)
    sheet.lay(sheet.cut().box(262, 340, 1076, 360, r=22), "#48474f", to="#34333a", lift=0)
    blades = {"5": "#c98a4e", "10": "#c0432f", "15": "#4d86b8", "20": "#e2be48", "30": "#6aa05a"}
    for k, amps in enumerate(("10", "10", "15", "15", "20", "5", "10", "30", "20", "5")):
        x = 330 + k * 104
        sheet.lay(sheet.cut().box(x - 40, 390, 80, 260, r=10), "#26252a", lift=0, edge=0.2)
        sheet.lay(sheet.cut().box(x - 32, 440, 64, 150, r=12), blades[amps], lift=10)
        sheet.lay(sheet.cut().line(arc(x, 514, 20, 180, 360), 5), "#fff6dd", lift=0, edge=0, clear=0.7)
        sheet.write(amps, x - (9 if len(amps) == 1 else 22), 544, size=28, colour="#fdf6e2", pen=4, wild=0.04)
    for k in range(10):
        x, y = 330 + k * 104 + (k - 4.5) * 15, 850 + (k % 2) * 70
        sheet.lay(sheet.cut().box(x - 34, y - 25, 68, 50, r=6), "#f1e4c4", to="#dfcda4", lift=6)
        sheet.write("ABCDEFGHJK"[k], x - 11, y - 16, size=32, pen=3.6)
    for x, y in ((176, 380), (1424, 380), (176, 660), (1424, 660)):
        bolt(sheet, x, y, 24)
    for k in range(3):
        x = 120 + k * 0
        sheet.lay(sheet.cut().box(x - 76, 800 + k * 124, 150, 104, r=12), "#c8c4ba", to="#8f8b82", lift=10)
        sheet.write("RELAY", x - 56, 838 + k * 124, size=24, pen=3, wild=0.05)
    sheet.glow(300, 120, 950, (255, 240, 205), 0.3)
    sheet.frame(0.45)
    return sheet


def bush(sheet: Sheet, x: float, y: float, r: float, begin: float, end: float, *, colour: Colour, to: Colour) -> None:
    """A part of a collared ring, seen from above; all round where it runs from 0 to 360."""
    for radius, tone, into, lift in ((r, colour, to, 20), (r * 0.82, to, colour, 4)):
        outer, inner = arc(x, y, radius, begin, end), arc(x, y, r * 0.56, end, begin)
        sheet.lay(sheet.cut().poly([*outer, *inner]), tone, to=into, lift=lift)
    sheet.lay(sheet.cut().line(arc(x, y, r * 0.91, begin + 4, end - 4), r * 0.03), "#fff7e6", lift=0, edge=0, clear=0.4)
    sheet.lay(sheet.cut().line(arc(x, y, r * 0.6, begin + 2, end - 2), r * 0.05), "#3a2c1c", lift=0, edge=0, clear=0.35)


def draw_bushes() -> Sheet:
    """The nylon bush in its three pieces, and the bronze one below it. Tall."""
    sheet = Sheet(27, "#a9835a", (1200, 1600))
    bench_top(sheet)
    rag = curve([(-60, 120), (420, 60), (900, 150), (1260, 90), (1240, 690), (820, 760), (360, 700), (-60, 770)], closed=True)
    sheet.lay(sheet.cut().poly(rag), "#8fa3a8", to="#6f858c", lift=16)
    for k in range(5):
        fold = curve([(60 + k * 240, 110), (110 + k * 230, 330), (40 + k * 250, 700)])
        sheet.lay(sheet.cut().line(fold, 5), "#5f747b", lift=0, edge=0, clear=0.5)
    for dx, dy, begin, end in ((-34, -22, 150, 262), (38, -8, 276, 372), (2, 44, 24, 138)):
        bush(sheet, 560 + dx, 420 + dy, 250, begin, end, colour="#ece6d6", to="#cfc6b0")
    for _ in range(34):
        x, y = sheet.chance.uniform(250, 900), sheet.chance.uniform(220, 680)
        crumb = [(x + sheet.chance.uniform(-13, 13), y + sheet.chance.uniform(-13, 13)) for _ in range(4)]
        sheet.lay(sheet.cut().poly(crumb), sheet.chance.choice(["#efe9da", "#d8cfba", "#3a3128"]), lift=3)
    for x, y, rx in ((520, 470, 120), (660, 360, 80)):
        sheet.dim(sheet.cut().disc(x, y, rx, rx * 0.6), 0.3, 24)
    bush(sheet, 640, 1140, 270, 0, 360, colour="#d9a13f", to="#96661f")
    for px, py in ring(640, 1140, 186, 4, start=0.6):
        sheet.lay(sheet.cut().disc(px, py, 17), "#4d3312", lift=0, edge=0.5)
    sheet.beam([(430, 960), (560, 880), (900, 1290), (820, 1370)], (255, 244, 214), 0.3, 16)
    tag(sheet, 60, 690, "2 WEEKS", size=40), tag(sheet, 110, 1400, "BRONZE 30.0", size=40)
    bolt(sheet, 1050, 930, 34), bolt(sheet, 1110, 1060, 34), bolt(sheet, 1030, 1180, 34)
    sheet.frame(0.46)
    return sheet


def draw_two_meters() -> Sheet:
    """Both heads on the bench."""
    sheet = Sheet(28, "#a9835a")
    bench_top(sheet)
    for x, y, digits, text, share in ((420, 520, "087416", "OUT", 0.0), (1170, 560, "041260", "IN", 0.0)):
        gauge(sheet, x, y, 300, share, ends=(" ", "10", "20", "30", "40", "50", "60", " "))
        drums(sheet, x - 138, y + 82, digits, 62)
        tag(sheet, x - 60, y + 410, text, size=40)
    for x, y, turn in ((150, 1060, 0.2), (830, 150, 0.9), (770, 1010, 0.5)):
        bolt(sheet, x, y, 26 + turn * 6)
    sheet.lay(sheet.cut().line(curve([(790, 1250), (820, 1060), (740, 880), (800, 700), (780, 420), (840, 300)]), 22), "#3b393d", lift=10)
    sheet.lay(sheet.cut().box(816, 230, 48, 84, r=10), "#c9b178", to="#8d7340", lift=8)
    crack = [(250, 350), (330, 420), (350, 500), (400, 520)]
    sheet.lay(sheet.cut().line(crack, 3), "#8a8272", lift=0, edge=0.3)
    sheet.frame(0.42)
    return sheet


def draw_dashboard() -> Sheet:
    """The dashboard in evening light."""
    sheet = Sheet(29, "#e8b878")
    sheet.lay(sheet.cut().box(-20, -20, 1640, 330), "#e9c48c", to="#f1d8a4", lift=0)
    sheet.lay(sheet.cut().disc(1080, 250, 70), "#fff0c0", lift=0)
    for tops, tone in (([(-50, 320), (300, 240), (800, 330), (1200, 260), (1700, 310)], "#b98a6a"), ([(-50, 380), (400, 330), (900, 390), (1700, 340)], "#8c6a58")):
        sheet.lay(sheet.cut().poly([*curve(tops), (1700, 700), (-50, 700)]), tone, to="#6f5850", lift=6)
    sheet.lay(sheet.cut().poly([*curve([(-60, 560), (260, 452), (800, 420), (1340, 452), (1700, 560), (1700, 760), (-60, 760)]), (1700, 900), (-60, 900)]), "#64764c", to="#4d5c3a", lift=10)
    sheet.glow(1080, 250, 520, (255, 214, 140), 0.7)
    for x in (-30, 790, 1566):
        sheet.lay(sheet.cut().poly([(x, -20), (x + 58, -20), (x + 64, 520), (x - 4, 520)]), "#4d4037", to="#3a302b", lift=12)
    sheet.lay(sheet.cut().line([(860, 470), (1180, 250)], 12).line([(200, 480), (520, 270)], 12), "#2a272a", lift=6)
    sheet.lay(sheet.cut().poly([*curve([(-60, 560), (400, 500), (800, 488), (1200, 500), (1700, 560)]), (1700, 1300), (-60, 1300)]), "#55493f", to="#352d2a", lift=16)
    sheet.lay(sheet.cut().box(150, 600, 1300, 500, r=60), "#d8c9a2", to="#b5a47c", lift=14)
    gauge(sheet, 560, 836, 190, 0.0, ends=(" ", "20", "40", "60", " "))
    drums(sheet, 476, 876, "041260", 38)
    for x, y, share, unit in ((900, 750, 0.02, "TEMP"), (900, 966, 0.02, "OIL"), (1130, 750, 0.02, "VOLT"), (1130, 966, 0.02, "FUEL")):
        gauge(sheet, x, y, 84, share, unit=unit)
    for k, tone in enumerate(("#c0432f", "#e0b33e", "#6aa05a", "#4d86b8")):
        sheet.lay(sheet.cut().disc(1330, 700 + k * 92, 30), "#4a4640", lift=5)
        sheet.lay(sheet.cut().disc(1330, 700 + k * 92, 22), tone, lift=0)
        sheet.lay(sheet.cut().disc(1323, 693 + k * 92, 6), "#fff6e0", lift=0, edge=0)
    wheel = sheet.cut().disc(280, 1330, 400).disc(280, 1330, 346, hole=True)
    sheet.lay(wheel, "#2f2c2e", to="#1f1d1f", lift=22)
    sheet.lay(sheet.cut().line([(280, 1330), (30, 1090)], 40).line([(280, 1330), (530, 1090)], 40), "#39363a", lift=14)
    sheet.lay(sheet.cut().disc(280, 1330, 150), "#e0d3b0", to="#b5a67f", lift=12)
    sheet.beam([(900, 480), (1260, 480), (900, 1250), (300, 1250)], (255, 205, 130), 0.22, 50)
    sheet.frame(0.5)
    return sheet


def tyre_front(sheet: Sheet, x: float, y: float, r: float, *, rim: bool = True) -> None:
    """A tyre from the side, with its rim."""
    cut = sheet.cut().disc(x, y, r)
    for px, py in ring(x, y, r, 40):
        cut.disc(px, py, r * 0.045)
    if not rim:
        cut.disc(x, y, r * 0.56, hole=True)
    sheet.lay(cut, "#3a383d", to="#242328", lift=20)
    for k in (0.9, 0.8, 0.7):
        sheet.lay(sheet.cut().disc(x, y, r * k).disc(x, y, r * k - 5, hole=True), "#4b494e", lift=2)
    if rim:
        sheet.lay(sheet.cut().disc(x, y, r * 0.6), "#e8dcbd", to="#bdaf8b", lift=7)
        sheet.lay(sheet.cut().disc(x, y, r * 0.46), "#ddd0ae", to="#cabb96", lift=4)
        holes = sheet.cut()
        for px, py in ring(x, y, r * 0.36, 8):
            holes.disc(px, py, r * 0.055)
        sheet.lay(holes, "#3d3934", lift=0, edge=0.3)
        sheet.lay(sheet.cut().disc(x, y, r * 0.2), "#8d8a80", to="#65625a", lift=6)
        for px, py in ring(x, y, r * 0.13, 5):
            bolt(sheet, px, py, r * 0.028)


def draw_tyres() -> Sheet:
    """A wheel on the barn door, a stack behind. Tall."""
    sheet = Sheet(30, "#8a5a42", (1200, 1600))
    for k in range(9):
        x = k * 140 - 30
        sheet.lay(sheet.cut().box(x, -20, 133, 1300), sheet.chance.choice(["#9a5f46", "#a4674c", "#8f573f", "#96604a"]), to="#7a4735", lift=4)
    for y in (150, 900):
        sheet.lay(sheet.cut().box(-20, y, 1240, 92), "#a86c50", to="#875140", lift=10)
    sheet.lay(sheet.cut().line([(40, 880), (1160, 262)], 84), "#a2674c", lift=9)
    for x, y in ((80, 196), (1120, 196), (80, 946), (1120, 946)):
        bolt(sheet, x, y, 20, "#5b5450")
    sheet.lay(sheet.cut().poly([(-20, 1250), (1220, 1230), (1220, 1630), (-20, 1630)]), "#9c8a68", to="#6d5f48", lift=10)
    for k in range(4):
        y = 1290 - k * 148
        band = sheet.cut().box(600, y - 74, 540, 142, r=62)
        sheet.lay(band, "#3a383d", to="#232227", lift=14)
        tread = sheet.cut()
        for i in range(13):
            tread.line([(640 + i * 38, y - 60), (654 + i * 38, y), (640 + i * 38, y + 56)], 10)
        sheet.lay(tread, "#4d4b51", lift=2)
    sheet.dim(sheet.cut().disc(410, 1500, 390, 44), 0.6, 20)
    tyre_front(sheet, 400, 1090, 396)
    for x, y in ((150, 1540), (900, 1500), (1010, 1470), (640, 1560), (300, 1570)):
        sheet.lay(sheet.cut().poly([(x - 5, y), (x - 20, y - 46), (x + 2, y - 12), (x + 16, y - 52), (x + 8, y)]), "#7f9a4a", lift=4)
    sheet.beam([(-100, 200), (300, -100), (900, -100), (-100, 1300)], (255, 226, 170), 0.26, 80)
    sheet.frame(0.5)
    return sheet


def draw_shelf() -> Sheet:
    """The shelf: originals and spares, each with its tag."""
    sheet = Sheet(31, "#6f6252")
    for k in range(12):
        sheet.lay(sheet.cut().box(k * 136 - 10, -20, 130, 1240), sheet.chance.choice(["#786a58", "#736553", "#7d6e5b"]), to="#5f5344", lift=3)
    for y in (400, 780, 1140):
        sheet.lay(sheet.cut().box(-20, y, 1640, 54), "#a9835a", to="#86633f", lift=16)
    for x in (110, 400):
        sheet.lay(sheet.cut().disc(x + 60, 300, 108), "#5f5b55", to="#45423e", lift=12)
        sheet.lay(sheet.cut().disc(x + 60, 300, 90), "#cdb98a", to="#a08a58", lift=0)
        sheet.lay(sheet.cut().line(arc(x + 60, 300, 60, 200, 290), 6), "#f1e4c4", lift=0, edge=0)
    gauge(sheet, 780, 272, 104, 0, ends=())
    drums(sheet, 735, 292, "087416", 20)
    sheet.lay(sheet.cut().box(1010, 250, 220, 150, r=30).box(1080, 190, 90, 80, r=12), "#8b8a84", to="#5d5c58", lift=14)
    sheet.lay(sheet.cut().line([(1230, 330), (1330, 330)], 30), "#c2bdb0", lift=8)
    odd_rubbers(sheet, 260, 650)
    sheet.lay(sheet.cut().box(520, 590, 330, 190, r=8), "#c4975e", to="#a1763f", lift=14)
    sheet.lay(sheet.cut().box(520, 590, 330, 48, r=8), "#d3a76d", lift=4)
    sheet.lay(sheet.cut().box(660, 590, 44, 190), "#e6d3a4", lift=2)
    for k in range(3):
        sheet.lay(sheet.cut().disc(990, 750 - k * 44, 90, 24), "#b87333", to="#8d5423", lift=7)
        sheet.lay(sheet.cut().disc(990, 744 - k * 44, 66, 14), "#6f6252", lift=0)
    for k, tone in enumerate(("#4d6f78", "#a8552f", "#72845a")):
        x = 1190 + k * 130
        sheet.lay(sheet.cut().box(x, 610, 106, 170, r=12), tone, to="#3f4a44", lift=10)
        sheet.lay(sheet.cut().box(x - 4, 596, 114, 36, r=8), "#c9c4b8", to="#97928a", lift=5)
        sheet.lay(sheet.cut().box(x + 12, 672, 82, 60, r=4), "#f1e4c4", lift=3)
    for k in range(5):
        sheet.lay(sheet.cut().box(90 + k * 62, 1000 - (k % 3) * 16, 54, 140 + (k % 3) * 16, r=6), ("#b5432f", "#4d6f78", "#d6a748", "#72845a", "#8a5a42")[k], lift=9)
    tyre_like = sheet.cut().disc(620, 1030, 112).disc(620, 1030, 64, hole=True)
    sheet.lay(tyre_like, "#2f2d31", to="#1f1e22", lift=12)
    for k in range(3):
        sheet.lay(sheet.cut().box(860, 1050 - k * 92, 270, 84, r=10), ("#d8cba8", "#c8b98f", "#e0d4b4")[k], to="#b5a47c", lift=10)
        sheet.write(("L 204", "F 118", "CN-316")[k], 900, 1074 - k * 92, size=36, pen=4)
    sheet.lay(sheet.cut().poly([(1270, 1140), (1300, 930), (1470, 930), (1500, 1140)]), "#8b8a84", to="#5d5c58", lift=12)
    sheet.lay(sheet.cut().line(arc(1385, 930, 70, 180, 360), 12), "#5d5c58", lift=6)
    for x, y, text in ((130, 420, "LAMPS"), (720, 420, "OLD HEAD"), (1080, 420, "CLUTCH"), (180, 800, "RUBBERS"), (930, 800, "PIPE 4 M")):
        tag(sheet, x, y, text, size=26)
    sheet.beam([(-100, 100), (500, -200), (1200, -200), (-100, 1000)], (255, 232, 185), 0.24, 90)
    sheet.frame(0.55)
    return sheet


def odd_rubbers(sheet: Sheet, x: float, y: float) -> None:
    """An open wooden box with grommets and stops looking over its edge."""
    for k, (dx, r) in enumerate(((-100, 44), (-40, 60), (34, 50), (104, 40))):
        ring_of = sheet.cut().disc(x + dx, y - 34, r).disc(x + dx, y - 34, r * 0.45, hole=True)
        sheet.lay(ring_of, ("#2f2d31", "#3f3b3d", "#28272b", "#46413f")[k], to="#1c1b1e", lift=8)
    sheet.lay(sheet.cut().box(x - 160, y - 30, 320, 160, r=6), "#b98c58", to="#8f6636", lift=14)
    for k in range(2):
        sheet.lay(sheet.cut().line([(x - 156, y + 22 + k * 52), (x + 156, y + 22 + k * 52)], 4), "#7a5629", lift=0, edge=0)
    for px in (x - 144, x + 144):
        bolt(sheet, px, y - 8, 7), bolt(sheet, px, y + 108, 7)


def draw_solenoid() -> Sheet:
    """The stop solenoid and the meter."""
    sheet = Sheet(32, "#a9835a")
    bench_top(sheet)
    sheet.lay(sheet.cut().box(130, 150, 560, 880, r=64), "#d6a23c", to="#a8741f", lift=22)
    sheet.lay(sheet.cut().box(170, 190, 480, 800, r=40), "#3b3a40", to="#2b2a2f", lift=4)
    sheet.lay(sheet.cut().box(214, 236, 392, 210, r=18), "#c3cfae", to="#aebb98", lift=0, edge=0.4)
    sheet.write("11.9", 240, 282, size=116, pen=13, wild=0.02, colour="#26302a")
    sheet.write("Ω", 526, 300, size=64, pen=7, wild=0.02, colour="#26302a")
    sheet.lay(sheet.cut().disc(410, 680, 156), "#232227", to="#19181c", lift=8)
    ticks = sheet.cut()
    for px, py in ring(410, 680, 186, 20):
        ticks.disc(px, py, 6)
    sheet.lay(ticks, "#e8dcbd", lift=0, edge=0)
    sheet.lay(sheet.cut().poly([(388, 700), (470, 560), (496, 576), (430, 722)]), "#e8dcbd", to="#c6b890", lift=9)
    for x, tone in ((310, "#26252a"), (510, "#b8392a")):
        sheet.lay(sheet.cut().disc(x, 920, 34), "#17161a", lift=0, edge=0.3)
        lead = [(x, 920), (x + 10, 1010), (x + 220, 1130), (x + 560, 1090), (1010 + (x - 310) * 0.7, 900), (1000 + (x - 310) * 0.8, 800)]
        sheet.lay(sheet.cut().line(curve(lead), 20), tone, lift=10)
        sheet.lay(sheet.cut().line([(1000 + (x - 310) * 0.8, 800), (1030 + (x - 310) * 0.62, 690)], 34), tone, lift=9)
    sheet.lay(sheet.cut().box(880, 330, 420, 250, r=26), "#7f858a", to="#50565b", lift=22)
    for k in range(3):
        sheet.lay(sheet.cut().box(930 + k * 110, 330, 22, 250), "#6a7075", lift=2)
    sheet.lay(sheet.cut().box(800, 370, 92, 170, r=10), "#b9a46a", to="#83703e", lift=12)
    thread = sheet.cut()
    for k in range(5):
        thread.line([(812 + k * 16, 372), (806 + k * 16, 538)], 5)
    sheet.lay(thread, "#7a683a", lift=0, edge=0.2)
    sheet.lay(sheet.cut().box(716, 420, 96, 70, r=16), "#c6c1b4", to="#8d887c", lift=9)
    sheet.lay(sheet.cut().poly([(1300, 360), (1400, 380), (1400, 530), (1300, 550)]), "#3a3a3f", to="#27272b", lift=12)
    for x in (1030, 1154):
        sheet.lay(sheet.cut().box(x - 22, 580, 44, 90, r=6), "#c9b178", to="#8d7340", lift=7)
    sheet.write("MAX 9 Ω", 1130, 190, size=54, colour="#5a2f1c", pen=6)
    sheet.lay(sheet.cut().line(curve([(1120, 268), (1260, 280), (1440, 264)]), 6), "#a5382b", lift=0, edge=0)
    tag(sheet, 1160, 720, "HOT 85", size=36)
    for x, y in ((1450, 1050), (1370, 1110), (1500, 940)):
        bolt(sheet, x, y, 24)
    sheet.frame(0.42)
    return sheet
