"""Which files of a log seals speak of, what their bytes come to, and what lies in `seals/`: the record reads the disk.

Nothing is followed through a link, nothing is written, and no path out of a leaf is ever opened. What it means is left
to `seal_check` and `sealing`.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from itertools import islice
from pathlib import Path

from buildlog.paths import compose
from buildlog.problems import Place, Problem
from buildlog.record.rules import LARGEST_LEAVES, LARGEST_SEAL, MOST_SEALS
from buildlog.record.seal_check import SealFolder, is_seal_name
from buildlog.record.seals import FOLDER, LEAVES_FILE, Digest, is_covered, is_sound_path

COVERED = ("log.yaml", "entries", "pages", "photos", "papers")
"What is looked at in a log's folder; which files of it count is said by `leaves.is_covered`."
CHUNK = 1 << 20
"Bytes read at once: a photo is a few of these, and memory stays small for a film."
BATCH = 32
"Files given to a thread at once, so that small ones do not wait for each other's turn."
MOST_NAMES = 5 * MOST_SEALS
"Names in `seals/` that are looked at: each seal with all that may lie beside it."


def list_files(folder: Path) -> tuple[dict[str, str], list[Problem]]:
    """The files that seals speak of: the path on disk by its form NFC, sorted; and what cannot be sealed."""
    walk = _Walk(folder)
    return walk.name_paths(walk.find_paths()), walk.problems


def hash_log(folder: Path) -> tuple[dict[str, Digest], list[Problem]]:
    """Size and checksum of every file that seals speak of, by its path in form NFC; and what cannot be sealed."""
    walk = _Walk(folder)
    # Hashed while folders are still being listed: of small files that takes a tenth as long as hashing them.
    found = dict(_hash_in_threads(folder, walk.find_paths()))
    digests, unread = _take_digests((name, found[path]) for name, path in walk.name_paths(found).items())
    # One kind of problem at a time: a file that cannot be read would also count as one that is gone.
    return digests, walk.problems + unread


class _Walk:
    """Goes through one log's folder, noting what is no plain file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.problems: list[Problem] = []

    def find_paths(self) -> Iterator[str]:
        waiting = [""]
        while waiting:
            folder = waiting.pop()
            for item in self.list_items(folder):
                path = folder + item.name
                # Asked first, as the questions below follow a link. What a link leads to may change, or be private,
                # without the log changing.
                if item.is_symlink():
                    self.add("linked-file", path, "is a link, and what it points to is not sealed", LINK_HELP)
                elif item.is_dir():
                    waiting.append(path + "/")
                elif not item.is_file():
                    self.add("linked-file", path, "is a device or a pipe, not a file", "move it out of the log")
                elif is_covered(path):
                    yield path

    def name_paths(self, found: Iterable[str]) -> dict[str, str]:
        """The paths on disk by their form NFC, sorted; a problem for each that cannot be sealed under its name."""
        paths: dict[str, str] = {}
        for path in sorted(found):
            name = compose(path)
            # Refused when it is sealed, and not when a buyer unpacks it: a leaf stays for good, and so would a name
            # that no other system can hold.
            if not is_sound_path(name):
                shown = path.encode("utf-8", "replace").decode()
                self.add("name-not-sealable", shown, "has a name that other systems cannot have", "rename it")
            elif name in paths:
                help = "rename one of them"
                self.add("same-name-twice", name, "is there twice, with its accents stored in two different ways", help)
            else:
                paths[name] = path
        return dict(sorted(paths.items()))

    def list_items(self, folder: str) -> list[os.DirEntry[str]]:
        """What lies in a folder and is not hidden; of the log's own folder only what seals speak of."""
        try:
            with os.scandir(f"{self.folder}/{folder}") as found:
                items = [item for item in found if not item.name.startswith(".") and not item.name.endswith("~")]
        except OSError as error:
            self.add("unreadable-file", folder.rstrip("/"), f"cannot be read: {error.strerror}", READ_HELP)
            return []
        return items if folder else [item for item in items if item.name in COVERED]

    def add(self, rule: str, path: str, message: str, help: str) -> None:
        self.problems.append(Problem(rule=rule, message=f"`{path}` {message}", place=Place(path), help=help))


LINK_HELP = "put the file itself there, or delete the link"
READ_HELP = "check what it is and that you may read it"


def hash_files(folder: Path, paths: Mapping[str, str]) -> tuple[dict[str, Digest], list[Problem]]:
    """Size and checksum of each file; a problem for each that cannot be read or is being written."""
    found = dict(_hash_in_threads(folder, paths.values()))
    return _take_digests((name, found[path]) for name, path in paths.items())


def _hash_in_threads(folder: Path, paths: Iterable[str]) -> Iterator[tuple[str, Digest | str]]:
    """Each path with what `_hash_file` says of it, begun as soon as the paths come."""
    # Threads do: hashing lets go of the interpreter, and so does reading.
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        waiting, begun = iter(paths), []
        while batch := [*islice(waiting, BATCH)]:
            begun.append(pool.submit(lambda some: [(path, _hash_file(f"{folder}/{path}")) for path in some], batch))
        for each in begun:
            yield from each.result()


def _take_digests(found: Iterable[tuple[str, Digest | str]]) -> tuple[dict[str, Digest], list[Problem]]:
    digests: dict[str, Digest] = {}
    problems = []
    for name, digest in found:
        if isinstance(digest, Digest):
            digests[name] = digest
        else:
            message = f"`{name}` {digest}"
            problems.append(Problem(rule="unreadable-file", message=message, place=Place(name), help=READ_HELP))
    return digests, problems


def _hash_file(path: str) -> Digest | str:
    """Size and checksum of a file, or why there are none."""
    try:
        handle = os.open(path, OPEN)
        try:
            return _hash_open(handle)
        finally:
            os.close(handle)
    except OSError as error:
        return f"cannot be read: {error.strerror}"


OPEN = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
"To read bytes, and through no link that came meanwhile; not every system knows both."


def _hash_open(handle: int) -> Digest | str:
    # Asked of the open file, and not of its path, which may be another file by now.
    before = os.fstat(handle)
    total, size, room = hashlib.sha256(), 0, min(before.st_size + 1, CHUNK)
    while data := os.read(handle, room):
        total.update(data)
        size += len(data)
    after = os.fstat(handle)
    # A seal over half a photo that is just being copied would stand in the record for good.
    if after.st_size != size or before.st_size != size or after.st_mtime_ns != before.st_mtime_ns:
        return "is being written at the moment"
    return Digest(size=size, sha256=total.hexdigest())


def read_seal_folder(folder: Path) -> SealFolder:
    """What lies in a log's `seals/`, no more of each file than a sound one has; links count as strays.

    Raises `OSError` where it is there and cannot be read.
    """
    top = folder / FOLDER
    if not os.path.lexists(top):
        return SealFolder(leaves=None, seals={})
    leaves, seals, others = None, {}, set()
    with os.scandir(top) as found:
        # A folder of a million names would take the memory before anything is judged. Whatever is cut off: among so
        # many names some belong to no seal, and are told.
        for item, _ in zip(found, range(MOST_NAMES), strict=False):
            # Nothing is read through a link: it could lead to any file of whoever runs this.
            plain = item.is_file(follow_symlinks=False)
            if plain and item.name == LEAVES_FILE:
                leaves = _read_start(item.path, LARGEST_LEAVES)
            elif plain and is_seal_name(item.name):
                seals[item.name] = _read_start(item.path, LARGEST_SEAL)
            elif not item.name.startswith("."):
                others.add(item.name)
    return SealFolder(leaves=leaves, seals=seals, others=frozenset(others))


def _read_start(path: str, most: int) -> bytes:
    """The first bytes of a file, and one more than there may be."""
    with open(path, "rb") as file:
        return file.read(most + 1)
