"""Variants that were made before, so that nothing is done twice: plain files, read by key and never executed.

A key is made from the original's bytes and from everything that decides what is made of it; where the original lies and
what it is called is not among it. Two runs may use one cache: every file is exchanged whole, and the note that lists
the variants comes last. A note that does not agree with what lies beside it counts as absent.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
import threading
from dataclasses import dataclass
from pathlib import Path

from buildlog.photos.decode import FORMATS
from buildlog.photos.variants import RECIPE, Developed
from buildlog.source.kinds import Box

SUFFIXES = {"WEBP": ".webp", "JPEG": ".jpg"}
EDITION = "1"
"Changes when the same recipe makes other pictures than before."


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """One variant in the cache."""

    edge: int
    width: int
    height: int
    format: str
    file: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSet:
    """The variants of one key."""

    variants: tuple[Kept, ...]
    width: int
    height: int
    colour: str


def find_cache() -> Path:
    """The folder for variants in the place that the system has for such things (XDG Base Directory 0.8 elsewhere)."""
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local"
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        named = os.environ.get("XDG_CACHE_HOME", "")
        base = named if os.path.isabs(named) else Path.home() / ".cache"
    return Path(base) / "buildlog" / "photos"


def make_key(source: Path, hide: tuple[Box, ...]) -> str:
    """The key of an original and its hidden boxes, 64 hexadecimal digits.

    The formats that its suffix allows belong to it: a file under a wrong one is not found under the right one.
    """
    with source.open("rb") as file:
        original = hashlib.file_digest(file, "sha256").hexdigest()
    boxes = [[str(side.normalize()) for side in box] for box in hide]
    parts = [original, FORMATS[source.suffix.lower()], EDITION, repr(RECIPE), boxes]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()


def find_kept(cache: Path, key: str) -> KeptSet | None:
    """What the cache holds under a key; None when that is nothing, or not whole."""
    try:
        note = json.loads(_locate(cache, key, ".json").read_bytes())
        kept = tuple(_read_line(cache, key, line) for line in note["variants"])
        return KeptSet(variants=kept, width=int(note["width"]), height=int(note["height"]), colour=str(note["colour"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def keep(cache: Path, key: str, developed: Developed) -> KeptSet:
    """Put the variants under a key, and say where they lie."""
    lines: list[dict[str, int | str]] = []
    for one in developed.encoded:
        _exchange(_locate(cache, key, f"-{one.edge}{SUFFIXES[one.format]}"), one.content)
        size = len(one.content)
        lines.append({"edge": one.edge, "width": one.width, "height": one.height, "format": one.format, "size": size})
    note = {"variants": lines, "width": developed.width, "height": developed.height, "colour": developed.colour}
    _exchange(_locate(cache, key, ".json"), json.dumps(note).encode())
    return KeptSet(
        variants=tuple(_read_line(cache, key, line) for line in lines),
        width=developed.width,
        height=developed.height,
        colour=developed.colour,
    )


def _read_line(cache: Path, key: str, line: dict[str, int | str]) -> Kept:
    """One line of a note; raises ValueError when the file beside it is not the one that it tells of."""
    edge, format = int(line["edge"]), str(line["format"])
    file = _locate(cache, key, f"-{edge}{SUFFIXES[format]}")
    if file.stat().st_size != line["size"]:
        raise ValueError(f"{file} is not whole")
    return Kept(edge=edge, width=int(line["width"]), height=int(line["height"]), format=format, file=file)


def _locate(cache: Path, key: str, suffix: str) -> Path:
    return cache / key[:2] / f"{key}{suffix}"


def _exchange(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    temporary = path.with_name(f"{path.name}.{os.getpid()}-{threading.get_ident()}")
    temporary.write_bytes(content)
    os.replace(temporary, path)
