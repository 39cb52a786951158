# The points of a shape, and the lines of a paper, are read as one row: they are not wrapped.
# fmt: off
"""The Sedge in paper: from the side and from the front. An invented truck, like no other on purpose."""

from __future__ import annotations

from cut_paper import Cut, Point, Sheet, curve, ring

GREEN, GREEN_DARK, CREAM, CANVAS, DARK, RUST = "#72845a", "#55663f", "#e8dcbd", "#bf9257", "#2f2e33", "#a8552f"


class Side:
    """The truck seen from its right side, nose to the right; (x, y) is the ground below its tail, `s` the scale."""

    def __init__(self, sheet: Sheet, x: float, y: float, s: float = 1, *, lit: bool = False, flat: bool = False, plough: bool = False) -> None:
        self.sheet, self.x, self.y, self.s = sheet, x, y, s
        self.lit, self.flat, self.plough = lit, flat, plough

    def p(self, *points: Point) -> list[Point]:
        return [(self.x + px * self.s, self.y + py * self.s) for px, py in points]

    def lay(self, cut: Cut, colour: str, *, to: str | None = None, lift: float = 7) -> None:
        self.sheet.lay(cut, colour, to=to, lift=lift * max(self.s, 0.45))

    def cut(self, *points: Point, smooth: bool = False) -> Cut:
        way = self.p(*points)
        return self.sheet.cut().poly(curve(way, closed=True) if smooth else way)

    def rule(self, cut: Cut, width: float, *points: Point, hole: bool = False) -> Cut:
        return cut.line(self.p(*points), width * self.s, hole=hole)

    def disc(self, cut: Cut, x: float, y: float, r: float, *, hole: bool = False) -> Cut:
        ((px, py),) = self.p((x, y))
        return cut.disc(px, py, r * self.s, hole=hole)

    def draw(self) -> None:
        self.sheet.dim(self.sheet.cut().disc(self.x + 480 * self.s, self.y + 4, 510 * self.s, 26 * self.s), 0.6, 16 * self.s)
        self._frame()
        self._bed()
        self._cab()
        self._nose()
        for x in (205, 765):
            self._wheel(x)
        if self.plough:
            self._plough()

    def _frame(self) -> None:
        under = self.cut((30, -170), (940, -170), (960, -120), (900, -92), (60, -92), (20, -120))
        self.lay(under, DARK)
        self.lay(self.cut((330, -135), (560, -135), (548, -78), (342, -78)), "#3d3c40", to="#2a292d")

    def _bed(self) -> None:
        hood = [(18, -248), (14, -380), (26, -452), (60, -482), (215, -496), (350, -488), (398, -470), (404, -248)]
        self.lay(self.cut(*hood), CANVAS, to="#a2763f", lift=9)
        for x in (112, 212, 312):
            rib = self.rule(self.sheet.cut(), 5, (x, -486), (x - 1, -330), (x, -252))
            self.lay(rib, "#a97f48", lift=2)
        rope = self.sheet.cut()
        for x in range(40, 400, 45):
            self.rule(rope, 3, (x, -262), (x + 9, -232))
        self.lay(self.cut((10, -252), (410, -252), (410, -146), (318, -146), (284, -204), (126, -204), (92, -146), (10, -146)), GREEN, to=GREEN_DARK)
        self.lay(rope, CREAM, lift=1)
        self.lay(self.rule(self.sheet.cut(), 4, (22, -226), (398, -226)), GREEN_DARK, lift=1)
        self.lay(self.cut((10, -212), (28, -212), (28, -176), (10, -176)), "#b23a2e", lift=2)

    def _cab(self) -> None:
        body = [(404, -146), (404, -452), (426, -484), (648, -484), (662, -468), (632, -300), (640, -146)]
        self.lay(self.cut(*body), GREEN, to=GREEN_DARK, lift=10)
        roof = [(398, -470), (420, -506), (660, -506), (690, -490), (686, -474), (398, -474)]
        self.lay(self.cut(*roof), CREAM, to="#d3c5a0", lift=5)
        glass = "#f6dc98" if self.lit else "#9fb8b5"
        window = self.cut((486, -338), (486, -444), (630, -444), (610, -338))
        self.lay(window, glass, to="#e9b765" if self.lit else "#c7d4c4", lift=0)
        self.lay(self.cut((642, -440), (652, -440), (632, -322), (624, -322)), glass, lift=0)
        self.lay(self.disc(self.sheet.cut(), 444, -392, 25), glass, to="#c7d4c4", lift=0)
        trim = self.disc(self.disc(self.sheet.cut(), 444, -392, 31), 444, -392, 25, hole=True)
        self.lay(trim, CREAM, lift=2)
        self.lay(self.cut((500, -344), (536, -444), (560, -444), (524, -344)), "#dfe8dc" if not self.lit else "#fff0c4", lift=0)
        door = self.sheet.cut()
        self.rule(door, 4, (474, -456), (474, -176), (490, -160), (620, -160), (618, -300), (640, -456), (474, -456))
        self.lay(door, GREEN_DARK, lift=1)
        self.lay(self.rule(self.sheet.cut(), 9, (488, -300), (518, -300)), CREAM, lift=3)
        self.lay(self.cut((660, -420), (676, -420), (676, -366), (660, -366)), DARK, lift=4)

    def _nose(self) -> None:
        stack = self.rule(self.sheet.cut(), 17, (672, -270), (672, -540))
        self.rule(stack, 14, (672, -540), (656, -566))
        self.lay(stack, "#5a5450", to="#3c3836", lift=6)
        nose = [(622, -146), (622, -308), (640, -312), (880, -280), (926, -262), (948, -226), (952, -150), (884, -146), (852, -204), (682, -204), (648, -146)]
        self.lay(self.cut(*nose), GREEN, to=GREEN_DARK, lift=9)
        wing = [(640, -150), (668, -222), (862, -222), (896, -150), (880, -146), (850, -202), (684, -202), (654, -146)]
        self.lay(self.cut(*wing), "#64764c", lift=5)
        slots = self.sheet.cut()
        for i in range(6):
            self.rule(slots, 6, (716 + i * 24, -272 + i * 3), (708 + i * 24, -240 + i * 2))
        self.lay(slots, GREEN_DARK, lift=0)
        self.lay(self.rule(self.sheet.cut(), 4, (632, -292), (930, -252)), CREAM, lift=1)
        lamp = self.disc(self.sheet.cut(), 934, -206, 27)
        self.lay(lamp, "#5f5b55", lift=4)
        self.lay(self.disc(self.sheet.cut(), 940, -206, 20), "#fff3c8" if self.lit else "#ded7c4", lift=0)
        self.lay(self.cut((900, -144), (978, -144), (982, -112), (900, -112)), CREAM, to="#b9ab88", lift=5)

    def _wheel(self, x: float) -> None:
        drop = 10 if self.flat else 0
        tyre = self.disc(self.sheet.cut(), x, -88 + drop, 88)
        for tooth in ring(x, -88 + drop, 88, 30):
            self.disc(tyre, tooth[0], tooth[1], 7)
        ground = self.p((x - 200, 2), (x + 200, 2), (x + 200, 60), (x - 200, 60))
        tyre.poly(ground, hole=True)
        if self.flat:
            tyre.poly(self.p((x - 66, 0), (x - 74, -9), (x - 60, -24), (x + 60, -24), (x + 74, -9), (x + 66, 0)))
        self.lay(tyre, "#38363b", to="#242328", lift=8)
        self.lay(self.disc(self.sheet.cut(), x, -88 + drop, 50), CREAM, to="#bfb18e", lift=3)
        holes = self.sheet.cut()
        for hx, hy in ring(x, -88 + drop, 34, 8):
            self.disc(holes, hx, hy, 6)
        self.lay(holes, "#57514a", lift=0)
        self.lay(self.disc(self.sheet.cut(), x, -88 + drop, 17), RUST if self.flat else "#8d8a80", lift=3)

    def _plough(self) -> None:
        arm = self.rule(self.rule(self.sheet.cut(), 16, (880, -110), (1060, -90)), 10, (930, -190), (1060, -90))
        self.lay(arm, "#4a4446", lift=5)
        blade = self.p((1064, 0), (1046, -60), (1058, -130), (1096, -168), (1108, -160), (1080, -100), (1084, -40), (1104, 0))
        self.lay(self.sheet.cut().poly(curve(blade, closed=True)), "#c07a3a", to="#8f4d24", lift=8)


def draw_front(sheet: Sheet, x: float, y: float, s: float, *, lit: bool = False) -> None:
    """The truck head on; (x, y) is the ground below its middle."""

    def p(*points: Point) -> list[Point]:
        return [(x + px * s, y + py * s) for px, py in points]

    def lay(cut: Cut, colour: str, to: str | None = None, lift: float = 7) -> None:
        sheet.lay(cut, colour, to=to, lift=lift * s)

    def both(*points: Point) -> Cut:
        return sheet.cut().poly(p(*points, *[(-px, py) for px, py in reversed(points)]))

    sheet.dim(sheet.cut().disc(x, y, 330 * s, 30 * s), 0.6, 18)
    for side in (-1, 1):
        lay(sheet.cut().box(x + (side * 216 - 52) * s, y - 190 * s, 104 * s, 190 * s, r=26 * s), "#38363b", "#222127")
        treads = sheet.cut()
        for k in range(9):
            treads.line(p((side * 216 - 40, -176 + k * 20), (side * 216, -168 + k * 20), (side * 216 + 40, -176 + k * 20)), 5 * s)
        lay(treads, "#4b484e", lift=1)
    lay(both((-236, -300), (-244, -470), (-226, -604), (0, -612)), GREEN, GREEN_DARK, 9)
    lay(both((-262, -596), (-238, -634), (0, -640), (0, -588)), CREAM, "#cfc19b", 6)
    for side in (-1, 1):
        pane = p((side * 14, -560), (side * 208, -552), (side * 222, -420), (side * 14, -416))
        lay(sheet.cut().poly(pane), "#f3d692" if lit else "#9fb8b5", "#e3b468" if lit else "#cfdacb", 0)
        shine = p((side * 60 - 20, -556), (side * 60 + 24, -556), (side * 60 - 8, -420), (side * 60 - 52, -420))
        lay(sheet.cut().poly(shine), "#e3ebe0", lift=0)
        lay(sheet.cut().line(p((side * 30, -424), (side * 150, -500)), 6 * s), DARK, lift=2)
        lay(sheet.cut().box(x + (side * 286 - 22) * s, y - 520 * s, 44 * s, 74 * s, r=8 * s), DARK, "#4a494e", 5)
        lay(sheet.cut().line(p((side * 244, -470), (side * 270, -484)), 8 * s), DARK, lift=2)
    lay(both((-270, -196), (-276, -330), (-236, -366), (0, -372), (0, -190)), "#64764c", GREEN_DARK, 9)
    lay(both((-196, -180), (-204, -372), (-170, -416), (0, -424), (0, -176)), GREEN, GREEN_DARK, 8)
    grille = sheet.cut()
    for k in range(5):
        grille.line(p((-92 - k * 3, -366 + k * 34), (92 + k * 3, -366 + k * 34)), 15 * s)
    lay(grille, DARK, lift=0)
    for lean in (-34, 0, 34):
        lay(sheet.cut().poly(curve(p((-7, -312), (lean * 0.5 - 9, -356), (lean, -402), (lean * 0.5 + 9, -356), (7, -312)), closed=True)), CREAM, "#cdbf98", 4)
    for side in (-1, 1):
        lay(sheet.cut().box(x + side * 182 * s - 62 * s, y - 336 * s, 124 * s, 84 * s, r=30 * s), "#5f5b55", lift=5)
        lens = sheet.cut().box(x + side * 182 * s - 52 * s, y - 326 * s, 104 * s, 64 * s, r=24 * s)
        lay(lens, "#fff3c8" if lit else "#e4ddca", "#f2d48a" if lit else "#bdb6a4", 0)
        for k in (-1, 0, 1):
            lay(sheet.cut().line(p((side * 182 + k * 24, -318), (side * 182 + k * 24, -270)), 3 * s), "#d9b96a", lift=0)
        lay(sheet.cut().box(x + side * 182 * s - 40 * s, y - 244 * s, 80 * s, 22 * s, r=10 * s), "#d88a2e", lift=3)
    lay(sheet.cut().box(x - 292 * s, y - 186 * s, 584 * s, 50 * s, r=10 * s), CREAM, "#b9ab88", 8)
    lay(sheet.cut().line(p((0, -560), (0, -414)), 12 * s), GREEN_DARK, lift=3)
