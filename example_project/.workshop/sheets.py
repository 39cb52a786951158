# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""What did the keeper draw? Ink on squared paper: brake pipes, a pump in section, the clutch line, the wires of the lamps."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from PIL import Image, ImageDraw, ImageFilter, ImageFont

SIZE = (1800, 1300)
BLUE, RED, BLACK, COPPER, GREEN = (32, 48, 110), (168, 34, 26), (28, 27, 30), (186, 92, 40), (40, 98, 60)
Point = Sequence[float]


class Paper:
    """A squared sheet and a pen that is not quite steady."""

    def __init__(self, seed: int, *, squared: bool = True) -> None:
        self.chance = random.Random(seed)
        self.image = Image.new("RGB", SIZE, (238, 233, 217))
        self.pen = ImageDraw.Draw(self.image)
        if squared:
            for x in range(0, SIZE[0], 50):
                self.pen.line([(x, 0), (x, SIZE[1])], (196, 209, 217), 2)
            for y in range(0, SIZE[1], 50):
                self.pen.line([(0, y), (SIZE[0], y)], (196, 209, 217), 2)

    def line(self, *points: Point, ink: tuple[int, int, int] = BLUE, wide: int = 6, closed: bool = False) -> None:
        way = [*points, points[0]] if closed else [*points]
        for (x0, y0), (x1, y1) in pairwise(way):
            parts = max(2, int(math.dist((x0, y0), (x1, y1)) / 40))
            last = (x0, y0)
            for k in range(1, parts + 1):
                t = k / parts
                now = (x0 + (x1 - x0) * t + self.chance.gauss(0, 1.1), y0 + (y1 - y0) * t + self.chance.gauss(0, 1.1))
                self.pen.line([last, now], ink, wide + self.chance.choice((-1, 0, 0, 1)))
                self.pen.ellipse([now[0] - wide / 2.2, now[1] - wide / 2.2, now[0] + wide / 2.2, now[1] + wide / 2.2], ink)
                last = now

    def ring(self, x: float, y: float, r: float, *, ink: tuple[int, int, int] = BLUE, wide: int = 6, fill: tuple[int, int, int] | None = None) -> None:
        if fill:
            self.pen.ellipse([x - r, y - r, x + r, y + r], fill)
        self.line(*[(x + r * math.cos(a), y + r * math.sin(a)) for a in (k * math.pi / 14 for k in range(29))], ink=ink, wide=wide)

    def box(self, x: float, y: float, w: float, h: float, *, ink: tuple[int, int, int] = BLUE, wide: int = 6, hatch: bool = False) -> None:
        self.line((x, y), (x + w, y), (x + w, y + h), (x, y + h), ink=ink, wide=wide, closed=True)
        if hatch:
            for k in range(0, int(w + h), 26):
                self.line((x + min(k, w), y + max(0, k - w)), (x + max(0, k - h), y + min(k, h)), ink=ink, wide=3)

    def say(self, words: str, x: float, y: float, *, size: int = 48, ink: tuple[int, int, int] = BLUE) -> None:
        self.pen.text((x, y), words, fill=ink, font=ImageFont.truetype("DejaVuSansMono-Oblique.ttf", size), anchor="mm")

    def number(self, figure: int, x: float, y: float) -> None:
        self.ring(x, y, 34, ink=RED, wide=5, fill=(238, 233, 217))
        self.say(str(figure), x, y, ink=RED, size=46)

    def save(self, target: Path) -> Path:
        self.image.filter(ImageFilter.GaussianBlur(0.9)).save(target)
        return target


def pipe_routing(target: Path) -> Path:
    p = Paper(1)
    for y in (470, 830):
        p.line((240, y), (700, y), (820, y + (45 if y < 600 else -45)), (1180, y + (45 if y < 600 else -45)), (1300, y), (1600, y), wide=9)
        p.line((240, y + 34), (700, y + 34), wide=5)
    for x in (240, 560, 1060, 1600):
        p.line((x, 470), (x, 860), wide=8)
    for x in (400, 1440):
        p.line((x, 250), (x, 1050), wide=12)
        p.ring(x, 650, 58, wide=7)
        for y in (170, 1010):
            p.box(x - 90, y, 180, 110, hatch=True)
    p.box(1200, 560, 190, 180)
    p.say("engine", 1295, 690, size=40)
    p.box(1180, 340, 120, 60, ink=BLACK)
    p.say("master", 1240, 300, ink=BLACK, size=42)
    c = COPPER
    p.line((1300, 370), (1510, 370), (1510, 300), (1470, 260), ink=c, wide=9)
    p.line((1510, 370), (1540, 420), (1540, 960), (1480, 1020), ink=c, wide=9)
    p.line((1180, 370), (1000, 440), (520, 440), (440, 620), ink=c, wide=9)
    p.line((440, 620), (350, 560), (350, 300), (390, 270), ink=c, wide=9)
    p.line((440, 640), (350, 740), (350, 960), (390, 1010), ink=c, wide=9)
    for figure, x, y in ((1, 330, 985), (2, 330, 300), (3, 1560, 985), (4, 1540, 290), (5, 470, 620), (6, 1125, 400)):
        p.number(figure, x, y)
    p.say("front", 1700, 650, size=42)
    p.say("21 m pipe, 22 nuts, 3 hoses", 860, 1200, ink=RED, size=56)
    p.say("brakes", 860, 90, size=60)
    return p.save(target)


def lift_pump_section(target: Path) -> Path:
    p = Paper(2)
    p.line((640, 280), (740, 200), (1120, 200), (1220, 280), (1220, 520), (640, 520), wide=9, closed=True)
    p.line((670, 300), (750, 235), (1110, 235), (1190, 300), (1190, 500), wide=5)
    p.line((930, 235), (930, 430), wide=7)
    p.line((590, 545), (700, 545), (790, 585), (1070, 585), (1160, 545), (1270, 545), ink=BLACK, wide=13)
    p.line((600, 575), (660, 600), (700, 860), (820, 900), (1040, 900), (1160, 860), (1200, 600), (1260, 575), wide=9)
    for k in range(7):
        p.line((860, 620 + 34 * k), (1000, 637 + 34 * k), (860, 654 + 34 * k), wide=6)
    p.line((930, 590), (930, 960), wide=9)
    p.line((930, 950), (1080, 985), (1300, 1010), (1420, 960), wide=11)
    p.ring(1490, 940, 80)
    p.ring(1490, 940, 16)
    p.ring(1080, 985, 20, wide=6)
    for x, up in ((780, 1), (1075, -1)):
        p.line((x - 60, 400), (x + 60, 400), wide=8)
        for k in range(3):
            p.line((x - 30, 400 - up * (20 + 24 * k)), (x + 30, 400 - up * (32 + 24 * k)), wide=4)
    p.line((420, 360), (640, 360), ink=COPPER, wide=9)
    p.line((600, 330), (640, 360), (600, 390), ink=COPPER, wide=7)
    p.line((1220, 360), (1440, 360), ink=COPPER, wide=9)
    p.line((1400, 330), (1440, 360), (1400, 390), ink=COPPER, wide=7)
    for words, x, y, to in (("inlet valve", 360, 200, (760, 385)), ("outlet valve", 1490, 200, (1090, 385)), ("diaphragm", 1510, 620, (1060, 590)), ("spring", 420, 760, (860, 720)), ("flange seal", 400, 960, (700, 870)), ("lever", 1240, 1130, (1240, 1010))):
        p.say(words, x, y)
        p.line((x + (150 if x < 900 else -150), y + 10) if y < 1100 else (x, y - 30), to, wide=3)
    p.ring(720, 550, 54, ink=RED, wide=7)
    p.say("crack", 400, 520, ink=RED, size=58)
    p.line((500, 525), (665, 545), ink=RED, wide=5)
    p.say("lift pump", 930, 100, size=60)
    return p.save(target)


def clutch_hydraulics(target: Path) -> Path:
    p = Paper(3)
    p.line((300, 200), (300, 520), (190, 1010), (110, 1010), wide=11)
    p.ring(300, 200, 18)
    p.line((520, 120), (520, 720), wide=12)
    p.line((300, 420), (560, 420), wide=8)
    p.box(560, 370, 260, 100, wide=8)
    p.line((620, 370), (600, 220), (760, 220), (740, 370), wide=7)
    p.line((820, 420), (980, 420), (1080, 520), (1110, 660), (1180, 560), (1300, 560), (1340, 720), (1340, 860), ink=COPPER, wide=14)
    p.ring(1245, 560, 110, ink=RED, wide=8)
    for x, y in ((1210, 545), (1240, 552), (1272, 548), (1256, 580)):
        p.ring(x, y, 13, ink=RED, wide=4)
    p.say("air hid here", 1480, 420, ink=RED, size=56)
    p.box(1180, 860, 260, 110, wide=8)
    p.line((1180, 915), (940, 915), wide=9)
    p.line((940, 740), (920, 915), (960, 1090), wide=11)
    p.line((1400, 860), (1420, 800), (1450, 790), wide=7)
    for words, x, y in (("pedal", 170, 1090), ("master", 690, 530), ("fluid", 680, 170), ("fork", 860, 1130), ("slave", 1310, 1030), ("nipple", 1570, 790)):
        p.say(words, x, y)
    p.line((760, 1200), (1000, 1200), ink=RED, wide=6)
    p.say("14.5 mm", 1160, 1205, ink=RED, size=56)
    return p.save(target)


def _wires(p: Paper) -> None:
    p.line((180, 330), (180, 190), (1640, 190), ink=RED, wide=8)
    p.box(110, 330, 150, 120, ink=BLACK)
    p.say("12 V", 185, 392, ink=BLACK, size=46)
    p.line((185, 450), (185, 1170), ink=BLACK, wide=8)
    p.box(330, 150, 130, 80, ink=RED)
    p.say("80 A", 395, 100, ink=RED, size=42)
    p.ring(400, 460, 60)
    p.say("switch", 400, 370, size=42)
    p.line((400, 190), (400, 340), ink=RED, wide=6)
    for x, word, ink in ((680, "dip", COPPER), (1050, "main", BLUE), (1420, "fog", GREEN)):
        p.line((x, 190), (x, 560), ink=RED, wide=6)
        for k in (0, 1) if word != "fog" else (0,):
            p.box(x + 20 + 90 * k, 280, 60, 100, ink=ink)
        p.say(word, x + 130, 450, ink=ink)
        p.box(x - 70, 560, 140, 140, ink=ink)
        p.line((x - 40, 670), (x + 30, 600), ink=ink, wide=6)
        p.say("relay", x + 165, 630, ink=ink, size=42)
        p.line((x, 700), (x, 880), ink=ink, wide=7)
        for side in (-1, 1) if word != "fog" else (0,):
            p.line((x, 880), (x + side * 100, 880), (x + side * 100, 950), ink=ink, wide=7)
            p.ring(x + side * 100, 1000, 48, ink=ink)
            d = 33
            p.line((x + side * 100 - d, 1000 - d), (x + side * 100 + d, 1000 + d), ink=ink, wide=5)
            p.line((x + side * 100 - d, 1000 + d), (x + side * 100 + d, 1000 - d), ink=ink, wide=5)
            p.line((x + side * 100, 1048), (x + side * 100, 1170), ink=BLACK, wide=6)
    p.line((460, 470), (610, 620), wide=5)
    p.say("0.2 A", 470, 620, size=42)
    p.line((185, 1170), (1560, 1170), ink=BLACK, wide=8)
    for k in range(3):
        p.line((140 + 16 * k, 1200 + 22 * k), (230 - 16 * k, 1200 + 22 * k), ink=BLACK, wide=7)
    p.say("one earth", 420, 1225, ink=BLACK)


def wiring_diagram(target: Path) -> Path:
    p = Paper(4)
    _wires(p)
    p.say("lamps, third try: 3 relays, 10 fuses", 1060, 80, size=52)
    return p.save(target)


def lighting(target: Path) -> Path:
    p = Paper(5, squared=False)
    _wires(p)
    p.say("as it is, 6 April", 1150, 80, size=58, ink=BLACK)
    p.line((780, 1245), (1560, 1245), ink=RED, wide=5)
    return p.save(target)
