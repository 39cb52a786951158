"""How a finished site gets onto the disk without ever losing anything.

Everything is known before the first byte is written. Each file is exchanged whole, what others point to first; what is
the same is left alone, and only what an earlier run wrote is ever removed. While the folder is neither the old site nor
the new one, a marker stands in it; the next run finishes what a killed one began.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import shutil
import stat
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import field
from pathlib import Path, PurePosixPath

from buildlog.frozen import frozen
from buildlog.paths import fold_name, is_portable
from buildlog.runs import FolderBusy, hold_folder

MARKER = "unfinished.txt"
MARKER_TEXT = """\
Publishing into this folder was interrupted: what is here is partly the old site and partly the new one.
Do not upload it. Publish the log again: that finishes the site and takes this file away.
"""
MANIFEST = "site-files.txt"
MANIFEST_TEXT = """\
These files were written when the log was published, and are replaced or removed when it is published again.
All other files in this folder are somebody else's and are left alone.
"""
OUR_LISTS = ((MANIFEST, MANIFEST_TEXT), (MARKER, MARKER_TEXT))
TEMPORARY = ".unfinished-"
"How the name of a file begins that is being written; the process number follows."

OF_A_SITE = frozenset(
    {
        ".git",
        ".gitattributes",
        ".gitignore",
        ".gitkeep",
        ".github",
        ".nojekyll",
        ".htaccess",
        ".well-known",
        ".DS_Store",
    }
)
"Hidden files that may wait for a site in its folder; a folder with others is somebody's own, such as a home folder."
OWNERS_FOLDERS = frozenset({"entries", "pages", "photos", "papers", "seals", "theme"})
"Folders of a log that no site is written into."


class OutputRefused(Exception):
    """The folder or a name in the site will not do; nothing was written."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.message = message
        "what is wrong: lower case, no full stop, values in backticks"
        self.help = help
        "what to do instead"


@frozen
class WriteReport:
    """What a run did; paths in the site, each in the order in which it was done."""

    written: tuple[str, ...]
    "new, or with other contents"
    unchanged: tuple[str, ...]
    "left as they were, time included"
    removed: tuple[str, ...]
    "of an earlier run, and no longer wanted"

    def __str__(self) -> str:
        return f"files written: {len(self.written)}, unchanged: {len(self.unchanged)}, removed: {len(self.removed)}"


@frozen
class Foreseen:
    """Bytes of which it is known what they are, and which are made where the file does not hold them."""

    digest: bytes
    "see `hash_content`"
    remake: Callable[[], bytes] = field(compare=False)
    "makes them"
    ready: bool = False
    "whether they lie ready elsewhere, so that making them is no more than reading them"


Content = bytes | os.PathLike[str] | Foreseen
"What a file is to hold: bytes, or what a file elsewhere holds. Of a photo's variant size and time are known already."


def hash_content(content: bytes) -> bytes:
    """By what the bytes of a file are known again."""
    return hashlib.blake2b(content, digest_size=20).digest()


def make_content(content: Content) -> bytes | os.PathLike[str]:
    """What is foreseen, made; all else as it is."""
    return content.remake() if isinstance(content, Foreseen) else content


def write_site(
    out: Path,
    files: Mapping[str, Content],
    *,
    log: Path | None = None,
    then: Callable[[WriteReport], None] = lambda report: None,
) -> WriteReport:
    """Make the folder hold exactly these files of ours, by path in the site.

    A copy counts as unchanged when size and time are those of its source: give bytes for what may be exchanged with
    both kept. `log` is the log's folder, which the site must not be written over. `then` is called once all is written,
    while no other run can write there; not at all where folders cannot be locked. Raises `OutputRefused` before
    anything is written, and `OSError` when the disk fails on the way; then the marker stays.
    """
    # every refusal comes before the first byte: a site is never left half done by something that was known before
    _check_names(files)
    out = Path(os.path.realpath(out))  # `Path.resolve` raises a RuntimeError for a link that leads to itself
    if log is not None:
        _check_apart(out, Path(os.path.realpath(log)))
    _read_known(out, files)  # so that nothing is made where it is refused
    with _alone(out) as alone:
        report = _write_alone(out, files)
        if alone:
            then(report)
        return report


@contextlib.contextmanager
def _alone(out: Path) -> Iterator[bool]:
    """Only one run at a time writes into a folder: two would mix their sites, each taking the other's files away."""
    out.mkdir(parents=True, exist_ok=True)
    try:
        with hold_folder(out) as locked:
            yield locked
    except FolderBusy:
        message = f"another run is publishing into `{out}` just now"
        raise OutputRefused(message, "wait until it has ended, or choose another folder") from None


def _write_alone(out: Path, files: Mapping[str, Content]) -> WriteReport:
    """The same, while nobody else writes there: what stands there is looked at only now."""
    known = _read_known(out, files)
    # never copied, as it may put together what it holds when that is asked for
    left = {name for name in GIVE_WAY if name in files and _is_others(out, name, known)}
    # in one order on every system, so that tests can kill a run at each of its steps
    names = sorted(name for name in files if name not in left)
    names.sort(key=_rank)
    _check_folders(out, names)
    top = str(out)
    stale = [name for name in names if not _is_same(top, name, files[name])]
    # only what a list of ours names, and never "what else is there": the folder may hold an owner's own files
    gone = [name for name in sorted(known.difference(names)) if _is_of_a_site(name) and os.path.lexists(out / name)]
    _check_free(out, stale, known)
    # Before the first byte is written: what is made now may still fail.
    early = {name: content for name in stale if (content := _make_early(files[name])) is not None}

    manifest = _write_list(MANIFEST_TEXT, names)
    # a run with nothing to do writes nothing, so that what copies the folder elsewhere has nothing to copy
    if stale or gone or not _is_same(top, MANIFEST, manifest) or os.path.lexists(out / MARKER):
        _clean_up(out, known)
        # names old and new files: the next run may remove or replace either, however far this one gets
        _exchange(out, MARKER, _write_list(MARKER_TEXT, known.union(names)))
        for name in stale:
            _exchange(out, name, early[name] if name in early else files[name])
        # after all that no longer points to them
        for name in gone:
            _remove(out, name)
        # before the marker goes, or a run killed here would leave files that nobody knows to be ours
        _exchange(out, MANIFEST, manifest)
        (out / MARKER).unlink()
    old = set(stale)
    return WriteReport(
        written=tuple(stale), unchanged=tuple(name for name in names if name not in old), removed=tuple(gone)
    )


def _make_early(content: Content) -> bytes | os.PathLike[str] | None:
    """What is foreseen and lies nowhere yet, made; None: nothing has to be made for it."""
    return make_content(content) if isinstance(content, Foreseen) and not content.ready else None


SITE_FILES = re.compile(
    r"[^/]+\.(html|xml)|share\.jpg|robots\.txt|(entries|costs|faults|pages|parts|pictures|timeline|service|systems|to-do)/[^/]+\.html|photos/([^/]+/)*[^/]+\.(jpg|webp|html)|search/[^/]+\.js|(theme|papers)/.+"
)


GIVE_WAY = frozenset({"404.html", "robots.txt"})
"Whoever has a file of this name for the host has put it there on purpose: theirs stays, and ours is not written."


def _is_others(out: Path, name: str, known: frozenset[str]) -> bool:
    return name not in known and os.path.lexists(out / name)


def _is_of_a_site(name: str) -> bool:
    """Whether a site has files of such names: the list lies where anybody can edit it, and may name an owner's file."""
    return bool(SITE_FILES.fullmatch(name))


def _rank(name: str) -> int:
    """What others point to comes first: files that pages show, pages in folders, pages at the top, ways in."""
    if not name.endswith((".html", ".xml")):
        return 0
    if "/" in name:
        return 1
    return 3 if name == "index.html" or name.endswith(".xml") else 2


# ── what is refused ──────────────────────────────────────────────────────────────────────────────────────────────


def _check_names(names: Iterable[str]) -> None:
    """Refuse paths that leave the folder, or that mean something else, or another file's, on some system."""
    # compared as the strictest system compares, since nobody knows where a site is copied to
    taken = {fold_name(name): f"the tool's own {name}" for name in (MARKER, MANIFEST)}
    for name in names:
        if not _is_fit(name):
            message = f"`{name}` cannot be a path in the site"
            raise OutputRefused(message, "use letters, digits, dots and dashes in names")
        if taken.setdefault(fold_name(name), name) != name:
            message = f"`{name}` and `{taken[fold_name(name)]}` are the same file on some systems"
            raise OutputRefused(message, "rename one of them")
    for folder in _list_folders(names):
        if fold_name(folder) in taken:
            message = f"`{taken[fold_name(folder)]}` is a file, and `{folder}` a folder"
            raise OutputRefused(message, "rename one of them")


def _is_fit(name: str) -> bool:
    """Whether a path will do, and is not one under which a file is being written."""
    return is_portable(name) and f"/{TEMPORARY}" not in f"/{fold_name(name)}"


def _list_folders(names: Iterable[str]) -> list[str]:
    """Every folder on the way to the files, outer ones first."""
    nearest = {name.rpartition("/")[0] for name in names}
    return sorted(
        {str(folder) for near in nearest for folder in (PurePosixPath(near), *PurePosixPath(near).parents)} - {"."}
    )


def _check_apart(out: Path, log: Path) -> None:
    # what is published into a folder may also be removed from it, so the log must not lie inside
    if log == out or log.is_relative_to(out):
        raise OutputRefused(f"the log itself is in `{out}`", "choose a separate folder for the site, as in `LOG/site`")
    if out.is_relative_to(log) and fold_name(out.relative_to(log).parts[0]) in OWNERS_FOLDERS:
        raise OutputRefused(f"`{out}` is where the log keeps its own files", "choose another folder, as in `LOG/site`")


def _check_folders(out: Path, names: Iterable[str]) -> None:
    """Refuse to write by way of a link, or below something that is no folder."""
    for folder in _list_folders(names):
        path = out / folder
        # behind a link lies a folder that nobody meant to publish into
        if path.is_symlink() or (os.path.lexists(path) and not path.is_dir()):
            raise OutputRefused(f"`{path}` is not an ordinary folder", "move it out of the way")


def _check_free(out: Path, names: Iterable[str], known: frozenset[str]) -> None:
    """Refuse to write where something stands that no earlier run put there."""
    for name in names:
        path = out / name
        if os.path.lexists(path) and (name not in known or (path.is_dir() and not path.is_symlink())):
            raise OutputRefused(f"`{path}` is in the way: it is not part of this site", "move it out of the way")


# ── what earlier runs left ───────────────────────────────────────────────────────────────────────────────────────


def _read_known(out: Path, checked: Collection[str]) -> frozenset[str]:
    """Paths that earlier runs wrote, or were about to write; refuses a folder that holds other people's files only.

    `checked` are paths that are known to be fit.
    """
    if not os.path.lexists(out):
        return frozenset()
    if not out.is_dir():
        raise OutputRefused(f"`{out}` is not a folder", "choose another one for the site")
    lists = [(name, text) for name, text in OUR_LISTS if os.path.lexists(out / name)]
    # hidden files do not count: version control and file managers put theirs into any folder
    if not lists and not (set(os.listdir(out)) <= OF_A_SITE):
        message = f"`{out}` contains files that are not part of a site published earlier"
        raise OutputRefused(message, "choose an empty folder, or one that does not exist yet")
    return frozenset(name for list_name, text in lists for name in _read_list(out / list_name, text, checked))


def _read_list(path: Path, text: str, checked: Collection[str]) -> list[str]:
    """The paths in a list of ours; refuses somebody else's file of that name."""
    plain = path.is_file() and not path.is_symlink()
    # the whole head is compared: a name alone may be somebody else's
    head, _, names = path.read_text(encoding="utf-8", errors="replace").partition("\n\n") if plain else ("", "", "")
    if head + "\n" != text:
        raise OutputRefused(f"`{path}` is in the way: it is not part of this site", "move it out of the way")
    # the list may have been changed by hand: a path that leads out of the folder is dropped, and nothing removed by it
    return [name for name in names.split("\n") if name in checked or _is_fit(name)]


def find_site(path: Path) -> Path | None:
    """The published site that a path would stand in, or none."""
    for folder in (path, *path.parents):
        for name, text in OUR_LISTS:
            with contextlib.suppress(OSError, OutputRefused):
                if os.path.lexists(folder / name):
                    _read_list(folder / name, text, ())
                    return folder
    return None


def _write_list(text: str, names: Iterable[str]) -> bytes:
    return "\n".join([text, *sorted(names), ""]).encode()


def _clean_up(out: Path, known: frozenset[str]) -> None:
    """Remove the half-written files of a killed run; without a marker only the marker itself can be one."""
    # without a marker no run was killed while it wrote, and a look into every folder takes time
    marked = known if os.path.lexists(out / MARKER) else ()
    for folder in {out, *((out / name).parent for name in marked)}:
        if folder.is_dir() and os.path.realpath(folder) == str(folder):
            for path in folder.glob(f"{TEMPORARY}*"):
                path.unlink(missing_ok=True)


# ── one file ─────────────────────────────────────────────────────────────────────────────────────────────────────


def _is_same(out: str, name: str, content: Content) -> bool:
    """Whether the file is there as it should be; a copy is known by the size and time of what it was copied from.

    One whose time is another is read, and given that time when it is the same, so that it need not be read again.
    """
    path = f"{out}/{name}"
    try:
        here = os.lstat(path)
    except OSError:
        return False
    if not stat.S_ISREG(here.st_mode):
        return False
    if isinstance(content, bytes):
        return here.st_size == len(content) and _read(path) == content
    if isinstance(content, Foreseen):
        return hash_content(_read(path)) == content.digest
    size, mtime_ns = _measure(content)
    if here.st_size != size or here.st_mtime_ns == mtime_ns:
        return here.st_size == size
    # a folder that was copied without its times is read once, and not written
    same = _read(path) == _read(content)
    if same:
        os.utime(path, ns=(here.st_atime_ns, mtime_ns))
    return same


def _measure(source: os.PathLike[str]) -> tuple[int, int]:
    """Size and time of a file to copy."""
    from buildlog.photos.recipe import Variant  # late: who asks only how a file is hashed needs nothing of photos

    # known from the index: asking the disk again for each of ten thousand pictures is what takes long
    if isinstance(source, Variant):
        return source.size, source.mtime_ns
    there = os.stat(source)
    return there.st_size, there.st_mtime_ns


def _read(path: str | os.PathLike[str]) -> bytes:
    with open(path, "rb", buffering=0) as file:
        return file.read()


def _exchange(out: Path, name: str, content: Content) -> None:
    """Put the file in place whole: a reader sees the old one or the new one, and a link is replaced, not followed."""
    path = out / name
    path.parent.mkdir(parents=True, exist_ok=True)
    # beside its place, as only within one file system a rename is all or nothing (POSIX, rename)
    temporary = path.parent / f"{TEMPORARY}{os.getpid()}"
    content = make_content(content)
    if isinstance(content, bytes):
        temporary.write_bytes(content)
    else:
        shutil.copyfile(content, temporary)
        source = os.stat(content)
        os.utime(temporary, ns=(source.st_atime_ns, source.st_mtime_ns))
    os.replace(temporary, path)


def _remove(out: Path, name: str) -> None:
    """Take away a file of an earlier run, and the folders that it leaves empty; never by way of a link."""
    path = out / name
    # a folder exchanged for a link since: nothing outside is ever removed
    if os.path.realpath(path.parent) != str(path.parent) or (path.is_dir() and not path.is_symlink()):
        return
    path.unlink(missing_ok=True)
    with contextlib.suppress(OSError):  # a folder that is not empty stays
        while (path := path.parent) != out:
            path.rmdir()
