"""Names of files: the one spelling in which they are compared, which are safe where, and short ones that always are.

Three rules say which paths are taken, each narrower than the one before: `is_sound` for what an owner has on his own
disk and a record speaks of, `is_portable` for what a site gives to any host, `is_plain` for what a stranger unpacks and
types in any shell. How long a path may be is left to whoever asks.
"""

from __future__ import annotations

import posixpath
import re
import unicodedata
from functools import lru_cache

from buildlog.text import ASCII_CONTROL, LONE_SURROGATE, keep_ascii

# ── compared ─────────────────────────────────────────────────────────────────────────────────────────────────────


def compose(name: str) -> str:
    """A file's name or path in form NFC, as it stands in every record, whatever form the disk or the owner has.

    `é` is one character or two (Unicode Standard Annex 15), and some disks hand back another form than was typed.
    """
    return name if name.isascii() else unicodedata.normalize("NFC", name)


def fold_name(name: str) -> str:
    """The same for all names that some file system takes for one: case and composition of letters are set aside.

    Much as Unicode's canonical caseless match (Unicode Standard, section 3.13). More names meet here than on any one
    system, as each has its own table of capitals: better one name too many refused than one file overwritten.
    """
    return name.lower() if name.isascii() else compose(compose(name).casefold())


# ── safe ─────────────────────────────────────────────────────────────────────────────────────────────────────────

OUTSIDE = r"\\|(?:^|/)\.{0,2}(?:/|$)"
"Another system's `/`, and parts that are empty, `.` or `..`: by these a path leaves the folder or is another's too."
DEVICE = r"(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[0-9¹²³])\x20*(?:\.[^/]*)?"
"""Names that are devices on Windows, with any suffix (Microsoft, Naming Files, Paths, and Namespaces; RFC 8493, 6.1.2).

Python's own list (`ntpath`) begins at COM1 and LPT1: 0 stands here as well because refusing it costs nobody anything.
"""
# `$` also stands before a line end at the very end, which a text out of folded YAML has.
LEADS_OUT = re.compile(OUTSIDE)
UNSOUND = re.compile(rf"[{ASCII_CONTROL}{LONE_SURROGATE}]|{OUTSIDE}")
UNFIT = re.compile(
    rf"""(?ix) [{ASCII_CONTROL}{LONE_SURROGATE}<>:"\\|?*]   # stands in no file name on some system
    | [.\x20] (?: / | $ )                              # is dropped at the end of a name on some system, or is `..`
    | (?: ^ | / ) (?: / | $ )                          # no name at all
    | (?: ^ | / ) {DEVICE} (?: / | $ )
    """
)
"One expression for all of it: it is asked of every file of a site, and a second search would cost as much again."
IS_DEVICE = re.compile(f"(?i){DEVICE}")
PLAIN_PART = re.compile(r"\.?[A-Za-z0-9_-][A-Za-z0-9._-]*(?<!\.)")
"What means the same in every shell and on every file system (RFC 8493, section 6.1.2)."
LONGEST_PART = 255
"Bytes of one part of a path: NAME_MAX of Linux, limits.h; others allow as many characters, of one byte or more each."


def leads_out(path: str) -> bool:
    """Whether a path leaves the folder that it is counted from, or may mean another file there on some system."""
    return bool(LEADS_OUT.search(path))


def is_sound(path: str) -> bool:
    """Whether a path stays inside its folder and can be written down, line by line and in UTF-8.

    A record has to speak of every file that a careful owner may have: signs that only some systems forbid are sound.
    """
    return not UNSOUND.search(path)


def is_portable(path: str) -> bool:
    """Whether a path will do on every system that a site may be copied to (Microsoft, as above; POSIX allows more)."""
    folder, slash, name = path.rpartition("/")
    # folders and name apart, since the name alone is another for each file
    return (_are_portable(folder) if slash else True) and not UNFIT.search(name) and _is_short(name)


@lru_cache(maxsize=4096)
def _are_portable(folders: str) -> bool:
    """Whether the folders of a path will do: asked once, as many files stand in each."""
    return not UNFIT.search(folders) and all(map(_is_short, folders.split("/")))


def _is_short(part: str) -> bool:
    return len(part) <= LONGEST_PART // 4 or len(part.encode()) <= LONGEST_PART  # UTF-8 has at most four bytes a sign


def is_plain(path: str) -> bool:
    """Whether a path has nothing but ASCII letters, digits, `.`, `_` and `-`, and means one file everywhere."""
    return all(PLAIN_PART.fullmatch(part) and not is_device(part) for part in path.split("/"))


def is_device(name: str) -> bool:
    """Whether a file's name, or one part of a path, is a device on some system: `NUL`, `con.md`, `LPT1.tar.gz`."""
    return bool(IS_DEVICE.fullmatch(name))


# ── made ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def simplify_stem(file: str, *, longest: int) -> str:
    """The stem of a file's name in small letters, digits and dashes; `photo` where it holds none."""
    stem = posixpath.splitext(posixpath.basename(file))[0]
    return "-".join(re.findall("[a-z0-9]+", keep_ascii(stem).lower()))[:longest].rstrip("-") or "photo"
