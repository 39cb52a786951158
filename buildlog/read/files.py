"""What lies in a log's folder: the only place that reads the owner's disk for records.

Nothing is followed out of the folder, nothing is written, and a file that is too large or is no text is a problem
and not a crash. What the texts say is left to `reader`.
"""

from __future__ import annotations

import codecs
import os
import re
import stat
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import field
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.paths import compose, fold_name, is_device
from buildlog.problems import Place, Problem, Severity, suggest
from buildlog.read.fields import NOTHING
from buildlog.read.kinds import spell_key
from buildlog.read.misfits import Hole

LARGEST_TEXT = 2_000_000
"Bytes of an entry or of `log.yaml`; a year of evenings fits in a tenth."


PAGES = "pages"
"The folder of the standing pages."


@frozen
class LogFiles:
    """The texts and the names of files of one log."""

    settings: str | None
    "text of `log.yaml`; None where it could not be read, and the problem is told"
    entries: Mapping[str, str]
    "texts of the entries, by file name"
    pages: Mapping[str, str] = field(default_factory=lambda: NOTHING)
    "texts of the standing pages, by file name"
    papers: frozenset[str] = frozenset()
    "paths from the log's folder"
    photos: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: NOTHING)
    "file names in each folder under `photos/`, by the folder's name"
    folder: Path | None = None
    "where they were read; None for texts from elsewhere"
    spelt: Mapping[str, str] = field(default_factory=lambda: NOTHING)
    "paths as the disk has them, by those told here, of files whose accents are spelt in another form there"
    holes: tuple[Hole, ...] = ()
    "entries that could not be taken"

    def texts(self) -> dict[str, str]:
        """Every text by its path in the log, for quoting."""
        entries = {f"entries/{name}": text for name, text in self.entries.items()}
        return {"log.yaml": self.settings or ""} | entries | {f"{PAGES}/{n}": text for n, text in self.pages.items()}


def gather_files(folder: Path) -> tuple[LogFiles, list[Problem]]:
    """The log's files, and what is wrong with them as files."""
    gatherer = _Gatherer(folder)
    return gatherer.gather(), gatherer.problems


def take_files(texts: Mapping[str, bytes], paths: Iterable[str]) -> tuple[LogFiles, list[Problem]]:
    """The same for a log that lies in no folder, as in a package: nothing is read from the disk.

    `texts` holds the bytes of `log.yaml`, of entries and of standing pages by path; `paths` are those of all files.
    """
    taker = _Decoder()
    # hidden names are passed over, as they are on the disk: both ways must give one log
    known = sorted(compose(path) for path in paths if not any(part.startswith(".") for part in path.split("/")))
    named = [path.removeprefix("entries/") for path in known if path.startswith("entries/")]
    entries = taker.take_entries(named, lambda path: taker.take(texts, path))
    named = [path.removeprefix(f"{PAGES}/") for path in known if path.startswith(f"{PAGES}/")]
    pages = taker.take_pages(named, lambda path: taker.take(texts, path), entries)
    photos: dict[str, list[str]] = {}
    for path in known:
        top, *names = path.split("/")
        if top == "photos" and len(names) == 2:
            photos.setdefault(names[0], []).append(names[1])
    files = LogFiles(
        settings=taker.take(texts, "log.yaml"),
        entries=entries,
        pages=pages,
        papers=frozenset(path for path in known if path.startswith("papers/")),
        photos={entry: tuple(names) for entry, names in photos.items()},
        holes=tuple(taker.holes),
    )
    return files, taker.problems


class _Decoder:
    """Turns bytes into texts, noting what is no text of a log."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self.holes: list[Hole] = []

    def take_entries(self, names: Iterable[str], read: Callable[[str], str | None]) -> dict[str, str]:
        """The texts of the entries among some files. One that is misnamed is told, and read all the same."""
        entries = {}
        for name in names:
            before = len(self.problems)
            # a misnamed entry is read all the same: its other mistakes would otherwise show only once it was renamed
            is_entry = self.is_entry_name(name)
            is_named_well = len(self.problems) == before
            text = read(f"entries/{name}") if is_entry else None
            if text is None and (is_entry or self.problems[-1].severity == "error"):
                place = Place(f"entries/{name}")
                # other entries may speak of parts and faults that only this one introduces
                self.holes.append(Hole(place=place, owner=place, keys=frozenset(), text=None))
            # a note beside the entries, reported as misnamed, is not also reported for having no front matter
            elif text is not None and (is_named_well or text.startswith("---")):
                entries[name] = text
        return entries

    def take_pages(
        self, names: Iterable[str], read: Callable[[str], str | None], entries: Collection[str]
    ) -> dict[str, str]:
        """The texts of the standing pages among some files; one that cannot be kept apart from another is told."""
        alike: dict[str, list[str]] = {}
        for name in sorted(names):
            alike.setdefault(fold_name(name), []).append(name)
        pages = {}
        for name, *others in alike.values():
            path = f"{PAGES}/{name}"
            if others and name.lower().endswith(".md"):
                # told alone: of two such names one is written wrong, and its remedy would be to take the other's name
                message = f"`{path}` and `{PAGES}/{others[0]}` are one file on some systems"
                self.add("same-name-twice", message, f"{PAGES}/{others[0]}", "join the two, or rename one of them")
            elif not self.is_entry_name(name, PAGES):
                continue
            elif name in entries:
                message = f"there is an entry `{name}` too, and their photos would share a folder"
                self.add("page-name", message, path, "rename the page, and its folder under `photos/`")
            text = read(path)
            if text is not None:
                pages[name] = text
        return pages

    def take(self, texts: Mapping[str, bytes], path: str) -> str | None:
        raw = texts.get(path)
        if raw is None:
            self.add("missing-file", f"there is no `{path}` here", path, "")
            return None
        return self.check_text(raw, path)

    def check_text(self, raw: bytes, path: str) -> str | None:
        """The text with LF line ends and no BOM, or None with a problem added."""
        if len(raw) > LARGEST_TEXT:
            # not split or read in part: what would be read of it could be taken for the whole
            message = f"`{path}` is larger than {LARGEST_TEXT // 1_000_000} MB, so it is not read"
            self.add("too-large", message, path, "split it, or move anything that is not text out of it")
            return None
        return self.decode(raw, path)

    def is_entry_name(self, name: str, folder: str = "entries") -> bool:
        """Whether a file is meant as an entry, or as a page; where its name will not do, a problem is added."""
        path, what = f"{folder}/{name}", "an entry" if folder == "entries" else "a page"
        # before the rule below, which `con.md` would pass; without a suffix it is no entry anyway
        if "." in name and is_device(name):
            message = f"`{name}` cannot be {what}'s file name: it is a device on some systems"
            help = f"rename it: {NAME_RULE}" + (", with the date in front" if folder == "entries" else "")
            self.add("entry-name", message, path, help)
            return False
        # small letters alone: the name becomes an address, and on some systems `A.md` and `a.md` are one file
        if re.fullmatch(r"[a-z0-9]+([.-][a-z0-9]+)*\.md", name):
            return True
        if name.lower().endswith((".md", ".markdown", ".txt")):
            plain = spell_key(name.rsplit(".", 1)[0])
            help = f"rename it to `{plain}.md`: {NAME_RULE}" if plain else f"rename it: {NAME_RULE}"
            self.add("entry-name", f"`{name}` cannot be {what}'s file name: it becomes an address", path, help)
            return True
        message, help = f"`{name}` is not {what}, so it is not read", f"move it out of `{folder}/`"
        self.add("stray-file", message, path, help, "warning")
        return False

    def decode(self, raw: bytes, path: str) -> str | None:
        """The text; of one in another encoding, which is told, what can be made of it."""
        # before the search for NUL, as half the bytes of English in UTF-16 are NUL
        if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            self.add("not-utf-8", f"`{path}` is UTF-16 text", path, SAVE_AS_UTF_8)
            return raw.decode("utf-16", "replace").replace("\r\n", "\n").replace("\r", "\n")
        if b"\0" in raw:
            help = "pictures go into `photos/`, scans into `papers/`"
            self.add("not-text", f"`{path}` is a binary file, not text", path, help)
            return None
        try:
            # some editors on Windows put a BOM in front
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            # lines as editors count them: `splitlines` would break at form feeds and at U+2028 too
            before = re.split(r"\r\n?|\n", error.object[: error.start].decode("utf-8", "replace"))
            place = Place(path, len(before), len(before[-1]) + 1)
            message = f"`{path}` is not UTF-8 text: there is a byte 0x{error.object[error.start]:02X} here"
            self.problems.append(Problem(rule="not-utf-8", message=message, place=place, help=SAVE_AS_UTF_8))
            # what an older Windows editor most likely meant; it is an error in any case, so that a wrong letter is
            # never published, and the rest of the entry is checked all the same
            text = raw.decode("cp1252", "replace")
        return text.replace("\r\n", "\n").replace("\r", "\n")

    def add(self, rule: str, message: str, path: str, help: str, severity: Severity = "error") -> None:
        problem = Problem(rule=rule, message=message, place=Place(path), help=help, severity=severity)
        self.problems.append(problem)


class _Gatherer(_Decoder):
    """Walks one log's folder, noting what cannot be taken from it."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder
        self.spelt: dict[str, str] = {}
        # the log may itself be reached by a link: what lies inside is asked of where it really is
        self.root = Path(os.path.realpath(folder))

    def gather(self) -> LogFiles:
        settings = self.read_text("log.yaml")
        entries = self.take_entries((name for name, _ in self.list_names("entries")), self.read_text)
        return LogFiles(
            spelt=self.spelt,
            settings=settings,
            entries=entries,
            pages=self.take_pages((name for name, _ in self.list_names(PAGES)), self.read_text, entries),
            papers=frozenset(self.walk("papers")),
            photos=self.list_photos(),
            folder=self.folder,
            holes=tuple(self.holes),
        )

    def list_photos(self) -> dict[str, tuple[str, ...]]:
        photos = {}
        for name, is_folder in self.list_names("photos"):
            if is_folder:
                photos[name] = tuple(file for file, deeper in self.list_names(f"photos/{name}") if not deeper)
            else:
                message = f"`photos/{name}` is not in an entry's photo folder, so it is not published"
                help = "move it into the folder with the same name as its entry, as in `photos/2024-05-18-lift-pump/`"
                self.add("stray-photo", message, f"photos/{name}", help, severity="warning")
        return photos

    def walk(self, path: str) -> Iterator[str]:
        for name, is_folder in self.list_names(path):
            if is_folder:
                yield from self.walk(f"{path}/{name}")
            else:
                yield f"{path}/{name}"

    def list_names(self, path: str) -> list[tuple[str, bool]]:
        """What lies in a folder of the log, by name, and whether each is a folder; hidden names are passed over."""
        # the disk finds a folder only by its own spelling
        at = self.spelt.get(path, path)
        folder = os.path.join(self.folder, at)  # no `Path`: of a photo folder for each entry, making those took longer
        if os.path.islink(folder) and not self.stays_inside(at):
            return []
        try:
            with os.scandir(folder) as found:
                items = {item.name: item for item in found if not item.name.startswith(".")}
        except FileNotFoundError:
            return []  # a log without papers has no folder for them
        except OSError as error:
            help = "check what it is and that you may read it"
            self.add("unreadable-file", f"`{path}` cannot be read: {error.strerror}", path, help)
            return []
        kept: dict[str, bool] = {}
        spellings: dict[str, list[str]] = {}
        # sorted, as a file system lists in any order, and no page or message may depend on that
        for own in sorted(items):
            item, name = items[own], compose(own)
            spellings.setdefault(name, []).append(own)
            # only links that lead elsewhere are left out: the same picture in two entries may well be one
            if not item.is_symlink() or self.stays_inside(f"{at}/{own}"):
                kept[name] = item.is_dir()
                if name != own or path != at:
                    self.spelt[f"{path}/{name}"] = f"{at}/{own}"
        for name, owns in spellings.items():
            if len(owns) > 1:
                message = f"`{path}/{name}` is there twice, with its accents stored in two different ways"
                self.add("same-name-twice", message, f"{path}/{name}", "rename one of them")
        return sorted(kept.items())

    def stays_inside(self, path: str) -> bool:
        """Whether a link leads to a file of the log; a problem is added where it does not."""
        try:
            target = (self.folder / path).resolve(strict=True)
        except (OSError, RuntimeError):  # a link that leads to itself is a RuntimeError up to Python 3.12
            self.add("leads-nowhere", f"`{path}` is a link that leads nowhere", path, LINK_HELP)
            return False
        if not target.is_relative_to(self.root):
            self.add("leads-out", f"`{path}` is a link that leads out of the log", path, LINK_HELP)
        # a folder could hold the log itself, and would then be walked without end
        elif not target.is_file():
            self.add("leads-out", f"`{path}` is a link to a folder; such links are not followed", path, LINK_HELP)
        return target.is_relative_to(self.root) and target.is_file()

    def read_text(self, path: str) -> str | None:
        """A file's text with LF line ends and no BOM, or None with a problem added."""
        full = f"{self.folder}/{path}"
        try:
            # looked at before it is opened, as opening a pipe waits for somebody to write; that it could be exchanged
            # in between is no matter, since whoever can do that on the owner's disk can change the log as well
            mode = os.lstat(full).st_mode
            if stat.S_ISLNK(mode) and not self.stays_inside(path):
                return None
            if not stat.S_ISREG(os.stat(full).st_mode if stat.S_ISLNK(mode) else mode):
                self.add("unreadable-file", f"`{path}` is a folder or a device, not a file", path, "move it away")
                return None
            with open(full, "rb") as file:
                # one byte more than allowed, whatever size the system gives: that is 0 for some files that never end
                raw = file.read(LARGEST_TEXT + 1)
        except OSError as error:
            self.miss(path, error)
            return None
        return self.check_text(raw, path)

    def miss(self, path: str, error: OSError) -> None:
        if not isinstance(error, FileNotFoundError):
            help = "check what it is and that you may read it"
            self.add("unreadable-file", f"`{path}` cannot be read: {error.strerror}", path, help)
            return
        # `Log.yaml` and `log.yml` are what people write
        near = suggest(path, [name for name, is_folder in self.list_names(".") if not is_folder])
        help = near if near.startswith("did") else "`buildlog start FOLDER` makes a log"
        self.add("missing-file", f"there is no `{path}` here", path, help)


class TextsOnDisk(Mapping[str, str]):
    """The texts of a log by their paths, each read again when it is asked for: few are quoted, and all take memory.

    One that is another one by now is not there any more: lines of it would be quoted for what was read before.
    """

    def __init__(self, folder: Path, texts: Mapping[str, str]) -> None:
        """`texts` are those that were read in the folder."""
        self._folder = folder
        self._signs = {path: hash(text) for path, text in texts.items()}

    def __getitem__(self, path: str) -> str:
        sign = self._signs[path]
        # of a file that could not be read there is an empty text
        text = _Gatherer(self._folder).read_text(path) or ""
        if hash(text) != sign:
            raise KeyError(path)
        return text

    def __iter__(self) -> Iterator[str]:
        return iter(self._signs)

    def __len__(self) -> int:
        return len(self._signs)


LINK_HELP = "put the file itself there, or delete the link"
NAME_RULE = "small letters, digits and dashes"
SAVE_AS_UTF_8 = "save it as UTF-8 in your editor"
