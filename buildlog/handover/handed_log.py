"""The log as a buyer gets it, read and computed from the bytes that are handed over: the same for giver and checker.

Everything is open in it that `public:` closes, as the papers and the log's own words go along anyway. A withheld entry
is not in it. A withheld photo or paper keeps its name, as entries speak of it. Which program made the bag is told here
too: its version, and a hash of its own files, as a checkout may be edited.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import buildlog
from buildlog.compute.figures import Figures
from buildlog.handover.manifest import LOG, LONGEST_TEXT, Handover, Picture, PictureSet, is_text
from buildlog.photos.recipe import PhotoSet, Variant
from buildlog.read.files import take_files
from buildlog.read.reader import Reading, read_files
from buildlog.read.records import Entry, Public
from buildlog.render.theme import find_themes
from buildlog.stages import Run, keep_reading, run_stages
from buildlog.text import replace_unprintable

DIGITS = 12
"Hexadecimal digits of the checksum that are told: enough to tell programs apart, and no proof of anything."


@cache
def name_maker() -> str:
    """`0.1.0 (3f2a9c1b04de)`, as this program was when it was first asked."""
    return f"{buildlog.__version__} ({hash_program()[:DIGITS]})"


def hash_program() -> str:
    """The checksum of this program's files as they lie on the disk: the same wherever the same files are installed."""
    total = hashlib.sha256()
    for name, path in sorted(_list_files()):
        # Names as well as contents: a file that was moved makes another program too.
        total.update(f"{name}\0{hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
    return total.hexdigest()


def _list_files() -> Iterator[tuple[str, Path]]:
    """The package's files and the themes', wherever the themes stand."""
    package, themes = Path(buildlog.__file__).parent, find_themes()
    for path in package.rglob("*"):
        if _counts(path) and not path.is_relative_to(themes):
            yield f"buildlog/{path.relative_to(package).as_posix()}", path
    for path in themes.rglob("*"):
        if _counts(path):
            yield f"themes/{path.relative_to(themes).as_posix()}", path


def _counts(path: Path) -> bool:
    # Compiled files come and go with the interpreter, hidden ones with editors.
    return path.is_file() and path.suffix != ".pyc" and not path.name.startswith(".")


OPEN = Public(prices="shown", vin="shown", registration="shown", suppliers="shown", area="shown", papers="shown")
"What a handover's site shows: all of it."


def read_open(texts: Mapping[str, bytes], paths: Iterable[str]) -> Reading:
    """The log in these bytes, with nothing closed in it; no log where `log.yaml` cannot be read, or not all of it.

    `texts` holds `log.yaml` and the entries that go along; `paths` are those of all files, withheld ones too. With a
    stand-in for anything that `log.yaml` says nothing is computed: every figure of a bag would rest on it.
    """
    files, found = take_files(texts, (path for path in paths if path in texts or not is_text(path)))
    reading = read_files(files, found)
    if reading.log is None or any(hole.place.file == "log.yaml" for hole in reading.holes):
        return replace(reading, log=None)
    # Whatever the log says of it: giver and checker have to make the same pages, and the files themselves go along
    # anyway.
    settings = replace(reading.log.settings, public=OPEN)
    return replace(reading, log=replace(reading.log, settings=settings))


def read_handed(
    texts: Mapping[str, bytes], paths: Iterable[str], as_of: datetime.date, *, format: int | None = None
) -> Run:
    """The same log read and computed as of a day, by the stages that every log goes through.

    `format` is that of the figures that it is held against, None today's: what was written means what it meant then.
    """

    def read(run: Run) -> Run:
        reading = read_open(texts, paths)
        if reading.log is not None and format is not None and format < REFUNDS_AS_ORDERED:
            entries = tuple(map(_refund_with_tax, reading.log.entries))
            reading = replace(reading, log=replace(reading.log, entries=entries))
        return keep_reading(run, reading)

    return run_stages(Run(as_of=as_of), until="compute", instead={"read": read})


REFUNDS_AS_ORDERED = 3
"The format since which a refund that does not say is with tax or without it as its order is; before, it was with tax."


def _refund_with_tax(entry: Entry) -> Entry:
    if not any(returned.prices is None for returned in entry.returned):
        return entry
    return replace(entry, returned=tuple(replace(one, prices=one.prices or "gross") for one in entry.returned))


def name_machine(figures: Figures) -> str:
    """What the owner calls the machine, on one line of bearable length."""
    name = figures.log.settings.machine.name
    return replace_unprintable(name, " ")[:LONGEST_TEXT]


def link_papers(names: Mapping[str, str]) -> dict[str, str]:
    """Where the site finds each paper, from its top; `names` are those below `data/log/` by path in the log."""
    return {path: f"../{LOG}{name}" for path, name in names.items() if path.startswith("papers/")}


def list_pictures(photos: Mapping[str, PhotoSet]) -> dict[str, PictureSet]:
    """The published photos as the list of a handover holds them."""
    return {
        name: PictureSet(
            variants=tuple(
                Picture(path=one.path, width=one.width, height=one.height, format=one.format) for one in made.variants
            ),
            width=made.width,
            height=made.height,
            colour=made.colour,
        )
        for name, made in photos.items()
    }


def recall_photos(handover: Handover) -> dict[str, PhotoSet]:
    """The published photos of a handover, so that pages can be made again; their files are looked for nowhere."""
    return {
        name: PhotoSet(
            variants=tuple(map(_recall_variant, pictures.variants)),
            width=pictures.width,
            height=pictures.height,
            colour=pictures.colour,
        )
        for name, pictures in handover.pictures.items()
    }


def _recall_variant(one: Picture) -> Variant:
    return Variant(path=one.path, width=one.width, height=one.height, format=one.format, stored="", size=0, mtime_ns=0)
