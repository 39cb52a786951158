"""What a buyer is handed: which files go into the bag under which names, and the list that says so.

    data/log/        the log's own files: log.yaml, entries, pages, photos, papers, theme; what is withheld is left out
    data/seals/      the log's seals, as they are
    data/site/       the whole site, with everything open that `public:` would close
    data/figures.json, data/handover.json, data/CHECK.md, data/check.html, data/allowed_signers

How files become a bag is left to `bag`, the words of CHECK.md to `bag_texts`, checking to `verify`.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Mapping
from dataclasses import field
from typing import Any

from buildlog.frozen import frozen
from buildlog.handover.bag import is_plain_name, name_files
from buildlog.record.hashing import NotCanonical, read_canonical, write_canonical
from buildlog.record.rules import MOST_LISTED
from buildlog.record.seals import Digest, is_sound_path

FORMAT = 1
"Raised when the files of a handover stand elsewhere or mean something else."
LOG, SEALS, SITE = "log/", "seals/", "site/"
"Folders below `data/`."
FIGURES, LIST, CHECK_TEXT, CHECK_PAGE = "figures.json", "handover.json", "CHECK.md", "check.html"
LONGEST_TEXT = 200
"Characters of what the list calls the machine and the program; the page that checks has the same bound."
SIGNERS = "allowed_signers"
"The public keys of the signatures, as `ssh-keygen -Y verify` wants them."
FIXED_FILES = frozenset({FIGURES, LIST, CHECK_TEXT, CHECK_PAGE, SIGNERS})
"Files directly below `data/`."
OWN_THEME = "theme/"
"The log's own folder of theme files: it goes along, no seal speaks of it."


TEXTS = ("log.yaml", "entries/", "pages/")
"How the paths of those files of a log begin that are read for their words."


def is_text(path: str) -> bool:
    """Whether a file of the log is read for its words."""
    return path.startswith(TEXTS)


class NotAHandover(ValueError):
    """A file is no list of a handover; the message says why, in lower case."""


@frozen
class Withheld:
    """One file of the log that the owner keeps back."""

    path: str
    "in the log"
    digest: Digest
    "what it was when the bag was made"
    leaf: int | None
    "number of its latest leaf; None: it was never sealed"


@frozen
class Picture:
    """One published picture of a photo, as pages name it."""

    path: str
    "in the site"
    width: int
    "pixels"
    height: int
    "pixels"
    format: str
    "media type"


@frozen
class PictureSet:
    """The pictures made of one photo: what a page needs to know of them, so that it can be made again without them."""

    variants: tuple[Picture, ...]
    "one JPEG at least"
    width: int
    "pixels of the whole photo, upright"
    height: int
    "pixels of the whole photo, upright"
    colour: str
    "mean colour, `#rrggbb`"


@frozen
class Handover:
    """What `handover.json` says."""

    made_by: str
    "version of this tool, and the first digits of a checksum of its files"
    as_of: datetime.date
    "the day that all figures are of"
    machine: str
    "what the owner calls it"
    names: Mapping[str, str]
    "the owner's path by the name below `data/log/`, where the two differ"
    withheld: tuple[Withheld, ...] = ()
    "by path"
    pictures: Mapping[str, PictureSet] = field(default_factory=dict)
    "by entry and file name, with `/`"

    def owner_path(self, name: str) -> str:
        """The path in the log of a file below `data/log/`."""
        return self.names.get(name, name)

    def bag_name(self, path: str) -> str:
        """The name below `data/log/` of one of the owner's paths."""
        return next((name for name, own in self.names.items() if own == path), path)


def name_log_files(paths: Iterable[str]) -> dict[str, str]:
    """The name below `data/log/` of each of the log's files, by its path."""
    # Of the set of paths alone, so that a checker who makes the names again gets the same.
    return name_files(paths)


def write_list(handover: Handover) -> bytes:
    """The file `handover.json`: canonical JSON, ended by one LF."""
    value = {
        "format": FORMAT,
        "made_by": handover.made_by,
        "as_of": handover.as_of.isoformat(),
        "machine": handover.machine,
        "names": dict(handover.names),
        "withheld": [
            {"path": held.path, "size": held.digest.size, "sha256": held.digest.sha256, "leaf": held.leaf}
            for held in handover.withheld
        ],
        "pictures": {name: _list_set(pictures) for name, pictures in handover.pictures.items()},
    }
    return write_canonical(value) + b"\n"


def _list_set(pictures: PictureSet) -> dict[str, Any]:
    return {
        "colour": pictures.colour,
        "height": pictures.height,
        "width": pictures.width,
        "variants": [[one.path, one.width, one.height, one.format] for one in pictures.variants],
    }


def read_list(data: bytes) -> Handover:
    """What `handover.json` says. Raises `NotAHandover`, for any bytes at all."""
    try:
        value = read_canonical(data.removesuffix(b"\n"), most=MOST_LISTED)
    except NotCanonical as why:
        raise NotAHandover(str(why)) from None
    if not isinstance(value, dict) or value.get("format") != FORMAT:
        raise NotAHandover(f"it is not in format {FORMAT}, the only one read here")
    try:
        handover = _build(value)
    except (KeyError, TypeError, ValueError, AttributeError):
        raise NotAHandover("its values are not those of a handover") from None
    # Written again and compared: a key that is no part of it, or a value in another spelling, would otherwise stand in
    # a list that reads as sound.
    if write_list(handover) != data:
        raise NotAHandover("it contains more than a handover should")
    return handover


def _build(value: dict[str, Any]) -> Handover:
    """The record of a value of any shape; raises one of a few errors where it is not what it should be."""
    withheld = tuple(
        Withheld(
            path=_match(_is_path, held["path"]),
            digest=Digest(size=_count(held["size"]), sha256=_match(_is_sum, held["sha256"])),
            leaf=None if held["leaf"] is None else _count(held["leaf"]),
        )
        for held in value["withheld"]
    )
    names = {_match(is_plain_name, name): _match(_is_path, path) for name, path in value["names"].items()}
    _refuse_doubles([*names.values()])
    _refuse_doubles([held.path for held in withheld])
    return Handover(
        made_by=_match(_is_text, value["made_by"]),
        as_of=datetime.date.fromisoformat(value["as_of"]),
        machine=_match(_is_text, value["machine"]),
        names=names,
        withheld=withheld,
        pictures={_match(_is_path, name): _build_set(name, pictures) for name, pictures in value["pictures"].items()},
    )


PICTURE_SUFFIXES = {"image/jpeg": ".jpg", "image/webp": ".webp"}
"Of the published pictures, by media type; the page that checks has the same."


def _is_picture_path(path: str, entry: str, suffix: str) -> bool:
    """Whether a picture stands among those of its entry: nobody may call a page or a script of the site a picture."""
    folder, _, file = path.rpartition("/")
    return is_plain_name(path) and folder == f"photos/{entry}" and file.endswith(suffix)


def _build_set(name: str, value: dict[str, Any]) -> PictureSet:
    entry = name.partition("/")[0]
    variants = tuple(
        Picture(
            path=_match(lambda text, of=format: _is_picture_path(text, entry, PICTURE_SUFFIXES[of]), path),
            width=_count(width),
            height=_count(height),
            format=_match(PICTURE_SUFFIXES.__contains__, format),
        )
        for path, width, height, format in value["variants"]
    )
    # Every page has one as the picture that any reader can show.
    if not any(one.format == "image/jpeg" for one in variants):
        raise ValueError("a photo without a JPEG")
    return PictureSet(
        variants=variants,
        width=_count(value["width"]),
        height=_count(value["height"]),
        colour=_match(_is_colour, value["colour"]),
    )


def _match(test: Any, value: Any) -> str:
    """The value, when it is a text that passes the test."""
    if not isinstance(value, str) or not test(value):
        raise ValueError(value)
    return value


def _count(value: Any) -> int:
    # By the type, as `true` is a whole number to Python.
    if type(value) is not int or value < 0:
        raise ValueError(value)
    return value


def _refuse_doubles(paths: list[str]) -> None:
    if len({*paths}) < len(paths):
        raise ValueError("a path is there twice")


def _is_path(text: str) -> bool:
    # It is shown on terminals and pages, and is never opened: the bag's own names are.
    return is_sound_path(text) and text.isprintable()


def _is_text(text: str) -> bool:
    return len(text) <= LONGEST_TEXT and text.isprintable()


def _is_sum(text: str) -> bool:
    return bool(re.fullmatch(r"[0-9a-f]{64}", text))


def _is_colour(text: str) -> bool:
    return bool(re.fullmatch(r"#[0-9a-f]{6}", text))


DATED = re.compile(r"entries/(\d{4}-\d\d-\d\d)[.-][^/]*\.md")
"An entry whose file is named after its day, as the tool names them."


def find_day(path: str) -> datetime.date | None:
    """The day that an entry's file is named after."""
    match = DATED.fullmatch(path)
    try:
        return datetime.date.fromisoformat(match[1]) if match else None
    except ValueError:
        return None
