"""Texts of new files: a log to start with, and the next entry, filled with what is known; valid as they stand.

What is known is handed in; nothing is computed here. What an owner may want next stands in comments, to be uncommented.
"""

from __future__ import annotations

import datetime
import errno
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.frozen import frozen
from buildlog.read.kinds import make_short_name
from buildlog.read.log_settings import MACHINE_KINDS
from buildlog.read.records import Amount, Entry, Log
from buildlog.read.salvage import read_yaml
from buildlog.read.yaml_tree import UNSEEN, Listing, Scalar
from buildlog.text import TURNING

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.compute.plans import PlanItem
    from buildlog.photos.intake import IntakePlan

MOST_OFFERED = 12
"Of each kind how many a draft offers, our own limit: a shelf of hundreds would bury the entry."

Fact = tuple[str, str]
"A short name or ref as an entry cites it, and what it is in words."


def draft_log(name: str, *, kind: str, currency: str, unit: str, today: datetime.date, id: str) -> dict[str, str]:
    """The files of a new log, by their path in its folder: its settings and a first entry.

    `id` is the log's own for good, and no other log's.
    """
    settings = SETTINGS.format(
        name=write_text(name),
        kind=write_text(kind),
        kinds=", ".join(f"`{each}`" for each in MACHINE_KINDS),
        currency=write_text(currency),
        unit=unit,
        id=write_text(id),
        today=today,
        interval="hours: 100" if unit == "h" else "distance: 12000",
    )
    first = _fill_entry(today, "The log begins", ["# reading: 0"])
    return {"log.yaml": settings, f"entries/{today}-the-log-begins.md": first}


@frozen
class Known:
    """What is known of the next entry before it is written."""

    shelf: tuple[Fact, ...] = ()
    "parts that wait to be fitted"
    post: tuple[Fact, ...] = ()
    "orders that have not come"
    to_check: tuple[Fact, ...] = ()
    "faults whose cause is not known"
    to_fix: tuple[Fact, ...] = ()
    "faults whose cause is known"
    to_prove: tuple[Fact, ...] = ()
    "faults with a fix that nothing has proved yet"
    off: tuple[Fact, ...] = ()
    "strip-downs that are off"
    due: tuple[Fact, ...] = ()
    "service items that are due, overdue or of unknown history"
    to_tighten: tuple[tuple[str, str, str], ...] = ()
    "fasteners that are due to be checked again: what they are, to what they were tightened, how it stands"
    temporary: tuple[Fact, ...] = ()
    "temporary repairs that are still there"
    to_do: tuple[Fact, ...] = ()
    "open `next:` items, each by its short name or its words"
    cores: tuple[tuple[str, str, str, str], ...] = ()
    "old units to hand in: ref of the order, part, core charge, how it stands"
    notes: tuple[str, ...] = ()
    "what else runs out: whole sentences"
    photos: tuple[str, ...] = ()
    "file names in the entry's photo folder; what each shows is left for the owner to say"


@frozen
class Draft:
    """The next entry, not written yet."""

    texts: Mapping[str, str]
    "its file, by the path in the log"
    intake: IntakePlan | None
    "the photos to copy before it is written; None when none were asked for"


def draft_next(figures: Figures, title: str, date: datetime.date, *, photos: Path | None = None) -> Draft:
    """The next entry's file: last reading, shelf, post, open faults, and that day's photos of a folder.

    Nothing is written for it. Raises OSError when the folder cannot be listed.
    """
    intake = plan_photos(figures, photos, date, name_entry(figures.log, title, date))
    taken = (take.name for take in intake.takes) if intake else ()
    name, text = draft_entry(figures.log, title, date=date, known=find_known(figures, tuple(taken)))
    return Draft(texts={f"entries/{name}": text}, intake=intake)


def plan_photos(figures: Figures, photos: Path | None, date: datetime.date, entry: str) -> IntakePlan | None:
    """What becomes of the photos of a folder, for an entry of a day; None where none is given."""
    if photos is None:
        return None
    from buildlog.photos.intake import plan_intake

    return plan_intake(photos, day=date, log=figures.log, entry=entry)


def find_known(figures: Figures, photos: tuple[str, ...] = ()) -> Known:
    """What an owner is likely to write about on the day of the figures."""
    # One of the machine's own that lies on the shelf was taken off it: it is rarely what is fitted next.
    shelf = ((part.key, part.name) for part in figures.parts.parts if part.shelf > 0 and not part.original)
    post = {item.ref: item.supplier for item in figures.in_the_post if item.ref}
    strip_downs = figures.log.settings.strip_downs
    return Known(
        shelf=tuple(shelf),
        post=tuple(post.items()),
        to_check=_list_faults(figures, "open", "narrowed"),
        to_fix=_list_faults(figures, "cause known"),
        to_prove=_list_faults(figures, "fixed, not proved"),
        off=tuple((key, strip_downs[key].name) for key in figures.strip_downs.off if key in strip_downs),
        due=tuple((item.key, f"{item.name}: {item.state}") for item in figures.service.items if item.state != "later"),
        to_tighten=tuple(_list_to_tighten(figures)),
        temporary=tuple(_list_temporary(figures)),
        to_do=tuple((item.name or item.what, _say_item(item)) for item in _list_to_do(figures)),
        cores=tuple(_list_cores(figures)),
        notes=tuple(_list_notes(figures)),
        photos=photos,
    )


def _list_to_tighten(figures: Figures) -> Iterator[tuple[str, str, str]]:
    for one in figures.tightening.tightened.values():
        if one.recheck and one.recheck.state != "later":
            yield one.record.what, one.record.to, f"check again: {one.recheck.state}"


def _list_temporary(figures: Figures) -> Iterator[Fact]:
    for repair in figures.temporary:
        if repair.made_good is None:
            yield repair.key, "; until ".join(filter(None, [repair.what, repair.until]))


def _list_to_do(figures: Figures) -> tuple[PlanItem, ...]:
    """What is still to do, oldest first; where nobody ever said what became of an item, the latest of them."""
    items = figures.plans.list_open()
    return items if figures.plans.kept else items[-MOST_OFFERED:]


def _say_item(item: PlanItem) -> str:
    """The words of an item that has a short name, and the day since which it stands."""
    return f"{item.what}, since {item.since}" if item.name else f"since {item.since}"


def _list_cores(figures: Figures) -> Iterator[tuple[str, str, str, str]]:
    last_days = {each.place: each for each in figures.deadlines if each.kind == "core"}
    for core in figures.costs.cores_owed:
        deadline = last_days.get(core.place)
        if core.ref and core.part:
            until = f", to be handed in by {deadline.until}" if deadline else ""
            yield core.ref, core.part, f"{core.core.amount:f}", f"{core.what}{until}"


def _list_notes(figures: Figures) -> Iterator[str]:
    for each in figures.deadlines:
        if each.kind != "core":
            name = each.name or "something without a name"
            yield (
                f"Warranty of {name} ends on {each.until}"
                if each.kind == "warranty"
                else (f"The last day to send back {name} is {each.until}" + (f", order {each.ref}" if each.ref else ""))
            )


def _list_faults(figures: Figures, *states: str) -> tuple[tuple[str, str], ...]:
    """The faults in some states, by key, each with its name and, while no cause is known, the suspects left."""
    faults = [fault for fault in figures.faults.faults if fault.state in states]
    left = {fault.key: ", ".join(fault.left) for fault in faults if fault.key in figures.next_checks}
    return tuple((fault.key, "; left: ".join(filter(None, [fault.name, left.get(fault.key)]))) for fault in faults)


def draft_entry(log: Log, title: str, *, date: datetime.date, known: Known) -> tuple[str, str]:
    """The file name and the text of the next entry; only photos stand in it uncommented."""
    hints = list_hints(log, date, known)
    if known.photos:
        hints.append("photos:  # after `says:`, what each shows, also for people who cannot see it")
        hints += [line for file in known.photos for line in list_photo(file)]
    return f"{name_entry(log, title, date)}.md", _fill_entry(date, title, hints)


def list_photo(file: str, indent: str = "  ") -> tuple[str, str]:
    """A photo in a list of an entry; what it shows is left for the owner to say."""
    return f"{indent}- file: {write_text(file)}", f"{indent}  says:"


def list_hints(log: Log, date: datetime.date, known: Known) -> list[str]:
    """What an owner may want to say that day, line by line, in comments; a line with a key opens a block."""
    hints = ["# hours: 1.5", _draft_reading(log, date)]
    if log.settings.systems:
        hints.append(f"# systems: [{', '.join(log.settings.systems)}]  # keep those that were worked on")
    shelf, to_check = ("{{part: {}}}", known.shelf), ("{{fault: {}, did: What was done and seen}}", known.to_check)
    to_fix = ("{{fault: {}, how: What was done}}", known.to_fix)
    to_prove = ("{{fault: {}, proved: What confirmed it}}", known.to_prove)
    hints += _list_facts("fitted", "on the shelf", shelf)
    hints += _list_facts("arrived", "in the post", ("{}", known.post))
    returned = [_fill("{{ref: {}, part: {}, core: {}}}", *core) for core in known.cores]
    hints += _list_rows("returned", "old units to hand in", returned)
    hints += _list_facts("serviced", "due", ("{}", known.due))
    tightened = [_fill("{{what: {}, to: {}}}", *one) for one in known.to_tighten]
    hints += _list_rows("tightened", "to be checked again", tightened)
    hints += _list_facts("checks", "open faults", to_check)
    hints += _list_facts("fixed", "waiting for a fix, or to be confirmed", to_fix, to_prove)
    hints += _list_facts("made_good", "temporary repairs", ("{}", known.temporary))
    hints += _list_facts("refitted", "strip-downs that are off", ("{}", known.off))
    hints += _list_facts("done", "still to do; under `dropped:` what will not be done", ("{}", known.to_do))
    hints.append("# next: [What comes next]")
    # With a capital, so that nobody takes one for a key.
    return hints + [f"# {_clean(note)}" for note in known.notes[:MOST_OFFERED]]


def name_entry(log: Log, title: str, date: datetime.date) -> str:
    """A name that no entry of the log has yet: the date, and the words of the title."""
    taken = {entry.name for entry in log.entries}
    stem = f"{date}-{make_short_name(title)}".rstrip("-")
    number, name = 1, stem
    while name in taken:
        number += 1
        name = f"{stem}-{number}"
    return name


def write_new_files(folder: Path, texts: Mapping[str, str]) -> list[Path]:
    """The paths of new files, written.

    Raises FileExistsError, and writes none, where one of them is there already.
    """
    paths = {folder / path: text for path, text in texts.items()}
    for path in paths:
        if path.exists() or path.is_symlink():  # a link that leads nowhere does not exist, and is in the way
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
    for path, text in paths.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        # "x": a file that appeared since is not written over. LF on every system, as seals are of bytes.
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    return list(paths)


def _fill_entry(date: datetime.date, title: str, hints: Iterable[str]) -> str:
    return "\n".join(["---", f"date: {date}", f"title: {write_text(title)}", *hints, "---", "", ""])


def _draft_reading(log: Log, date: datetime.date) -> str:
    shown = ((entry.date, _find_shown(entry)) for entry in log.entries if entry.date <= date)
    known = [(day, reading) for day, reading in shown if reading]
    acquired = log.settings.acquired
    if acquired and acquired.reading:
        known.insert(0, (acquired.date, acquired.reading))
    if not known:
        return "# reading: 0"
    day, reading = max(known, key=lambda each: each[0])  # the latest, not the highest: a new meter begins low
    unit = f" {reading.unit}" if reading.unit else ""
    return f"# reading: {reading.value:f}{unit}  # as it was on {day}"


def _find_shown(entry: Entry) -> Amount | None:
    """What the meter showed last on the day of an entry: the new one's start, where nothing was read off it after."""
    change = entry.meter_changed
    return change.new if change and (entry.reading is None or change.reading_of == "old") else entry.reading


def _list_facts(key: str, where: str, *shapes: tuple[str, Sequence[Fact]]) -> list[str]:
    """A block in comments: each fact's name in its shape, and what it is in words."""
    return _list_rows(key, where, [_fill(shape, name, says) for shape, facts in shapes for name, says in facts])


def _fill(shape: str, *values: str) -> Fact:
    """A shape with all values but the last in it, and the last: what it is in words."""
    return shape.format(*map(write_text, values[:-1])), _clean(values[-1])


def _list_rows(key: str, where: str, rows: Sequence[Fact]) -> list[str]:
    lines = [f"#   - {text}" + (f"  # {says}" if says else "") for text, says in rows[:MOST_OFFERED]]
    if len(rows) > MOST_OFFERED:
        lines.append(f"#   # and {len(rows) - MOST_OFFERED} more")
    return [f"# {key}:  # {where}", *lines] if lines else []


SURELY_PLAIN = re.compile(r"(?!(null)$)[A-Za-z0-9]+(?:[ ._-][A-Za-z0-9]+)*", re.ASCII | re.IGNORECASE)
"Texts that YAML reads as they stand, wherever they stand; most are such, and need not be asked about."


def write_text(text: str) -> str:
    """A text as YAML, in quotes where it would be read as anything else without them."""
    if SURELY_PLAIN.fullmatch(text):
        return text
    text = _clean(text)
    # Asked of the reader itself, in brackets: hints stand in `{…}`, where a comma or a brace ends a plain text.
    node, problems = read_yaml(f"[{text}]", "")
    item = node.items[0] if isinstance(node, Listing) and len(node.items) == 1 else None
    plain = not problems and isinstance(item, Scalar) and item.plain and item.text == text and not item.blank
    # Single quotes: between them nothing but the quote itself means anything (YAML 1.2, section 7.3.2).
    return text if plain else "'" + text.replace("'", "''") + "'"


def _clean(text: str) -> str:
    # what turns the words behind it around, and no reader takes, goes without a trace: it was never seen
    return re.sub(r"\s+", " ", UNSEEN.sub(" ", re.sub(f"[{TURNING}]", "", text))).strip()


SETTINGS = """\
# One machine: what it is, how its costs are counted, what is planned, what readers see.
# Only `machine:` and `money:` are needed. Remove the `# ` from a line to use it.
# `buildlog check` says what is wrong; `buildlog schema --out FOLDER` lets an editor help with the keys.

machine:
  name: {name}
  kind: {kind}  # {kinds}
  # maker: Who made it
  # model: The maker's model
  # year: 1991
  # vin: 17 characters; shown masked unless `public:` opens it
  # registration: shown masked as well
  meter: {{unit: {unit}}}

# acquired: {{date: {today}, price: 1850.00, reading: 112480, condition: A runner}}

money:
  currency: {currency}
  # hour_rate: 25.00  # what an hour of yours is worth; shown alongside the cash, never included
  # budget: {{engine: 600.00}}

# The systems of your machine: your own list, short name and name as shown.
systems:
  engine: Engine
  fuel: Fuel
  electrics: Electrics

# Jobs that come round again; whichever limit comes first counts.
# service:
#   engine-oil: {{name: Engine oil, every: {{months: 12, {interval}}}, system: engine}}

# public: {{prices: totals, vin: masked, registration: masked, suppliers: shown, place: hidden, papers: hidden}}

site:
  id: {id}  # made for this log alone; do not change it: feed readers know its entries by it
  # title: A title of its own
  # language: en-GB
  # author: A pen name
"""
"log.yaml of a new log; filled by `str.format`."
