"""Which names of files are safe, and which are one name, against Python's own rules for Windows and published ones."""

from __future__ import annotations

import ntpath
import posixpath
import unicodedata
from pathlib import PureWindowsPath

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from buildlog.paths import (
    LONGEST_PART,
    compose,
    fold_name,
    is_device,
    is_plain,
    is_portable,
    is_sound,
    leads_out,
    simplify_stem,
)

# Microsoft, Naming Files, Paths, and Namespaces: reserved names, alone and "followed immediately by an extension";
# CONIN$ and CONOUT$ are of its page on console handles
DEVICES = ["CON", "prn", "Aux", "nul", "com1", "COM9", "lpt1", "LPT¹", "com².md", "con.md", "NUL.tar.gz", "aux .txt",
           "conin$", "CONOUT$.log"]  # fmt: skip
NAMES = ["cons", "com", "com10", "lpt", "nul-1.pdf", "console.md", "xcon", "c.on", "aux-belt.md", "conin", "co n"]
ANY_NAME = st.text(alphabet="conaulpt019¹.$ -", min_size=1, max_size=8)


def is_reserved(name: str) -> bool:
    """What the standard library says: a function of its own from 3.13 on, which says more than devices."""
    asked = getattr(ntpath, "isreserved", None)
    return bool(asked(name)) if asked else PureWindowsPath(name).is_reserved()


@pytest.mark.parametrize("name", DEVICES)
def test_devices_of_windows(name: str) -> None:
    """Each is one by Python's own list, and neither a site nor a bag may have it, at any depth."""
    assert is_reserved(name)
    assert is_device(name)
    assert not any(is_portable(path) for path in (name, f"a/{name}", f"{name}/b", f"a/{name}/b"))
    assert not any(is_plain(path) for path in (name, f"a/{name}", f"{name}/b"))
    assert is_sound(name)  # an owner on another system may have it


@pytest.mark.parametrize("name", NAMES)
def test_names_that_only_look_like_devices(name: str) -> None:
    """A longer name, or a device's name further on, is a file's."""
    assert not is_reserved(name)
    assert not is_device(name)
    assert is_portable(name)


@given(ANY_NAME)
def test_devices_are_those_of_the_standard_library(name: str) -> None:
    """Of names without any other fault, the same are devices; COM0 and LPT0 alone are ours."""
    assume(name[-1] not in ". " and name.partition(".")[0].rstrip(" ").lower() not in ("com0", "lpt0"))
    assert is_device(name) == is_reserved(name)


@pytest.mark.parametrize("sign", [*'<>:"\\|?*', *map(chr, range(32)), "\x7f", "\udc80"])
def test_signs_that_no_portable_name_has(sign: str) -> None:
    """Microsoft's reserved characters and 1 to 31, NUL (POSIX), DEL, and a byte that is no UTF-8 (PEP 383)."""
    assert not is_portable(f"papers/in{sign}voice.pdf")
    assert not is_portable(f"in{sign}voices/a.pdf")
    assert not is_plain(f"in{sign}voice.pdf")


@pytest.mark.parametrize("path", ["a.", "a ", "a./b", "a /b", "..", ".", "a/../b", "a//b", "/a", "a/", "", "a/."])
def test_ends_that_are_dropped_and_parts_that_are_none(path: str) -> None:
    """Microsoft: a name ends in neither a space nor a period. A part that is empty or dots alone is no name."""
    assert not is_portable(path)
    assert not is_plain(path)


@pytest.mark.parametrize(
    "path", ["a.md", "entries/a.html", ".hidden", "Größe é.jpg", "漢字.pdf", "a b/c d.pdf", "100%.pdf"]
)
def test_names_that_do_everywhere(path: str) -> None:
    """What none of the rules forbids is portable, in any script."""
    assert is_portable(path)
    assert is_sound(path)


def test_a_part_has_at_most_255_bytes() -> None:
    """NAME_MAX of Linux counts bytes, so that letters of three bytes are a third as many."""
    assert LONGEST_PART == 255
    assert [is_portable("a" * n) for n in (255, 256)] == [True, False]
    assert [is_portable(f"{'漢' * n}/a") for n in (85, 86)] == [True, False]


@given(st.text(alphabet="ab./\\ ~", max_size=12))
def test_no_path_that_stays_inside_leads_out(path: str) -> None:
    """Whatever is joined to a folder and normalised, by the rules of either system, stays in it unless it leads out."""
    for module, top in ((posixpath, "/log"), (ntpath, "C:\\log")):
        whole = module.normpath(module.join(top, path))
        assert leads_out(path) or whole.startswith(f"{top}{module.sep}")
    assert is_sound(path) == (not leads_out(path))


def test_control_characters_are_unsound() -> None:
    """A record is read line by line: a name with a line end would be two. Signs that only Windows forbids are sound."""
    assert not any(is_sound(f"papers/a{sign}b") for sign in (*map(chr, range(32)), "\x7f", "\ud800"))
    assert is_sound('papers/a?b"c:d.pdf')


@pytest.mark.parametrize("path", ["a b.pdf", "é.pdf", "a,b.pdf", "~a", "-\u2013.pdf", "a'b"])
def test_only_ascii_is_plain(path: str) -> None:
    """POSIX.1-2017, section 3.282: the portable filename character set is A-Z, a-z, 0-9, `.`, `_` and `-`."""
    assert not is_plain(path)
    assert is_plain("Az09._-/.b/c-d.tar.gz")


@pytest.mark.parametrize(
    ("decomposed", "composed"),
    [("A\u030a", "\u00c5"), ("\u212b", "\u00c5"), ("\u1e9b\u0323", "\u1e9b\u0323"), ("s\u0323\u0307", "\u1e69")],
)
def test_names_are_composed(decomposed: str, composed: str) -> None:
    """Form NFC, as in the figures of Unicode Standard Annex 15."""
    assert compose(decomposed) == composed
    assert compose(f"papers/{decomposed}.pdf") == f"papers/{composed}.pdf"


@given(st.text(st.characters(max_codepoint=0x24F), max_size=8), st.sampled_from(["NFC", "NFD"]))
def test_a_name_is_one_in_every_spelling(name: str, form: str) -> None:
    """A name in other capitals or in another form of Unicode, of any Latin letters, is the same file somewhere."""
    assert fold_name(unicodedata.normalize(form, name)) == fold_name(name)  # type: ignore[arg-type]
    assert fold_name(name.casefold()) == fold_name(name)


def test_names_that_differ_stay_two() -> None:
    """Another letter or another accent is another file."""
    assert fold_name("Straße.PDF") == fold_name("STRASSE.pdf")
    assert len({fold_name(name) for name in ("a.md", "b.md", "á.md", "à.md", "a.MD ")}) == 5


@pytest.mark.parametrize(
    ("file", "stem"),
    [("IMG_0042.JPG", "img-0042"), ("Größe é.jpg", "groe-e"), ("漢字.jpg", "photo"), ("a/b c.d.png", "b-c-d"),
     ("abcdefgh-ij.jpg", "abcdefgh")],
)  # fmt: skip
def test_a_stem_in_small_letters(file: str, stem: str) -> None:
    """Letters lose their accents, what is no letter or digit of ASCII parts words, and no dash is left at an end."""
    assert simplify_stem(file, longest=9) == stem
    assert is_plain(f"01-{stem}.jpg")
