# The points of a shape, and the lines of a paper, are read as one row: they are not wrapped.
# fmt: off
"""The truck where it stands and drives: barn, snow, yard, lane, test lane, oak."""

from __future__ import annotations

import math

from cut_paper import Colour, Sheet, curve, ring
from truck import Side, draw_front


def hills(sheet: Sheet, base: float, height: float, colour: Colour, to: Colour, lift: float = 10) -> None:
    """A ridge across the whole picture."""
    w, h = sheet.size
    tops = [(x, base - height * sheet.chance.uniform(0.2, 1)) for x in range(-200, w + 401, 200)]
    sheet.lay(sheet.cut().poly([*curve(tops), (w + 200, h + 50), (-200, h + 50)]), colour, to=to, lift=lift)


def tuft(sheet: Sheet, x: float, y: float, size: float, colour: Colour) -> None:
    """A handful of grass."""
    cut = sheet.cut()
    for _ in range(9):
        lean, up = sheet.chance.uniform(-0.7, 0.7), sheet.chance.uniform(0.5, 1) * size
        foot = x + sheet.chance.uniform(-0.5, 0.5) * size
        cut.poly([(foot - 4, y), (foot + lean * up * 0.5, y - up), (foot + 4, y)])
    sheet.lay(cut, colour, lift=3)


def draw_barn() -> Sheet:
    """As found: dark boards, shafts of light, flat tyres."""
    sheet = Sheet(11, "#4a3b35")
    for k in range(16):
        x = k * 102 - 10
        tone = sheet.chance.choice(["#54433a", "#4d3d36", "#5b483d", "#493932"])
        sheet.lay(sheet.cut().poly([(x, -10), (x + 94, -10), (x + 96 + sheet.chance.uniform(-2, 2), 920), (x - 1, 920)]), tone, to="#3a2f2d", lift=3)
    gaps = sheet.cut()
    for x in (196, 400, 706, 1012, 1216):
        gaps.poly([(x - 8, 30), (x - 2, 30), (x - 1, 900), (x - 7, 900)])
    sheet.lay(gaps, "#ffe9b0", to="#f0b860", lift=0)
    for x in (-30, 780, 1540):
        sheet.lay(sheet.cut().box(x, -20, 74, 960), "#6a5242", to="#4a3a32", lift=12)
    sheet.lay(sheet.cut().poly([(-20, 70), (1620, 40), (1620, 116), (-20, 150)]), "#755b48", to="#564337", lift=12)
    for a, b in (((44, 380), (300, 120)), ((844, 340), (1080, 90)), ((790, 340), (560, 110))):
        sheet.lay(sheet.cut().line([a, b], 34), "#634c3e", lift=9)
    sheet.lay(sheet.cut().poly(curve([(-50, 905), (400, 880), (900, 900), (1700, 876), (1700, 1300), (-50, 1300)])), "#8a6c4c", to="#5a4637", lift=8)
    for _ in range(70):
        x, y = sheet.chance.uniform(0, 1600), sheet.chance.uniform(930, 1190)
        sheet.lay(sheet.cut().line([(x, y), (x + sheet.chance.uniform(20, 60), y + sheet.chance.uniform(-12, 12))], 3), sheet.chance.choice(["#c39b5c", "#a98048", "#dcb874"]), lift=2)
    bale(sheet, 20, 760), bale(sheet, 130, 900, 1.2), bale(sheet, 1390, 850, 1.15)
    Side(sheet, 290, 1010, 1.1, flat=True).draw()
    sheet.dim(sheet.cut().poly([(290, 460), (750, 460), (760, 700), (290, 720)]), 0.14, 40)
    for x, lean in ((196, 520), (400, 560), (706, 540), (1012, 470)):
        sheet.beam([(x - 6, 60), (x + 10, 60), (x + lean + 110, 1200), (x + lean - 10, 1200)], (255, 214, 140), 0.26, 14)
    for _ in range(90):
        x, y = sheet.chance.uniform(300, 1500), sheet.chance.uniform(150, 950)
        sheet.glow(x, y, sheet.chance.uniform(3, 8), (255, 230, 180), 0.5)
    sheet.glow(1350, 120, 700, (255, 200, 120), 0.28)
    sheet.frame(0.6)
    return sheet


def bale(sheet: Sheet, x: float, y: float, s: float = 1) -> None:
    """A bale of straw with its two strings."""
    sheet.lay(sheet.cut().box(x, y, 250 * s, 140 * s, r=10), "#c9a35f", to="#9d7740", lift=10)
    straw = sheet.cut()
    for _ in range(40):
        sx, sy = x + sheet.chance.uniform(6, 210) * s, y + sheet.chance.uniform(10, 130) * s
        straw.line([(sx, sy), (sx + sheet.chance.uniform(15, 40), sy + sheet.chance.uniform(-6, 6))], 2)
    sheet.lay(straw, "#e2c27e", lift=1, edge=0)
    for k in (70, 180):
        sheet.lay(sheet.cut().line([(x + k * s, y), (x + k * s, y + 140 * s)], 4), "#7d4f2b", lift=2)


def draw_print_2011() -> Sheet:
    """An old print on the seat: the truck with its plough in snow, faded to brown."""
    sheet = Sheet(12, "#d9d3c4")
    hills(sheet, 560, 180, "#c3bfb4", "#d5d0c3", 6)
    hills(sheet, 660, 120, "#b0aca3", "#cfcabd", 8)
    for x, size in ((150, 1.1), (1420, 1.35), (1290, 0.8)):
        fir(sheet, x, 760, size)
    sheet.lay(sheet.cut().poly(curve([(-60, 770), (300, 742), (800, 776), (1300, 740), (1700, 770), (1700, 1300), (-60, 1300)])), "#efece2", to="#ddd8cb", lift=9)
    Side(sheet, 240, 960, 1.0, plough=True).draw()
    sheet.lay(sheet.cut().poly(curve([(-60, 985), (260, 948), (560, 968), (900, 950), (1240, 962), (1330, 900), (1440, 890), (1560, 950), (1700, 960), (1700, 1300), (-60, 1300)])), "#f4f1e8", to="#dcd7cb", lift=10)
    for _ in range(60):
        sheet.glow(sheet.chance.uniform(60, 1540), sheet.chance.uniform(60, 1100), sheet.chance.uniform(4, 9), (255, 255, 250), 0.9)
    return faded(sheet)


def faded(sheet: Sheet) -> Sheet:
    """The picture as a print that has lain behind a sun visor: brown, scratched, with a white border."""
    from PIL import Image, ImageOps

    brown = ImageOps.colorize(ImageOps.grayscale(sheet.image), "#35241a", "#f3e6c8", mid="#a5835d")
    picture = Image.blend(sheet.image, brown, 0.8)
    table = Sheet(13, "#5c5148")
    for k in range(9):
        table.lay(table.cut().poly([(-10, k * 150), (1610, k * 150 + 8), (1610, k * 150 + 146), (-10, k * 150 + 140)]), table.chance.choice(["#6a5c50", "#64574c", "#5e5147"]), lift=4)
    corners = [(118, 96), (1492, 70), (1508, 1096), (128, 1118)]
    table.lay(table.cut().poly(corners), "#f0e7d2", to="#e2d6ba", lift=16)
    window = table.cut().poly([(172, 148), (1440, 124), (1453, 1030), (181, 1050)]).mask.resize(table.size)
    table.image.paste(picture, mask=window)
    table.lay(table.cut().line([(190, 700), (400, 690), (640, 705)], 2.5), "#f6ecd6", lift=1, edge=0)
    table.lay(table.cut().poly([(1492, 70), (1400, 72), (1494, 168)]), "#d8caa8", to="#c5b591", lift=6)
    table.glow(300, 150, 700, (255, 236, 200), 0.25)
    table.frame(0.5)
    return table


def fir(sheet: Sheet, x: float, y: float, s: float) -> None:
    """A fir with snow on it."""
    sheet.lay(sheet.cut().box(x - 12 * s, y - 60 * s, 24 * s, 80 * s), "#5f4c40", lift=4)
    for k, half in enumerate((130, 105, 80, 52)):
        top = y - (150 + k * 88) * s
        sheet.lay(sheet.cut().poly([(x - half * s, top + 110 * s), (x, top - 30 * s), (x + half * s, top + 110 * s), (x, top + 88 * s)]), "#6f7a70", to="#4c574f", lift=6)
        sheet.lay(sheet.cut().poly([(x - half * 0.5 * s, top + 40 * s), (x, top - 30 * s), (x + half * 0.32 * s, top + 26 * s), (x - 6 * s, top + 18 * s)]), "#f1eee4", lift=2)


def draw_first_start() -> Sheet:
    """Dusk in the yard, lamps on, a puff of smoke, the barn open behind."""
    sheet = Sheet(14, "#2c3558")
    for k, (tone, to) in enumerate((("#313b63", "#4a4a72"), ("#5a5078", "#80607c"), ("#9a6a78", "#c98368"), ("#dd9a62", "#f0bd72"))):
        y = 70 + k * 130
        sheet.lay(sheet.cut().poly([*curve([(-100, y + 40), (300, y), (800, y + 46), (1200, y + 4), (1800, y + 40)]), (1800, 1300), (-100, 1300)]), tone, to=to, lift=5)
    sheet.lay(sheet.cut().disc(1270, 610, 66), "#ffe0a0", lift=0, edge=0)
    sheet.glow(1270, 610, 520, (255, 190, 110), 0.6)
    hills(sheet, 690, 100, "#6a4d66", "#4b3a55")
    hills(sheet, 750, 60, "#46385a", "#362e4c")
    sheet.lay(sheet.cut().poly([(-20, 860), (-20, 430), (210, 270), (520, 430), (520, 860)]), "#4a2e34", to="#33242e", lift=14)
    sheet.lay(sheet.cut().poly([(-20, 452), (-20, 398), (212, 238), (552, 420), (545, 452), (210, 284)]), "#6b4444", lift=8)
    sheet.lay(sheet.cut().poly([(90, 870), (90, 560), (390, 560), (390, 870)]), "#f4bd62", to="#b5682f", lift=0)
    sheet.lay(sheet.cut().poly([(390, 548), (470, 584), (470, 900), (390, 870)]), "#573539", lift=8)
    sheet.glow(240, 720, 330, (255, 180, 90), 0.55)
    sheet.lay(sheet.cut().poly([*curve([(-60, 872), (500, 850), (1000, 868), (1700, 846)]), (1700, 1300), (-60, 1300)]), "#4d4258", to="#2a2538", lift=9)
    for x, y, half in ((330, 1120, 190), (900, 1150, 260), (1390, 1096, 150)):
        puddle = [(x - half, y), (x - half * 0.4, y - 16), (x + half * 0.5, y - 13), (x + half, y + 2), (x + half * 0.3, y + 15), (x - half * 0.5, y + 13)]
        sheet.lay(sheet.cut().poly(curve(puddle, closed=True)), "#a06c74", to="#5e4f70", lift=0, edge=0.12)
    smoke(sheet, 853, 506, 1.5, "#a99db0", "#7d7489")
    Side(sheet, 250, 1040, 0.92, lit=True).draw()
    sheet.beam([(1115, 846), (1120, 872), (1640, 1060), (1640, 760)], (255, 226, 150), 0.5, 20)
    sheet.glow(1112, 852, 210, (255, 236, 180), 0.9)
    sheet.glow(1112, 852, 70, (255, 250, 220), 1)
    for x, y in ((1180, 150), (1250, 230), (1110, 250), (1440, 330), (1350, 120), (330, 120)):
        swallow(sheet, x, y, sheet.chance.uniform(14, 24))
    for _ in range(26):
        sheet.glow(sheet.chance.uniform(0, 1600), sheet.chance.uniform(0, 240), 4, (255, 250, 230), 0.9)
    sheet.frame(0.55)
    return sheet


def smoke(sheet: Sheet, x: float, y: float, s: float, colour: Colour, to: Colour) -> None:
    """A puff that leaves the pipe at (x, y) and grows as it drifts away."""
    for k, (dx, dy, r) in enumerate(((-14, -20, 15), (-42, -52, 24), (-60, -104, 36), (-120, -96, 30), (-104, -170, 50), (-186, -168, 42), (-160, -246, 58), (-244, -250, 46))):
        sheet.lay(sheet.cut().disc(x + dx * s, y + dy * s, r * s), colour, to=to, lift=6, clear=0.94 - k * 0.055)


def swallow(sheet: Sheet, x: float, y: float, s: float) -> None:
    """A swallow, two strokes of a blade."""
    wings = [(x - s * 1.6, y - s * 0.5), (x - s * 0.5, y - s * 0.25), (x, y + s * 0.2), (x + s * 0.6, y - s * 0.5), (x + s * 1.7, y - s * 0.9), (x + s * 0.6, y), (x + s * 0.1, y + s * 0.6), (x - s * 0.5, y + s * 0.2)]
    sheet.lay(sheet.cut().poly(wings), "#241f35", lift=3)


def draw_on_the_road() -> Sheet:
    """A lane between hedges on a summer's day."""
    sheet = Sheet(15, "#bfd8d4")
    sheet.lay(sheet.cut().poly([*curve([(-100, 330), (500, 290), (1100, 340), (1800, 300)]), (1800, 1300), (-100, 1300)]), "#d6e3d3", to="#f0e6c6", lift=3)
    sheet.lay(sheet.cut().disc(1330, 210, 92), "#fbe7a6", lift=4)
    sheet.glow(1330, 210, 480, (255, 240, 190), 0.6)
    for x, y, s in ((250, 180, 1.2), (720, 120, 0.8), (1010, 260, 1)):
        cloud(sheet, x, y, s)
    hills(sheet, 560, 160, "#9fb59a", "#8da884")
    hills(sheet, 660, 130, "#86a173", "#7a9866")
    fields(sheet)
    hills(sheet, 770, 70, "#7d9a55", "#6c8a48")
    sheet.lay(sheet.cut().poly([(1086, 640), (1086, 540), (1110, 470), (1134, 540), (1134, 640)]), "#a39a8b", to="#8c8375", lift=6)
    sheet.lay(sheet.cut().poly([(1130, 640), (1130, 580), (1230, 580), (1230, 640)]), "#b3aa98", to="#978d7d", lift=6)
    for k in range(22):
        x = -40 + k * 78
        bush = [(px, py) for px, py in curve([(qx + sheet.chance.uniform(-9, 9), qy + sheet.chance.uniform(-9, 9)) for qx, qy in ring(x, 800, 64, 9)], closed=True)]
        sheet.lay(sheet.cut().poly(bush), sheet.chance.choice(["#5f7d3f", "#54723a", "#6a8845"]), to="#40592f", lift=7)
    sheet.lay(sheet.cut().poly([(-20, 830), (1620, 822), (1620, 1230), (-20, 1230)]), "#c9b48b", to="#a99068", lift=6)
    sheet.lay(sheet.cut().poly(curve([(-60, 1085), (400, 1070), (900, 1090), (1700, 1066), (1700, 1300), (-60, 1300)])), "#89a356", to="#5e7a3b", lift=10)
    smoke(sheet, 968, 482, 0.75, "#dcd9cf", "#bfbdb6")
    Side(sheet, 330, 1050, 0.98).draw()
    for _ in range(34):
        tuft(sheet, sheet.chance.uniform(-10, 1610), sheet.chance.uniform(1100, 1215), sheet.chance.uniform(36, 80), sheet.chance.choice(["#6e8c42", "#98b05c", "#557233"]))
    flowers(sheet)
    sheet.frame(0.26)
    return sheet


def cloud(sheet: Sheet, x: float, y: float, s: float) -> None:
    """Three rounds on a flat foot."""
    cut = sheet.cut().disc(x, y, 66 * s).disc(x + 84 * s, y - 22 * s, 84 * s).disc(x + 178 * s, y + 6 * s, 60 * s)
    cut.box(x - 66 * s, y + 2 * s, 304 * s, 64 * s, r=32 * s)
    sheet.lay(cut, "#fffaf0", to="#eef0e6", lift=9)


def fields(sheet: Sheet) -> None:
    """Patches on the middle ridge."""
    for points, tone in (
        ([(60, 690), (240, 622), (420, 628), (330, 720), (90, 740)], "#d6b95e"),
        ([(560, 740), (640, 650), (790, 640), (860, 740)], "#b3c374"),
        ([(1240, 730), (1310, 640), (1480, 622), (1640, 650), (1600, 740)], "#d9c272"),
    ):
        sheet.lay(sheet.cut().poly(curve(points, closed=True)), tone, lift=3)


def flowers(sheet: Sheet) -> None:
    """Poppies and daisies along the verge."""
    for _ in range(26):
        x, y = sheet.chance.uniform(0, 1600), sheet.chance.uniform(1096, 1190)
        tone = sheet.chance.choice(["#d9503a", "#f3ead2", "#e8b93f"])
        sheet.lay(sheet.cut().line([(x, y), (x + 3, y + 34)], 3), "#4f6a31", lift=2)
        cut = sheet.cut()
        for px, py in ring(x, y, 8, 5):
            cut.disc(px, py, 6)
        sheet.lay(cut, tone, lift=3)
        sheet.lay(sheet.cut().disc(x, y, 4), "#3b342c", lift=0)


def draw_test_lane() -> Sheet:
    """Head on, on the rollers of the test lane."""
    sheet = Sheet(16, "#c8cbc4")
    for k in range(8):
        sheet.lay(sheet.cut().box(k * 204 - 10, -10, 196, 700), "#cfd3cb" if k % 2 else "#c4c9c2", to="#a9b0aa", lift=4)
    for x in (150, 560, 970, 1380):
        sheet.lay(sheet.cut().box(x - 70, 40, 190, 26, r=13), "#fffbe8", lift=6)
        sheet.glow(x + 25, 54, 260, (255, 250, 225), 0.5)
    board(sheet)
    sheet.lay(sheet.cut().poly([(-20, 760), (1620, 760), (1620, 1230), (-20, 1230)]), "#8f938d", to="#6c706d", lift=9)
    for side in (-1, 1):
        x = 800 + side * 330
        sheet.lay(sheet.cut().poly([(x - 26, 766), (x + 26, 766), (x + side * 240 + 70, 1220), (x + side * 240 - 70, 1220)]), "#e0b83e", lift=4)
    for y in (985, 1052):
        sheet.lay(sheet.cut().box(380, y, 840, 58, r=29), "#3a3c40", to="#222328", lift=8)
        knurl = sheet.cut()
        for x in range(400, 1200, 20):
            knurl.line([(x, y + 6), (x + 12, y + 52)], 2)
        sheet.lay(knurl, "#5a5d62", lift=0, edge=0)
    draw_front(sheet, 800, 1052, 1.12, lit=True)
    for x in (-204, 204):
        sheet.glow(800 + x, 725, 170, (255, 240, 190), 0.6)
    sheet.lay(sheet.cut().box(636, 854, 328, 74, r=8), "#f4efdf", to="#ded6bf", lift=5)
    sheet.write("0417-WX-M", 668, 872, size=38, pen=6, wild=0.03)
    sheet.frame(0.4)
    return sheet


def board(sheet: Sheet) -> None:
    """The dial of the roller test on the wall."""
    sheet.lay(sheet.cut().box(1210, 150, 320, 380, r=16), "#2f3a40", to="#222b31", lift=14)
    for x, turn in ((1292, 250), (1448, 246)):
        sheet.lay(sheet.cut().disc(x, 290, 66), "#f3ecd8", lift=0)
        marks = sheet.cut()
        for px, py in ring(x, 290, 54, 24):
            marks.disc(px, py, 3)
        sheet.lay(marks, "#4a4640", lift=0)
        tip = math.radians(turn)
        sheet.lay(sheet.cut().line([(x, 290), (x + 50 * math.cos(tip), 290 + 50 * math.sin(tip))], 6), "#c1432f", lift=3)
    sheet.write("3.31", 1252, 392, size=40, colour="#f0d27c", pen=5, wild=0.03)
    sheet.write("3.21", 1410, 392, size=40, colour="#f0d27c", pen=5, wild=0.03)
    sheet.write("KN", 1346, 462, size=26, colour="#cfd6d2", pen=4, wild=0.03)


def draw_autumn() -> Sheet:
    """Under the oak in November."""
    sheet = Sheet(17, "#dcd3c2")
    sheet.lay(sheet.cut().disc(360, 330, 84), "#f6e3b4", lift=0)
    sheet.glow(360, 330, 560, (255, 232, 190), 0.6)
    for base, height, tone, to in ((560, 120, "#c5bdb0", "#cfc8bb"), (650, 110, "#aeA593", "#bdb5a5"), (740, 80, "#93886f", "#a59a82")):
        hills(sheet, base, height, tone, to, 6)
        sheet.beam([(-50, base - 20), (1650, base + 10), (1650, base + 90), (-50, base + 70)], (240, 232, 216), 0.4, 34)
    sheet.lay(sheet.cut().poly([*curve([(-60, 830), (400, 806), (900, 836), (1700, 800)]), (1700, 1300), (-60, 1300)]), "#9c8a54", to="#6b5d38", lift=9)
    trunk = [(1210, 1010), (1262, 900), (1280, 640), (1226, 420), (1150, 300), (1200, 280), (1290, 410), (1330, 250), (1376, 262), (1372, 440), (1480, 330), (1512, 356), (1412, 540), (1404, 880), (1470, 1010)]
    sheet.lay(sheet.cut().poly(curve(trunk, closed=True, steps=6)), "#5a4636", to="#3d3028", lift=14)
    Side(sheet, 190, 1040, 1.0).draw()
    for _ in range(150):
        turn, far = sheet.chance.uniform(0, 2 * math.pi), sheet.chance.uniform(0, 1) ** 0.6
        leaf(sheet, 1240 + math.cos(turn) * far * 470, 190 + math.sin(turn) * far * 260, sheet.chance.uniform(24, 46))
    for _ in range(46):
        leaf(sheet, sheet.chance.uniform(0, 1600), sheet.chance.uniform(1050, 1190), sheet.chance.uniform(18, 34))
    for x, y in ((260, 560), (360, 552), (480, 548), (700, 700), (930, 740), (560, 240), (880, 420), (640, 380)):
        leaf(sheet, x, y, 24)
    sheet.beam([(-50, 960), (1650, 930), (1650, 1030), (-50, 1040)], (236, 228, 210), 0.2, 30)
    sheet.frame(0.36)
    return sheet


def leaf(sheet: Sheet, x: float, y: float, size: float) -> None:
    """An oak leaf, more or less."""
    turn = sheet.chance.uniform(0, 2 * math.pi)
    outline = []
    for k in range(14):
        angle = 2 * math.pi * k / 14
        far = size * (1 if k % 2 else 0.66) * (0.5 + 0.5 * abs(math.cos(angle)))
        outline.append((x + far * math.cos(angle + turn), y + far * math.sin(angle + turn)))
    sheet.lay(sheet.cut().poly(curve(outline, closed=True, steps=4)), sheet.chance.choice(["#b8642c", "#c98b35", "#a2502a", "#d6a748", "#8a5a2c"]), lift=5)
