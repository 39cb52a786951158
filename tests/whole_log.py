"""A log that fills every field of the format, and a pen that goes over its texts: for canaries, languages, injections.

The pen is led by the record classes, so that a field that is added to them is gone over, and missed in `WHOLE`, by
itself.
"""

from __future__ import annotations

import datetime
import io
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml
from PIL import Image

from buildlog.read import kinds, numbers
from buildlog.read.entry import Entry, StandingPage
from buildlog.read.fields import LogRecord, Slot, list_slots
from buildlog.read.log_settings import Settings

AS_OF = datetime.date(2024, 7, 1)
FIRST, SECOND, THIRD = "2024-05-18-pump", "2024-06-08-again", "2024-06-22-drive"

SETTINGS = """
machine:
  name: Old Tom
  kind: road vehicle
  maker: Fennick
  model: Drover
  year: 1991
  vin: FNK2400D000077731
  hin: XXZZZ7732VD404
  chassis_number: CHS 7733 Q
  engine_number: ENG 7734 Q
  registration: REG 7735 Q
  market: elsewhere
  meter: {unit: mi, digits: 6, statement: not actual}
  place: The barn at the lake
acquired:
  date: 2024-02-03
  price: 7701.13
  reading: 112000
  rollover: false
  paper: papers/sale.pdf
  from: A man called Seller
  condition: Would not start
history:
  - date: 1998
    what: Engine rebuilt
    serviced: [oil]
    reading: 61200
    rollover: false
    who: A workshop in town
    evidence: on paper
    paper: papers/engine.pdf
  - date: 2003-05
    what: Instrument changed
    meter_changed: {old: 90000, new: 90100, why: Glass was broken, paper: papers/glass.pdf}
  - {date: 2005, what: Painted green}
money: {currency: GBP, hour_rate: 77.02, budget: {fuel: 7703.11, body: 7704.12}}
systems: {fuel: Fuel lines, body: Bodywork}
components:
  lift-pump: {system: fuel, name: The lift pump, reached_by: cover, check_hours: 0.3, likely: 3}
  hose: {system: fuel, name: Return hose, reached_by: cover, check_hours: 0.2}
  belt: {system: body, name: Fan belt, check_hours: 0.4}
  charger: {system: body, name: Alternator, driven_by: belt}
  tank: {system: body, name: Tank}
strip_downs:
  tray: {name: Under tray off, hours: 1}
  cover: {name: Pump cover off, hours: 1.5, after: [tray]}
  wing: {name: Wing off, hours: 2}
service:
  oil: {name: Engine oil, every: {months: 12, distance: 6000}, notice: {days: 30, distance: 300}, system: fuel,
        covers: [hose, tank], since: 2024-02-03}
  belts: {name: All belts, every: {months: 24}, system: body, covers: [belt]}
laid_up: {from: 2023-01-01, until: 2023-06-01}
wanted:
  - {what: Hood of canvas, about: 7741.18, for: body, from: The sailmaker}
  - {what: Sticks of ash, about: 7742.19, for: body, since: 2024-05-01}
lists:
  road:
    name: Before the road
    items:
      - {name: pedal, what: Pedal is hard, caution: Brakes can kill, for: body}
      - Lamps burn
      - Horn sounds
public: {}
site:
  id: tom of 2020
  title: Coming back
  language: en-GB
  address: https://example.org/tom/
  theme: margin
  type: bundled
  author: A pen name
  cover: 2024-05-18-pump/IMG 77132.jpg
"""

ENTRIES = {
    FIRST: """
date: 2024-05-18
title: Pump off
hours: 4.5
reading: 112530
rollover: false
systems: [fuel]
milestone: Heard her run
bought:
  - from: Kanaal Motordelen
    ref: KM-77120
    ordered: 2024-05-06
    paid: 2024-05-07
    currency: EUR
    charged: 7771.21
    prices: net
    tax: 21
    carriage: {amount: 7716.90, what: By the night boat, tax: 9}
    handling: [{amount: 7717.10, what: In a crate, untaxed: {category: exempt, why: A crate is lent}}]
    discount: {amount: 7718.30, what: For a good customer}
    rounding: 7744.99
    duty: {amount: 7714.20, currency: GBP, what: Duty at the border}
    charges: [{amount: 7715.30, currency: GBP, what: Clearing by the carrier}]
    paper: papers/km.pdf
    lines:
      - {part: lift-pump, name: Pump with a lever, number: LP 4410-A, maker: Vostrand, replaces_number: LP 4410,
         each: 7719.40, core: 7745.05, core_by: 2024-07-10, spec: equivalent, for: fuel, fault: hot-start}
      - {part: seal, name: Seal of paper, shelf: In the green tin, return_by: 2024-06-20, warranty: {months: 24},
         number: "0410 223", qty: 2, each: 7720.35, single_use: true, for: fuel}
      - {what: Hose by the metre, qty: 5, unit: metre, each: 7721.10, tax: 9, kind: consumable}
      - {what: A sticker, total: 7722.06}
      - {what: Screws of brass, qty: 250, each: 7745.11, per: 100, untaxed: {category: exempt, why: Brass is free},
         discount: {amount: 7746.22, what: As they are old}, surcharge: {amount: 7747.33, what: To count them}}
      - {what: Box on exchange, each: 7734.77, core: 7735.88}
      - {what: Cap of cloth, each: 0, worth: 7736.99}
      - {part: badge, name: Badge of the club, each: 0, worth: 7723.07, from_sponsor: true}
      - {part: door, name: Door handle, each: 7724.33, qty: 3}
  - from: Lamps and more
    ref: SH-77122
    paid: 2024-05-18
    lines: [{part: bulb, name: Bulb of glass, each: 7732.55}, {what: Fuse, each: 1}]
  - from: The chandler
    arrived: {date: 2024-05-18, lines: {rags: 1, wax: 1}}
    paid: 2024-05-18
    lines: [{part: rags, name: Rags, each: 7733.66}, {part: wax, name: Wax, each: 1}]
  - from: Caps by post
    ref: KM-77126
    paid: [{date: 2024-05-18, amount: 7739.44, currency: EUR, settles: 7740.55, charged: 7741.66}]
    lines: [{part: cap, name: Cap of tin, qty: 3, each: 7737.44}, {what: String, each: 1}]
  - from: Second hand Sam
    ref: SH-77121
    currency: USD
    rate: 0.8771
    return_by: 2024-07-20
    warranty: {until: 2025-05-18}
    untaxed: {category: exempt, why: Nothing to be paid}
    lines: [{what: A gauge, each: 7725.44}, {what: Tape, each: 1}]
removed:
  - {part: original, name: First lift pump, at: left of block, qty: 1, why: Cracked, fate: kept, for: fuel,
     shelf: On the beam}
  - {part: original, name: Old horn, why: Silent for years, for: body, fate: kept}
  - {part: original, name: Old mirror, why: Was blind, for: body, fate: kept}
  - {part: original, name: Old lamp, why: Was dim, for: body, fate: kept}
faults:
  - {fault: hot-start, name: Will not start hot, suspects: [lift-pump, hose, belt]}
  - {fault: squeal, name: Squeals in the wet, suspects: [belt, charger, tank]}
checks:
  - {fault: hot-start, did: Hose in the return, clears: [hose], hours: 0.5}
  - {fault: hot-start, did: Pump on the bench, cause: lift-pump}
measured:
  - {what: Compression, unit: bar, values: {front-one: 27.9, rear-one: 28.3}, limits: {min: 24, max: 40, spread: 10%},
     note: Engine was warm}
  - {what: Voltage, unit: volt, value: 12.6, note: Over night}
tightened:
  - {what: Pump bolts, qty: 2, to: 22 N·m, method: By hand first, recheck: {after: 50 mi}, part: lift-pump}
temporary:
  - {name: cap, what: Cork in the filler, until: The new cap is here, behind: cover}
  - {name: seat, what: Tarpaulin on the seat, until: Leather is sewn}
stripped: [tray, cover]
photos:
  - {file: Jane Doe 77131.jpg, says: Crack in the diaphragm, shows: [lift-pump, meter], taken: 2024-05-18,
     hide: [[0.7, 0.1, 0.9, 0.2]], after: IMG 77132.jpg}
  - {file: IMG 77132.jpg, says: The tray on the floor}
next: [{name: bleed, what: Bleed it again}, Order a cap, Paint the tray, Look for the jack]
wanted:
  - {part: rear-door, what: Door at the back, qty: 2, about: 7743.21, for: fuel, from: The belt man}
  - {what: Jar of grease, about: 7744.22, for: fuel}
  - {what: Clamp of brass, about: 7745.23, for: fuel}
brought_from: {file: brought-7790.csv, digest: 'sha256:7791', at: rows 7792 to 7793}
was: [2024-05-18-first-called, 2024-05-18-then-called]
""",
    SECOND: """
date: 2024-06-08
title: Pump on again
hours: 3
reading: 112600
systems: [fuel, body]
arrived:
  - {ref: KM-77120, date: 2024-06-01}
  - {ref: SH-77122, part: bulb, date: 2024-06-02}
  - {ref: KM-77126, lines: {cap: 2}, date: 2024-06-03}
paid:
  - {ref: SH-77121, date: 2024-06-02, charged: 7726.17}
  - {ref: KM-77126, date: 2024-06-02, amount: 7742.77, currency: CHF, settles: 7743.88}
returned:
  - {ref: KM-77120, part: door, qty: 1, refund: 7724.30, charged: 7727.70, date: 2024-06-05, paper: papers/back.pdf,
     why: Wrong side}
  - {ref: KM-77120, part: lift-pump, core: 7745.00, charged: 7728.80}
  - {ref: KM-77126, part: cap, cancelled: 1, refund: 7738.55, prices: gross}
sold:
  - {part: original, name: Old horn, qty: 1, price: 7729.17, date: 2024-06-04, for: body, paper: papers/horn.pdf}
  - {what: Roof rack from the barn, price: 7730.19}
fitted:
  - {part: lift-pump, at: left of block, instead_of: original, planned: false, hours: 1.5, spec: upgraded, for: fuel,
     paper: papers/km.pdf, note: Needs a shim}
  - {part: original, name: Old mirror, at: on the right}
  - {part: seal, qty: 1}
scrapped: [{part: door, qty: 1, why: Bent in the post}, {part: original, name: Old lamp, why: Had no glass}]
serviced:
  - {item: oil, reading: 112600, who: A friend, parts: [seal], looked_at: [hose], paper: papers/oil.pdf,
     note: Four litres}
meter_changed: {old: 112600, new: 20, why: Needle stuck, paper: papers/needle.pdf}
fixed: {fault: hot-start, how: New pump and seal, proved: Three hot starts}
measured:
  - {what: Compression, unit: bar, values: {front-one: 28.9, rear-one: 39.3}, limits: {min: 24, max: 40}, note: Cold}
made_good: [seat]
refitted: [cover, tray]
done: [Bleed it again]
dropped: [Paint the tray]
unwanted: [Clamp of brass]
ticked: {list: road, items: [Pedal is hard, Lamps burn], note: With a friend on the pedal}
photos: [IMG 77133.jpg]
""",
    THIRD: """
date: 2024-06-22
title: Up the hill
reading: 60
systems: [body]
seen_again: {fault: hot-start, note: On the hill}
removed: {part: lift-pump, at: left of block, why: Leaks at the lever, fate: scrapped}
checks: {fault: squeal, did: Belt held to the light, clears: [tank], hours: 0.5}
tightened: {what: Pump bolts, to: 23 N·m}
stripped: [wing]
""",
}
BODIES = {
    FIRST: "# Words of the story\n\nIt came off.\n\n![](Jane%20Doe%2077131.jpg)\n",
    SECOND: "It went on.\n",
    THIRD: "",
}

PAGE = "specification"
PAGES = {
    PAGE: """
title: What the maker says
order: 2
date: 2024-05-01
photos: [{file: IMG 77134.jpg, says: The plate on the bulkhead, hide: [[0.7, 0.1, 0.9, 0.2]]}, {file: IMG 77135.jpg}]
papers: [papers/sheet.pdf]
""",
}
TEXTS = {PAGE: f"As it came, see [the pump]({FIRST}.md).\n\n![](IMG%2077134.jpg)\n"}

Pen = Callable[[type[LogRecord], Slot, str], str]
"From the class, the field and what stands there to what is written instead."


def list_classes() -> dict[type[LogRecord], None]:
    """Every record class of the format."""
    found: dict[type[LogRecord], None] = {}
    waiting: list[type[LogRecord]] = [Entry, Settings, StandingPage]
    while waiting:
        record = waiting.pop()
        if record not in found:
            found[record] = None
            waiting += [slot.kind for slot in list_slots(record).values() if isinstance(slot.kind, type)]
    return found


def write_over(record: type[LogRecord], value: Any, pen: Pen) -> Any:
    """A record as YAML reads it, with each value gone over."""
    slots = list_slots(record)
    return {key: _write_slot(record, slots[key], held, pen) for key, held in value.items()}


def _write_slot(record: type[LogRecord], slot: Slot, value: Any, pen: Pen) -> Any:
    def write(one: Any) -> Any:
        if isinstance(slot.kind, type):
            short = {slot.kind.SHORT: one} if isinstance(one, str) and slot.kind.SHORT else one
            return write_over(slot.kind, short, pen)
        return one if isinstance(one, list) else pen(record, slot, one)

    if slot.shape == "table":
        return {key: write(one) for key, one in value.items()}
    if slot.shape == "list" and slot.kind is not numbers.BOX:
        return [write(one) for one in (value if isinstance(value, list) else [value])]
    return write(value)


@dataclass(frozen=True)
class WholeLog:
    """The files of the log, ready to be written."""

    settings: Mapping[str, Any]
    entries: Mapping[str, Mapping[str, Any]]
    bodies: Mapping[str, str]
    "of entries and pages"
    pages: Mapping[str, Mapping[str, Any]]

    def write(self, folder: Path) -> Path:
        """The log in a folder: its texts, a picture for each photo it lists, a file for each paper."""
        files = {"log.yaml": _dump(self.settings).encode()}
        told = {f"entries/{name}.md": front for name, front in self.entries.items()}
        told |= {f"pages/{name}.md": front for name, front in self.pages.items()}
        for path, front in told.items():
            name = Path(path).stem
            files[path] = f"---\n{_dump(front)}---\n{self.bodies[name]}".encode()
            for number, photo in enumerate(front.get("photos", [])):
                files[f"photos/{name}/{photo['file']}"] = draw_photo(40 * number)
        papers: list[str] = []
        self._over(lambda record, slot, value: papers.append(value) or value if slot.kind is kinds.PATH else value)
        files |= dict.fromkeys(papers, b"%PDF-1.4 " + PAPER_MARK)
        for path, data in files.items():
            (folder / path).parent.mkdir(parents=True, exist_ok=True)
            (folder / path).write_bytes(data)
        return folder

    def over(self, pen: Pen, *, body: Callable[[str], str] = lambda text: text) -> WholeLog:
        """The log gone over by a pen, and its stories by another."""
        settings, entries, pages = self._over(pen)
        return WholeLog(settings, entries, {name: body(text) for name, text in self.bodies.items()}, pages)

    def _over(self, pen: Pen) -> tuple[Any, dict[str, Any], dict[str, Any]]:
        entries = {name: write_over(Entry, front, pen) for name, front in self.entries.items()}
        pages = {name: write_over(StandingPage, front, pen) for name, front in self.pages.items()}
        return write_over(Settings, self.settings, pen), entries, pages

    def list_values(self) -> Iterator[tuple[type[LogRecord], Slot, str]]:
        """Every value with its class and its field."""
        found: list[tuple[type[LogRecord], Slot, str]] = []
        self._over(lambda record, slot, value: found.append((record, slot, value)) or value)
        yield from found


PAPER_MARK, PHOTO_MARK = b"inside a paper 77140", b"inside a photo 77141"


def draw_photo(grey: int) -> bytes:
    """A picture whose metadata says where and by whom it was taken."""
    exif = Image.Exif()
    exif[0x010E] = exif[0x013B] = PHOTO_MARK.decode()  # ImageDescription, Artist
    exif[0x8825] = {1: "N", 2: (52.0, 7.0, 7.141), 3: "E", 4: (4.0, 7.0, 7.141)}  # place
    file = io.BytesIO()
    Image.new("RGB", (640, 480), (grey, 90, 120)).save(file, "JPEG", exif=exif, comment=PHOTO_MARK)
    return file.getvalue()


def read_whole() -> WholeLog:
    """The log as it stands above, shorthands written out."""
    log = WholeLog(
        yaml.load(SETTINGS, yaml.BaseLoader),
        {name: yaml.load(text, yaml.BaseLoader) for name, text in ENTRIES.items()},
        BODIES | TEXTS,
        {name: yaml.load(text, yaml.BaseLoader) for name, text in PAGES.items()},
    )
    return log.over(lambda record, slot, value: value)


def _dump(value: Any) -> str:
    return yaml.safe_dump(value, allow_unicode=True, sort_keys=False, width=1000)
