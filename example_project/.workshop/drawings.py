# The points of a shape, and the lines of a paper, are read as one row: they are not wrapped.
# fmt: off
"""Drawings to think with: a section, plans and a diagram, in cut paper on squared paper."""

from __future__ import annotations

import math

from cut_paper import Colour, Point, Sheet, arc, curve, ring

INK, RED, COPPER, BLUE = "#2f3440", "#a5382b", "#b87333", "#3f6f8a"


def squared(seed: int, ground: Colour = "#efe7d2", rule: Colour = "#cfd3c4") -> Sheet:
    """A sheet of squared paper on a dark table."""
    sheet = Sheet(seed, "#4c4640")
    sheet.lay(sheet.cut().poly([(36, 30), (1566, 40), (1560, 1166), (42, 1172)]), ground, to="#e4dabf", lift=14)
    lines = sheet.cut()
    for k in range(1, 31):
        lines.line([(40 + k * 49, 44), (40 + k * 49, 1158)], 1.6)
    for k in range(1, 23):
        lines.line([(50, 36 + k * 49), (1552, 38 + k * 49)], 1.6)
    sheet.lay(lines, rule, lift=0, edge=0, clear=0.75)
    return sheet


def finish(sheet: Sheet) -> Sheet:
    sheet.glow(200, 60, 1000, (255, 240, 205), 0.16)
    sheet.frame(0.34)
    return sheet


def note(sheet: Sheet, text: str, at: Point, to: Point, *, size: float = 27) -> None:
    """A word with a line to what it names."""
    wide = len(text) * size * 0.9
    if at[0] <= to[0] <= at[0] + wide:
        start = (to[0] * 0.5 + (at[0] + wide / 2) * 0.5, at[1] + (size + 12 if to[1] > at[1] else -10))
    else:
        start = (at[0] - 10 if to[0] < at[0] else at[0] + wide + 4, at[1] + size / 2)
    sheet.lay(sheet.cut().line([start, to], 3), RED, lift=0, edge=0)
    sheet.lay(sheet.cut().disc(*to, 8), RED, lift=2)
    sheet.write(text, *at, size=size, colour=INK, pen=3.4)


def arrow(sheet: Sheet, way: list[Point], colour: Colour, width: float = 9) -> None:
    """A line with a point at its end."""
    (x1, y1), (x2, y2) = way[-2], way[-1]
    turn = math.atan2(y2 - y1, x2 - x1)
    head = [(x2 + width * 3.2 * math.cos(turn + a), y2 + width * 3.2 * math.sin(turn + a)) for a in (0, 2.4, -2.4)]
    sheet.lay(sheet.cut().line(way, width).poly(head), colour, lift=3)


def spring(x: float, top: float, bottom: float, half: float, turns: int) -> list[Point]:
    """A coil spring from the side."""
    points = [(x, top)]
    for k in range(turns * 2):
        points.append((x + (half if k % 2 else -half), top + (bottom - top) * (k + 0.5) / (turns * 2)))
    return [*points, (x, bottom)]


def draw_lift_pump_section() -> Sheet:
    """The lift pump cut in half."""
    sheet = squared(41)
    body = [(520, 330), (600, 250), (1000, 250), (1080, 330), (1080, 560), (1130, 590), (1130, 650), (1060, 690), (1010, 860), (590, 860), (540, 690), (470, 650), (470, 590), (520, 560)]
    sheet.lay(sheet.cut().poly(body), "#8d9aa0", to="#6c7a82", lift=16)
    hatch = sheet.cut()
    for k in range(30):
        hatch.line([(430 + k * 28, 880), (760 + k * 28, 230)], 3)
    clip = sheet.cut().poly(body).mask
    from PIL import ImageChops

    hatch.mask = ImageChops.multiply(hatch.mask, clip)
    sheet.lay(hatch, "#55646c", lift=0, edge=0)
    sheet.lay(sheet.cut().poly([(566, 350), (626, 296), (974, 296), (1034, 350), (1034, 580), (566, 580)]), "#e9b765", to="#d99a34", lift=0, edge=0.4)
    sheet.lay(sheet.cut().poly([(586, 670), (1014, 670), (974, 830), (626, 830)]), "#f3ecd9", to="#ddd2b6", lift=0, edge=0.4)
    sheet.lay(sheet.cut().box(783, 296, 34, 150), "#7f8d94", to="#6c7a82", lift=4)
    for x, up in ((672, -1), (928, 1)):
        sheet.lay(sheet.cut().box(x - 62, 420, 124, 26, r=4).box(x - 24, 410, 48, 50, hole=True), "#5f6c73", lift=4)
        sheet.lay(sheet.cut().box(x - 44, 420 + (24 if up < 0 else -22), 88, 18, r=6), "#c9b178", lift=5)
        sheet.lay(sheet.cut().line(spring(x, 446 if up < 0 else 330, 500 if up < 0 else 402, 24, 4), 5), "#3d4247", lift=3)
    fold = [(486, 622), (566, 622), (606, 648), (660, 610), (940, 610), (994, 648), (1034, 622), (1114, 622)]
    sheet.lay(sheet.cut().line(curve(fold), 20), "#2a292c", lift=7)
    sheet.lay(sheet.cut().line(curve(fold[4:7]), 20), RED, lift=0, edge=0)
    sheet.lay(sheet.cut().box(670, 584, 260, 18, r=6).box(670, 628, 260, 18, r=6), "#b9b5ab", to="#8b877e", lift=5)
    sheet.lay(sheet.cut().line(spring(800, 654, 820, 74, 5), 9), "#3d4247", lift=5)
    sheet.lay(sheet.cut().box(786, 640, 28, 330, r=8), "#c9c4b8", to="#8b877e", lift=6)
    sheet.lay(sheet.cut().box(650, 860, 300, 30), "#b9803f", lift=4)
    lever = [(794, 930), (900, 940), (1180, 1040), (1196, 1010), (920, 896), (800, 890)]
    sheet.lay(sheet.cut().poly(curve(lever, closed=True)), "#7f8d94", to="#55646c", lift=10)
    sheet.lay(sheet.cut().disc(960, 952, 22), "#c9c4b8", lift=6)
    sheet.lay(sheet.cut().disc(1330, 1010, 120).disc(1330, 1010, 44, hole=True), "#9a8f7c", to="#756b5a", lift=12)
    for x, side in ((474, -1), (1126, 1)):
        for y in (604, 636):
            sheet.lay(sheet.cut().poly(ring(x, y, 18, 6)), "#c9b178", lift=4)
        port = x - side * 48
        pipe = [(port - side * 14, 400), (port + side * 150, 400), (port + side * 270, 360 if side > 0 else 440)]
        sheet.lay(sheet.cut().line(pipe, 46), COPPER, to="#8d5423", lift=9)
        sheet.lay(sheet.cut().box(port + side * 24 - 26, 362, 52, 78, r=8), "#c9b178", to="#8d7340", lift=6)
    arrow(sheet, [(256, 438), (420, 402)], "#f1d9a8"), arrow(sheet, [(1176, 400), (1310, 366)], "#f1d9a8")
    note(sheet, "INLET VALVE", (110, 250), (650, 430)), note(sheet, "OUTLET VALVE", (1200, 240), (950, 410))
    note(sheet, "DIAPHRAGM", (1270, 560), (1010, 636)), note(sheet, "CRACK", (1310, 690), (975, 640))
    note(sheet, "SPRING", (170, 760), (730, 740)), note(sheet, "FLANGE SEAL", (110, 900), (660, 876))
    note(sheet, "LEVER", (1080, 1090), (1090, 1000))
    return finish(sheet)


def draw_pipe_routing() -> Sheet:
    """The frame from above, pipes in copper."""
    sheet = squared(42, "#e6e2d0", "#c4cfc6")
    for y in (420, 780):
        sheet.lay(sheet.cut().line(curve([(150, y), (460, y), (620, y + (40 if y < 600 else -40)), (1040, y + (40 if y < 600 else -40)), (1200, y), (1450, y)]), 44), "#5d6a70", to="#47535a", lift=11)
    for x in (170, 520, 820, 1120, 1430):
        half = 180 if x in (170, 520, 1430) else 142
        sheet.lay(sheet.cut().box(x - 19, 600 - half, 38, half * 2), "#6d7a80", to="#56636a", lift=8)
    for x in (340, 1270):
        sheet.lay(sheet.cut().box(x - 24, 250, 48, 700, r=18), "#3d4247", to="#2d3136", lift=12)
        sheet.lay(sheet.cut().disc(x, 630, 84, 70), "#4a5056", to="#33383d", lift=9)
        for y in (150, 1050):
            sheet.lay(sheet.cut().box(x - 104, y - 62, 208, 124, r=24), "#38363b", to="#242328", lift=12)
            sheet.lay(sheet.cut().disc(x, y + (70 if y < 600 else -70), 52, 22), "#a8552f", lift=5)
    sheet.lay(sheet.cut().box(1000, 545, 250, 110, r=16), "#72845a", to="#55663f", lift=12)
    sheet.write("ENGINE", 1046, 584, size=30, colour="#efe7d2", pen=4)
    sheet.lay(sheet.cut().disc(1010, 300, 52), "#b9b5ab", to="#85817a", lift=12)
    sheet.lay(sheet.cut().box(1046, 276, 90, 48, r=10), "#c9b178", to="#8d7340", lift=8)
    runs = (
        [(1136, 300), (1200, 300), (1200, 220), (1270, 210), (1270, 212)],
        [(1136, 312), (1230, 340), (1384, 360), (1400, 600), (1390, 850), (1320, 960), (1270, 990)],
        [(1046, 316), (960, 380), (880, 500), (620, 500), (480, 470), (410, 560), (350, 600)],
        [(350, 600), (290, 520), (290, 300), (340, 216)], [(350, 600), (290, 700), (290, 900), (340, 984)],
    )  # fmt: skip
    for run in runs:
        sheet.lay(sheet.cut().line(curve(run, steps=16), 13), "#c9783a", to="#a8602a", lift=6)
    clips = ((1384, 480), (1396, 720), (780, 500), (600, 497), (291, 420), (291, 800))
    for x, y in clips:
        sheet.lay(sheet.cut().box(x - 15, y - 11, 30, 22, r=5), "#e8dcbd", lift=4)
    for k, (x, y) in enumerate(((340, 984), (340, 216), (1270, 990), (1270, 212), (350, 600), (1136, 306))):
        sheet.lay(sheet.cut().disc(x, y, 27), "#f4ecd8", to="#e2d6b8", lift=6)
        sheet.write(f"{k + 1}", x - (3 if k == 0 else 10), y - 15, size=30, colour=RED, pen=4.4, wild=0.05)
    note(sheet, "MASTER", (760, 180), (976, 286)), note(sheet, "HOSE", (620, 640), (380, 606))
    sheet.write("FRONT", 1462, 566, size=22, pen=3), arrow(sheet, [(1470, 624), (1516, 624)], INK, 6)
    sheet.write("21 M PIPE  22 NUTS", 640, 1000, size=34, colour=RED, pen=4)
    return finish(sheet)


def draw_wiring_diagram() -> Sheet:
    """The lighting circuit."""
    sheet = squared(43, "#efe9da", "#d3d4c8")
    wires: tuple[tuple[list[Point], Colour], ...] = (
        ([(220, 300), (220, 190), (420, 190)], RED), ([(540, 190), (700, 190), (700, 300)], RED),
        ([(700, 190), (980, 190), (980, 300)], RED), ([(980, 190), (1240, 190), (1240, 300)], RED),
        ([(700, 430), (700, 590)], "#d98a3a"), ([(980, 430), (980, 590)], BLUE), ([(1240, 430), (1240, 590)], "#7c9a4a"),
        ([(700, 740), (700, 800), (560, 800), (560, 900)], "#d98a3a"), ([(700, 800), (840, 800), (840, 900)], "#d98a3a"),
        ([(980, 740), (980, 830), (600, 830), (600, 900)], BLUE), ([(980, 830), (1080, 830), (1080, 900)], BLUE),
        ([(1240, 740), (1240, 900)], "#7c9a4a"), ([(460, 560), (460, 660), (640, 660)], "#8a5aa0"), ([(640, 690), (420, 690), (420, 560)], "#8a5aa0"),
        ([(580, 1000), (580, 1090), (220, 1090), (220, 480)], INK), ([(840, 1000), (840, 1090), (580, 1090)], INK),
        ([(1080, 1000), (1080, 1090), (840, 1090)], INK), ([(1240, 1000), (1240, 1090), (1080, 1090)], INK),
    )  # fmt: skip
    for way, colour in wires:
        sheet.lay(sheet.cut().line(way, 9), colour, lift=4)
    sheet.lay(sheet.cut().box(140, 300, 170, 180, r=10), "#3d4247", to="#2d3136", lift=10)
    sheet.lay(sheet.cut().box(158, 282, 34, 24).box(256, 282, 34, 24), "#b9b5ab", lift=4)
    sheet.write("+", 168, 330, size=40, colour="#f0d27c", pen=6), sheet.write("-", 266, 330, size=40, colour="#f0d27c", pen=6)
    sheet.write("12 V", 178, 420, size=32, colour="#efe7d2", pen=4)
    sheet.lay(sheet.cut().box(420, 160, 120, 60, r=12), "#e2be48", to="#b8942c", lift=8)
    sheet.write("80 A", 434, 178, size=25, pen=4)
    for x, text, tone in ((700, "DIP", "#d98a3a"), (980, "MAIN", BLUE), (1240, "FOG", "#7c9a4a")):
        sheet.lay(sheet.cut().box(x - 58, 300, 116, 130, r=12), tone, to="#55524e", lift=10)
        sheet.lay(sheet.cut().box(x - 34, 326, 68, 44, r=8), "#f4ecd8", lift=4)
        sheet.lay(sheet.cut().line([(x - 22, 348), (x - 6, 340), (x + 8, 356), (x + 22, 348)], 4), INK, lift=0, edge=0)
        sheet.write(text, x - len(text) * 11, 388, size=24, colour="#fdf6e2", pen=3.6)
        sheet.lay(sheet.cut().box(x - 70, 590, 140, 150, r=8), "#d8d2c2", to="#b5ae9a", lift=11)
        coil = [(x - 44 + k * 11, 700 + (12 if k % 2 else -12)) for k in range(9)]
        sheet.lay(sheet.cut().line(coil, 5), "#8a5aa0", lift=2)
        sheet.lay(sheet.cut().line([(x, 606), (x, 626), (x + 34, 656)], 6).line([(x, 670), (x, 660)], 6).disc(x, 628, 7).disc(x, 662, 7), INK, lift=2)
    sheet.lay(sheet.cut().disc(440, 500, 76), "#72845a", to="#55663f", lift=12)
    sheet.lay(sheet.cut().line([(440, 500), (490, 446)], 20), "#e8dcbd", lift=8)
    sheet.lay(sheet.cut().disc(440, 500, 20), "#3d4247", lift=6)
    sheet.write("SWITCH", 372, 376, size=28, pen=3.6)
    for x in (580, 840, 1080, 1240):
        sheet.glow(x, 950, 150, (255, 226, 140), 0.5)
        sheet.lay(sheet.cut().disc(x, 950, 58), "#fff0bd", to="#f0cf7c", lift=9)
        sheet.lay(sheet.cut().line([(x - 38, 988), (x + 38, 912)], 6).line([(x - 38, 912), (x + 38, 988)], 6), INK, lift=0, edge=0)
    for k in range(3):
        sheet.lay(sheet.cut().line([(180 + k * 14, 1110 + k * 14), (260 - k * 14, 1110 + k * 14)], 7), INK, lift=0, edge=0)
    for x, y in ((700, 190), (980, 190), (700, 800), (980, 830), (580, 1090), (840, 1090), (1080, 1090)):
        sheet.lay(sheet.cut().disc(x, y, 11), INK, lift=3)
    sheet.write("0.2 A", 490, 610, size=26, colour="#8a5aa0", pen=3.4)
    sheet.write("ONE EARTH", 290, 1040, size=26, colour=RED, pen=3.4)
    return finish(sheet)


def draw_clutch_hydraulics() -> Sheet:
    """From pedal to fork, and where the air hid."""
    sheet = squared(44, "#ece4cf", "#cdd2c3")
    sheet.lay(sheet.cut().poly([(440, 60), (500, 60), (520, 760), (460, 770)]), "#64764c", to="#4d5c3a", lift=12)
    sheet.lay(sheet.cut().line(curve([(250, 210), (270, 420), (210, 640), (180, 800)]), 40), "#3d4247", to="#2d3136", lift=12)
    sheet.lay(sheet.cut().poly([(110, 780), (250, 812), (240, 850), (96, 818)]), "#2a292c", lift=10)
    sheet.lay(sheet.cut().disc(252, 214, 34), "#b9b5ab", lift=6)
    sheet.lay(sheet.cut().line([(264, 400), (450, 400)], 16), "#b9b5ab", to="#8b877e", lift=6)
    sheet.lay(sheet.cut().box(516, 344, 300, 112, r=14), "#8d9aa0", to="#6c7a82", lift=14)
    sheet.lay(sheet.cut().box(580, 366, 220, 68, r=6), "#e9b765", to="#d99a34", lift=0, edge=0.4)
    sheet.lay(sheet.cut().box(540, 366, 56, 68, r=6), "#c9c4b8", to="#8b877e", lift=5)
    sheet.lay(sheet.cut().poly([(600, 344), (600, 300), (560, 290), (560, 130), (780, 130), (780, 290), (740, 300), (740, 344)]), "#f1ead8", to="#d8cfb8", lift=10)
    sheet.lay(sheet.cut().poly([(572, 200), (768, 200), (768, 284), (730, 294), (730, 344), (610, 344), (610, 294), (572, 284)]), "#e9b765", to="#d99a34", lift=0, edge=0.2)
    sheet.lay(sheet.cut().box(546, 96, 248, 44, r=12), "#2f2d31", lift=7)
    line = curve([(816, 400), (900, 400), (960, 460), (960, 640), (1010, 700), (1080, 560), (1190, 540), (1210, 680), (1190, 830)], steps=16)
    sheet.lay(sheet.cut().line(line, 34), "#2f2d31", lift=12)
    sheet.lay(sheet.cut().line(line, 18), "#e9b765", lift=0, edge=0.2)
    for x, y, r in ((1082, 556, 17), (1118, 536, 22), (1156, 530, 18), (1186, 544, 12)):
        sheet.lay(sheet.cut().disc(x, y, r), "#f7fbf5", to="#c9dfe0", lift=4, edge=0.5)
    sheet.lay(sheet.cut().disc(1132, 540, 104).disc(1132, 540, 96, hole=True), RED, lift=2)
    sheet.lay(sheet.cut().box(1010, 830, 330, 126, r=14), "#8d9aa0", to="#6c7a82", lift=14)
    sheet.lay(sheet.cut().box(1120, 856, 200, 74, r=6), "#e9b765", to="#d99a34", lift=0, edge=0.4)
    sheet.lay(sheet.cut().box(1076, 856, 60, 74, r=6), "#c9c4b8", to="#8b877e", lift=5)
    sheet.lay(sheet.cut().box(1290, 776, 30, 64, r=8), "#c9b178", to="#8d7340", lift=7)
    sheet.lay(sheet.cut().line([(860, 894), (1080, 894)], 18), "#b9b5ab", to="#8b877e", lift=7)
    sheet.lay(sheet.cut().line([(850, 760), (866, 894), (830, 1080)], 36), "#5d6a70", to="#47535a", lift=12)
    sheet.lay(sheet.cut().disc(858, 850, 24), "#c9b178", lift=7)
    sheet.lay(sheet.cut().box(560, 960, 270, 110, r=50), "#9a8f7c", to="#756b5a", lift=12)
    sheet.lay(sheet.cut().box(590, 985, 190, 60, r=30), "#3d4247", lift=4)
    arrow(sheet, [(300, 340), (410, 340)], BLUE), arrow(sheet, [(1040, 990), (900, 990)], BLUE)
    note(sheet, "FLUID", (880, 150), (700, 240)), note(sheet, "MASTER", (880, 262), (770, 360))
    note(sheet, "AIR HID HERE", (1250, 420), (1190, 490)), note(sheet, "NIPPLE", (1380, 690), (1310, 790))
    note(sheet, "SLAVE", (1390, 1010), (1290, 930)), note(sheet, "PEDAL", (90, 930), (180, 830))
    note(sheet, "FORK", (640, 800), (842, 810))
    sheet.lay(sheet.cut().line([(866, 1104), (866, 1130)], 4).line([(1010, 1104), (1010, 1130)], 4).line([(866, 1117), (1010, 1117)], 4), RED, lift=0, edge=0)
    sheet.write("14.5 MM", 1034, 1102, size=30, colour=RED, pen=4)
    return finish(sheet)


def draw_cooling() -> Sheet:
    """The cooling circuit, and a thermostat that refuses."""
    sheet = squared(45, "#e9e6d6", "#c9d3cd")
    sheet.lay(sheet.cut().box(150, 190, 270, 560, r=14), "#5d6a70", to="#3d4a52", lift=14)
    fins = sheet.cut()
    for k in range(14):
        fins.line([(172, 270 + k * 32), (398, 270 + k * 32)], 5)
    for k in range(7):
        fins.line([(190 + k * 32, 256), (190 + k * 32, 694)], 12)
    sheet.lay(fins, "#8d9aa0", lift=2, edge=0.15)
    for y in (190, 700):
        sheet.lay(sheet.cut().box(136, y - 10, 298, 66, r=16), "#c9b178", to="#8d7340", lift=9)
    sheet.lay(sheet.cut().box(250, 146, 66, 40, r=8), "#b9b5ab", lift=6)
    sheet.lay(sheet.cut().poly([(700, 300), (1180, 300), (1180, 760), (700, 760)]), "#72845a", to="#55663f", lift=16)
    for k in range(4):
        sheet.lay(sheet.cut().box(724 + k * 112, 340, 96, 300, r=14), "#b5402f" if k > 1 else "#c96a3a", to="#3f6f8a", lift=0, edge=0.3)
        sheet.lay(sheet.cut().box(742 + k * 112, 356, 60, 268, r=8), "#8d8f8a", to="#686b67", lift=7)
        sheet.lay(sheet.cut().box(742 + k * 112, 440 + (k % 2) * 60, 60, 70, r=6), "#c9c4b8", to="#8b877e", lift=5)
    hot = curve([(700, 268), (620, 220), (540, 214), (430, 214)], steps=16)
    cold = curve([(430, 726), (520, 730), (580, 780), (640, 760), (680, 700)], steps=16)
    for way in (hot, cold):
        sheet.lay(sheet.cut().line(way, 70), "#2f2d31", to="#232126", lift=14)
    arrow(sheet, [(650, 232), (560, 210), (490, 212)], "#d9603a", 10), arrow(sheet, [(470, 728), (530, 736), (590, 770)], "#5d9ab5", 10)
    sheet.lay(sheet.cut().box(680, 236, 190, 84, r=18), "#9b9890", to="#6c6962", lift=11)
    sheet.lay(sheet.cut().disc(680, 640, 92), "#9b9890", to="#6c6962", lift=13)
    blades = sheet.cut()
    for x, y in ring(680, 640, 62, 6):
        blades.line([(680, 640), (x, y)], 16)
    sheet.lay(blades, "#d3cdbf", lift=5)
    sheet.lay(sheet.cut().disc(680, 640, 18), "#3d4247", lift=4)
    for turn in range(4):
        a = turn * math.pi / 2 + 0.4
        blade = [(540 + 34 * math.cos(a - 0.5), 470 + 34 * math.sin(a - 0.5)), (540 + 150 * math.cos(a - 0.26), 470 + 150 * math.sin(a - 0.26)), (540 + 150 * math.cos(a + 0.2), 470 + 150 * math.sin(a + 0.2)), (540 + 34 * math.cos(a + 0.5), 470 + 34 * math.sin(a + 0.5))]
        sheet.lay(sheet.cut().poly(curve(blade, closed=True)), "#e2be48", to="#b8942c", lift=9)
    sheet.lay(sheet.cut().disc(540, 470, 36), "#3d4247", lift=6)
    pan(sheet, 1290, 900)
    note(sheet, "THERMOSTAT", (760, 150), (770, 258)), note(sheet, "PUMP", (480, 880), (660, 680))
    note(sheet, "RADIATOR", (150, 830), (260, 740)), note(sheet, "0.9 BAR 30 MIN", (90, 100), (280, 150))
    return finish(sheet)


def pan(sheet: Sheet, x: float, y: float) -> None:
    """The old thermostat in hot water, closed."""
    for k in (-1, 0, 1):
        way = curve([(x + k * 80, y - 200), (x + k * 80 + 20, y - 260), (x + k * 80 - 14, y - 320), (x + k * 80 + 12, y - 380)])
        sheet.lay(sheet.cut().line(way, 13), "#fffaf0", lift=4, clear=0.8)
    sheet.lay(sheet.cut().line([(x + 170, y - 60), (x + 290, y - 110)], 34), "#2f2d31", lift=10)
    sheet.lay(sheet.cut().poly([(x - 190, y - 130), (x + 190, y - 130), (x + 170, y + 130), (x - 170, y + 130)]), "#b9b5ab", to="#7d7a74", lift=16)
    sheet.lay(sheet.cut().poly([(x - 160, y - 90), (x + 160, y - 90), (x + 146, y + 104), (x - 146, y + 104)]), "#a9cdd2", to="#7fb0ba", lift=0, edge=0.4)
    for _ in range(22):
        sheet.lay(sheet.cut().disc(x + sheet.chance.uniform(-130, 130), y + sheet.chance.uniform(-70, 90), sheet.chance.uniform(4, 11)), "#e6f3f2", lift=2)
    sheet.lay(sheet.cut().disc(x - 10, y + 40, 88, 26), "#c9b178", to="#8d7340", lift=8)
    sheet.lay(sheet.cut().box(x - 46, y + 44, 72, 54, r=10), "#b87333", to="#8d5423", lift=6)
    sheet.lay(sheet.cut().line(arc(x - 10, y + 30, 54, 180, 360), 13), "#c9b178", lift=6)
    sheet.lay(sheet.cut().line([(x + 96, y + 60), (x + 130, y - 260)], 17), "#f4ecd8", lift=8)
    sheet.lay(sheet.cut().line([(x + 96, y + 60), (x + 126, y - 222)], 7), RED, lift=0, edge=0)
    sheet.lay(sheet.cut().disc(x + 96, y + 60, 16), RED, lift=4)
    sheet.write("100 C  SHUT", x - 150, y + 160, size=32, colour=RED, pen=4)
