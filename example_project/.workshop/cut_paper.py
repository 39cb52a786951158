# The points of a shape, and the lines of a paper, are read as one row: they are not wrapped.
# fmt: off
"""The picture maker's table: sheets of tinted paper, cut, laid one on another, lit from the upper left.

Positions are in pixels of the finished picture. Everything random comes from a seed, so a picture is the same each time.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from PIL import Image, ImageChops, ImageDraw, ImageFilter

Point = tuple[float, float]
Colour = str | tuple[int, int, int]

FINE = 2
"How much finer than the picture a cut is drawn, for smooth edges."
SHADOW = (34, 28, 40)

LETTERS = {
    "A": "062046 1434", "B": "00063645443303 0030414233", "C": "4130100105163645", "D": "00062645412000",
    "E": "40000646 0333", "F": "400006 0333", "G": "41301001051636454323", "H": "0006 4046 0343", "I": "2026",
    "J": "4045361605", "K": "0006 400346", "L": "000646", "M": "0600234046", "N": "06004640",
    "O": "103041453616050110", "P": "06003041423303", "Q": "103041453616050110 3446", "R": "06003041423303 2346",
    "S": "413010010213334445361605", "T": "0040 2026", "U": "000516364540", "V": "002640", "W": "0016233640",
    "X": "0046 4006", "Y": "002340 2326", "Z": "00400646", "0": "103041453616050110", "1": "112026",
    "2": "01103041420646", "3": "01103041423323 334445361605", "4": "36300444", "5": "400002324345361605",
    "6": "413010010516364544331304", "7": "004016", "8": "103041423313020110 1304051636454433",
    "9": "423313020110304145361605", ".": "2626", "-": "1333", "/": "0640", ":": "2223 2526", "+": "2125 0343",
    "Ω": "061615030110304143353646", " ": "",
}  # fmt: skip
"Strokes of each letter on a grid 4 wide and 6 tall: pairs of digits are points, a blank lifts the pen."


class Cut:
    """A shape to be cut out: pieces added and holes taken away, in the order in which they come."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.mask = Image.new("L", (size[0] * FINE, size[1] * FINE), 0)
        self.pen = ImageDraw.Draw(self.mask)

    def poly(self, points: Sequence[Point], *, hole: bool = False) -> Cut:
        self.pen.polygon([(x * FINE, y * FINE) for x, y in points], fill=0 if hole else 255)
        return self

    def disc(self, x: float, y: float, rx: float, ry: float | None = None, *, hole: bool = False) -> Cut:
        ry = rx if ry is None else ry
        box = [(x - rx) * FINE, (y - ry) * FINE, (x + rx) * FINE, (y + ry) * FINE]
        self.pen.ellipse(box, fill=0 if hole else 255)
        return self

    def box(self, x: float, y: float, w: float, h: float, *, r: float = 0, hole: bool = False) -> Cut:
        corners = [x * FINE, y * FINE, (x + w) * FINE, (y + h) * FINE]
        self.pen.rounded_rectangle(corners, radius=r * FINE, fill=0 if hole else 255)
        return self

    def line(self, points: Sequence[Point], width: float, *, hole: bool = False) -> Cut:
        fill, fine = (0 if hole else 255), [(x * FINE, y * FINE) for x, y in points]
        self.pen.line(fine, fill=fill, width=round(width * FINE), joint="curve")
        half = width * FINE / 2
        for x, y in fine:
            self.pen.ellipse([x - half, y - half, x + half, y + half], fill=fill)
        return self


class Sheet:
    """A picture in the making."""

    def __init__(self, seed: int, ground: Colour, size: tuple[int, int] = (1600, 1200)) -> None:
        self.size = size
        self.chance = random.Random(seed)
        self.fibres = self._fibres()
        self.image = self._paper(size, ground, None)

    def cut(self) -> Cut:
        return Cut(self.size)

    def lay(
        self, cut: Cut, colour: Colour, *, to: Colour | None = None, lift: float = 7, edge: float = 0.22, clear: float = 1
    ) -> None:
        """Lay a cut of paper down: its shadow, the sheet (from `colour` at the top to `to`), a bright cut edge."""
        mask = cut.mask.resize(self.size, Image.Resampling.BOX)
        found = mask.getbbox()
        if found is None:
            return
        pad = math.ceil(lift * 3) + 4
        box = (max(0, found[0] - pad), max(0, found[1] - pad), min(self.size[0], found[2] + pad), min(self.size[1], found[3] + pad))
        mask, ground = mask.crop(box), self.image.crop(box)
        if lift:
            cast = moved(mask, round(lift * 0.7), round(lift)).filter(ImageFilter.GaussianBlur(lift * 0.8))
            ground.paste(SHADOW, mask=cast.point(lambda v: int(v * 0.42 * clear)))
        sheet = self._paper(ground.size, colour, to)
        if edge:
            rim = ImageChops.subtract(mask, moved(mask, 2, 2))
            sheet.paste((255, 250, 236), mask=rim.point(lambda v: int(v * edge)))
            dark = ImageChops.subtract(mask, moved(mask, -2, -2))
            sheet.paste(SHADOW, mask=dark.point(lambda v: int(v * edge * 0.8)))
        ground.paste(sheet, mask=mask.point(lambda v: int(v * clear)) if clear < 1 else mask)
        self.image.paste(ground, box[:2])

    def glow(self, x: float, y: float, r: float, colour: tuple[int, int, int], strength: float = 1) -> None:
        """Light that falls on what lies there already."""
        side = round(r * 2)
        halo = Image.radial_gradient("L").resize((side, side)).point(lambda v: int(max(0, 1 - v / 181) ** 2 * 255 * strength))
        light = Image.new("RGB", self.size)
        light.paste(Image.merge("RGB", [halo.point(lambda v, c=c: v * c // 255) for c in colour]), (round(x - r), round(y - r)))
        self.image = ImageChops.screen(self.image, light)

    def beam(self, points: Sequence[Point], colour: tuple[int, int, int], strength: float, soft: float = 18) -> None:
        """A shaft of light."""
        mask = self.cut().poly(points).mask.resize(self.size, Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(soft))
        light = Image.merge("RGB", [mask.point(lambda v, c=c: int(v * c / 255 * strength)) for c in colour])
        self.image = ImageChops.screen(self.image, light)

    def dim(self, cut: Cut, strength: float, soft: float = 14) -> None:
        """A soft shade that is no sheet of its own."""
        mask = cut.mask.resize(self.size, Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(soft))
        self.image.paste(SHADOW, mask=mask.point(lambda v: int(v * strength)))

    def write(self, text: str, x: float, y: float, *, size: float = 30, colour: Colour = "#2d2a32", pen: float = 3.2, wild: float = 0.12) -> float:
        """Letters by hand, `size` tall, their top left at (x, y). Gives the x behind the last."""
        unit, cut = size / 6, self.cut()
        for letter in text.upper():
            narrow = 3 if letter in "I.:1" else 5.4
            shift = -1 if narrow == 3 else 0
            for stroke in LETTERS.get(letter, "").split():
                pairs = [(int(stroke[i]) + shift, int(stroke[i + 1])) for i in range(0, len(stroke) - 1, 2)]
                field_places = [(x + (px + self._wobble(wild)) * unit, y + (py + self._wobble(wild)) * unit) for px, py in pairs]
                cut.line(field_places, pen)
            x += narrow * unit
        self.lay(cut, colour, lift=0, edge=0)
        return x

    def frame(self, dark: float = 0.34) -> None:
        """The last light: a little darker towards the corners."""
        w, h = self.size
        shade = Image.radial_gradient("L").resize((round(w * 1.25), round(h * 1.25))).crop((round(w * 0.125), round(h * 0.125), round(w * 1.125), round(h * 1.125)))
        self.image.paste(SHADOW, mask=shade.point(lambda v: int(max(0, v - 90) * dark)))

    def _wobble(self, wild: float) -> float:
        return self.chance.uniform(-wild, wild)

    def _fibres(self) -> Image.Image:
        """The paper's grain: long soft clouds and short fibres, grey around the middle."""
        w, h = self.size
        clouds, fibres = self._noise(w // 80, h // 80), self._noise(w // 10, h // 5)
        return Image.blend(clouds, fibres, 0.3).point(lambda v: int(128 + (v - 128) * 0.3))

    def _noise(self, w: int, h: int) -> Image.Image:
        """Chance, grown to the picture's size; its left fits its right and its top its bottom."""
        seeds, tiled = Image.frombytes("L", (w, h), self.chance.randbytes(w * h)), Image.new("L", (w + 4, h + 4))
        for x in (2 - w, 2, 2 + w):
            for y in (2 - h, 2, 2 + h):
                tiled.paste(seeds, (x, y))
        return tiled.resize(self.size, Image.Resampling.BICUBIC, box=(2, 2, w + 2, h + 2))

    def _paper(self, size: tuple[int, int], colour: Colour, to: Colour | None) -> Image.Image:
        sheet = Image.new("RGB", size, colour)
        if to is not None:
            sheet.paste(Image.new("RGB", size, to), mask=Image.linear_gradient("L").resize(size))
        grain = ImageChops.offset(self.fibres, self.chance.randrange(self.size[0]), self.chance.randrange(self.size[1]))
        grain = grain.crop((0, 0, *size))
        return ImageChops.soft_light(sheet, Image.merge("RGB", [grain] * 3))


def moved(mask: Image.Image, x: int, y: int) -> Image.Image:
    """A mask moved right and down; what leaves on one side does not come back on the other."""
    target = Image.new("L", mask.size, 0)
    target.paste(mask, (x, y))
    return target


def curve(points: Sequence[Point], *, closed: bool = False, steps: int = 10) -> list[Point]:
    """A smooth way through the points (Catmull-Rom)."""
    n = len(points)
    around = (lambda i: points[i % n]) if closed else (lambda i: points[min(max(i, 0), n - 1)])
    way: list[Point] = []
    for i in range(n if closed else n - 1):
        a, b, c, d = (around(i + k) for k in (-1, 0, 1, 2))
        for k in range(steps):
            t = k / steps
            way.append((spline(a[0], b[0], c[0], d[0], t), spline(a[1], b[1], c[1], d[1], t)))
    return way if closed else [*way, points[-1]]


def spline(a: float, b: float, c: float, d: float, t: float) -> float:
    """One coordinate between b and c."""
    return 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t * t + (3 * b - a - 3 * c + d) * t**3)


def rounded(cut: Cut, points: Sequence[Point], r: float) -> Cut:
    """A polygon added to a cut with corners of radius r, all of it r larger."""
    return cut.poly(points).line([*points, points[0]], 2 * r)


def ring(x: float, y: float, r: float, count: int, *, start: float = 0, ry: float | None = None) -> list[Point]:
    """Points at even steps on a circle, clockwise from the right."""
    ry = r if ry is None else ry
    turns = [start + 2 * math.pi * i / count for i in range(count)]
    return [(x + r * math.cos(t), y + ry * math.sin(t)) for t in turns]


def arc(x: float, y: float, r: float, begin: float, end: float, *, steps: int = 40) -> list[Point]:
    """Points on a part of a circle, in degrees clockwise from the right."""
    turns = [math.radians(begin + (end - begin) * i / steps) for i in range(steps + 1)]
    return [(x + r * math.cos(t), y + r * math.sin(t)) for t in turns]
