"""Which files of a log seals speak of, what their bytes come to, and what lies in `seals/`: the record reads the disk.

Nothing is followed through a link, nothing is written, and no path out of a leaf is ever opened. What it means is left
to `seal_check` and `sealing`.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
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
    paths: dict[str, str] = {}
    for path in sorted(walk.find_paths()):
        name = compose(path)
        # Refused when it is sealed, and not when a buyer unpacks it: a leaf stays for good, and so would a name that no
        # other system can hold.
        if not is_sound_path(name):
            shown = path.encode("utf-8", "replace").decode()
            walk.add("name-not-sealable", shown, "has a name that other systems cannot have", "rename it")
        elif name in paths:
            help = "rename one of them"
            walk.add("same-name-twice", name, "is there twice, with its accents stored in two different ways", help)
        else:
            paths[name] = path
    return dict(sorted(paths.items())), walk.problems


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
    """Size and checksum of each file, hashed in threads; a problem for each that cannot be read or is being written."""
    names = list(paths)
    batches = [names[at : at + BATCH] for at in range(0, len(names), BATCH)]
    digests: dict[str, Digest] = {}
    problems = []
    # Threads do: hashing lets go of the interpreter, and so does reading.
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        for found in pool.map(lambda batch: [(name, _hash_file(f"{folder}/{paths[name]}")) for name in batch], batches):
            for name, digest in found:
                if isinstance(digest, Digest):
                    digests[name] = digest
                else:
                    message = f"`{name}` {digest}"
                    problem = Problem(rule="unreadable-file", message=message, place=Place(name), help=READ_HELP)
                    problems.append(problem)
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
