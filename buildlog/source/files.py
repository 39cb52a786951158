"""What lies in a log's folder: the only place that reads the owner's disk for records.

Nothing is followed out of the folder, nothing is written, and a file that is too large or is no text is a problem
and not a crash.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from buildlog.problems import Place, Problem, suggest
from buildlog.source.fields import NOTHING

LARGEST_TEXT = 2_000_000
"Bytes of an entry or of `log.yaml`; a year of evenings fits in a tenth."


@dataclass(frozen=True, slots=True, kw_only=True)
class LogFiles:
    """The texts and the names of files of one log."""

    settings: str
    "text of `log.yaml`"
    entries: Mapping[str, str]
    "texts of the entries, by file name"
    papers: frozenset[str] = frozenset()
    "paths from the log's folder"
    photos: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: NOTHING)
    "file names in each folder under `photos/`, by the folder's name"
    folder: Path | None = None

    def texts(self) -> dict[str, str]:
        """Every text by its path in the log, for quoting."""
        return {"log.yaml": self.settings} | {f"entries/{name}": text for name, text in self.entries.items()}


def gather_files(folder: Path) -> tuple[LogFiles | None, list[Problem]]:
    """The log's files, and what is wrong with them as files; None when `log.yaml` cannot be read."""
    problems: list[Problem] = []
    settings = _read_text(folder / "log.yaml", "log.yaml", problems)
    entries = {}
    for name in _list_names(folder / "entries"):
        if _is_entry_name(name, problems):
            text = _read_text(folder / "entries" / name, f"entries/{name}", problems)
            if text is not None:
                entries[name] = text
    if settings is None:
        return None, problems
    photos = {name: tuple(_list_names(folder / "photos" / name)) for name in _list_names(folder / "photos")}
    files = LogFiles(settings=settings, entries=entries, papers=_list_papers(folder), photos=photos, folder=folder)
    return files, problems


def _list_names(folder: Path) -> list[str]:
    try:
        return sorted(name for name in os.listdir(folder) if not name.startswith("."))
    except (FileNotFoundError, NotADirectoryError):
        return []


def _list_papers(folder: Path) -> frozenset[str]:
    found: set[str] = set()
    for base, folders, names in os.walk(folder / "papers"):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        found.update((Path(base) / name).relative_to(folder).as_posix() for name in names if not name.startswith("."))
    return frozenset(found)


def _is_entry_name(name: str, problems: list[Problem]) -> bool:
    if re.fullmatch(r"[a-z0-9]+([.-][a-z0-9]+)*\.md", name):
        return True
    stem = name.rsplit(".", 1)[0] if "." in name else name
    slug = "-".join(re.findall(r"[a-z0-9]+", stem.lower())) or "2024-05-18-lift-pump"
    if name.lower().endswith((".md", ".markdown", ".txt")):
        message = f"`{name}` cannot be an entry's file name: it becomes an address"
        help = f"rename it to `{slug}.md`: small letters, digits and dashes"
        problems.append(Problem(rule="entry-name", message=message, place=Place(f"entries/{name}"), help=help))
    else:
        message = f"`{name}` is no entry and is not read"
        problems.append(
            Problem(
                rule="stray-file",
                message=message,
                place=Place(f"entries/{name}"),
                help="move it out of `entries/`",
                severity="doubt",
            )
        )
    return False


def _read_text(path: Path, name: str, problems: list[Problem]) -> str | None:
    """A file's text with LF line ends and no BOM, or None with a problem added."""

    def refuse(rule: str, message: str, help: str, line: int = 1) -> str | None:
        problems.append(Problem(rule=rule, message=message, place=Place(name, line), help=help))
        return None

    try:
        if path.is_symlink() and not path.resolve().is_relative_to(path.parent.resolve()):
            return refuse("leads-out", f"`{name}` is a link that leads out of the log", "put the file itself there")
        if path.stat().st_size > LARGEST_TEXT:
            size = path.stat().st_size / 1e6
            return refuse(
                "too-large",
                f"`{name}` has {size:.1f} MB; more than 2 MB are not read",
                "split the entry, or move what is no text out of it",
            )
        raw = path.read_bytes()
    except FileNotFoundError:
        near = suggest(path.name, _list_names(path.parent)) if path.parent.is_dir() else ""
        return refuse(
            "missing-file",
            f"there is no `{name}` here",
            near if near.startswith("did") else "`buildlog start FOLDER` makes a log",
        )
    except OSError as error:
        return refuse(
            "unreadable-file", f"`{name}` cannot be read: {error.strerror}", "check what it is and who may read it"
        )
    if b"\0" in raw[:8192]:
        return refuse(
            "not-text", f"`{name}` is a binary file, not text", "pictures go into `photos/`, scans into `papers/`"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        return refuse("not-utf-8", f"`{name}` is not UTF-8 text", "save it as UTF-8 in your editor", line)
    return text.replace("\r\n", "\n").replace("\r", "\n")
