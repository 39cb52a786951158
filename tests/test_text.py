"""How words are counted, joined, cut and made harmless, against Unicode's own data and printed examples."""

from __future__ import annotations

import re
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.text import (
    LINE_BREAKING,
    TURNING,
    agree,
    count,
    cut,
    fold_words,
    join_words,
    name_some,
    replace_unprintable,
    shorten,
    strip_accents,
    tame,
)


def test_counts_in_words() -> None:
    """One is singular, all else plural, zero too (CLDR's plural rules for English: `one` is 1 alone, else `other`)."""
    assert [count(n, "day") for n in (0, 1, 2, 21)] == ["0 days", "1 day", "2 days", "21 days"]
    assert [count(n, "entry", "entries") for n in (1, 2)] == ["1 entry", "2 entries"]
    assert [agree(n, "is", "are") for n in (0, 1, 2)] == ["are", "is", "are"]


def test_a_list_in_words() -> None:
    """Commas, and a word alone before the last (common British practice, no source)."""
    lists = [list("abcd"[:n]) for n in range(5)]
    assert [join_words(words) for words in lists] == ["", "a", "a and b", "a, b and c", "a, b, c and d"]
    assert join_words(["a", "b", "c"], "or") == "a, b or c"


@pytest.mark.parametrize(
    ("names", "most", "told"),
    [([], 5, ""), (list("abcde"), 5, "a, b, c, d, e"), (list("abcdef"), 5, "a, b, c, d, e and 1 more"),
     (list("abc"), 1, "a and 2 more")],
)  # fmt: skip
def test_the_first_of_many_names(names: list[str], most: int, told: str) -> None:
    """As many names as there may be, and the number of those that are left out."""
    assert name_some(names, most) == told


def test_what_is_cut_says_so() -> None:
    """An ellipsis stands for what is gone, and only then; `shorten` cuts between words, and counts it in."""
    assert [cut("seized", most) for most in (6, 5, 0)] == ["seized", "seize…", "…"]
    assert shorten("a hub, a seal", 13) == "a hub, a seal"
    assert [shorten("a hub, a seal", most) for most in (12, 10, 9)] == ["a hub, a…", "a hub, a…", "a hub…"]


@given(st.text(alphabet="ab ,;:", min_size=1), st.integers(min_value=1, max_value=40))
def test_a_shortened_text_is_as_short_as_was_asked(text: str, most: int) -> None:
    """No text comes back longer than there is room for."""
    assert len(shorten(text, most)) <= most


def test_words_are_compared_without_case_and_blanks() -> None:
    """Full case folding: `ß` is `ss` (Unicode, CaseFolding.txt: `00DF; F; 0073 0073`)."""
    assert fold_words("  Main\tBEARING \n cap ") == "main bearing cap"
    assert fold_words("GROSSE") == fold_words("große")


@pytest.mark.parametrize(
    ("text", "plain"),
    [("\u1e9b\u0323", "s"), ("\ufb01", "fi"), ("\u00e9e\u0301", "ee"), ("2\u2075", "25"), ("\u00f8", "\u00f8")],
)
def test_accents_are_those_of_unicode(text: str, plain: str) -> None:
    """NFKD of U+1E9B U+0323, U+FB01 and 2⁵ as in Annex 15, figure 6, less the marks; `ø` has no mark in Unicode."""
    assert strip_accents(text) == plain


def test_what_a_terminal_obeys_becomes_a_blank() -> None:
    """Of all characters of Unicode, those of categories Cc, Cf, Cs, Zl, Zp alone: a non-breaking space stays."""
    every = "".join(map(chr, range(sys.maxunicode + 1)))
    changed = {unicodedata.category(old) for old, new in zip(every, tame(every), strict=True) if old != new}
    assert changed == {"Cc", "Cf", "Cs", "Zl", "Zp"}
    # ECMA-48: ESC and its 8-bit twin CSI; BEL; Annex 9: right-to-left override and isolate
    assert tame("\x1b[2J\x9b2J\x07\u202e\u2067ü\u00a0—") == " [2J 2J   ü\u00a0—"


def test_a_strangers_words_show_every_sign_that_is_not_seen() -> None:
    """Categories C and Z of Unicode are replaced, one sign for one, and the space alone is not."""
    every = "".join(map(chr, range(sys.maxunicode + 1)))
    seen = replace_unprintable(every, "?")
    assert {unicodedata.category(old)[0] for old, new in zip(every, seen, strict=True) if old != new} == {"C", "Z"}
    assert [
        old for old, new in zip(every, seen, strict=True) if unicodedata.category(old)[0] in "CZ" and old == new
    ] == [" "]
    assert replace_unprintable("a\u00a0b\ue000\u2028c", "") == "abc"


def test_what_breaks_a_line_and_what_turns_it() -> None:
    """What Python's own line splitting breaks at is found; the directional signs are those of Annex 9, table 1."""
    broken = [sign for sign in map(chr, range(0x10000)) if len(f"a{sign}b".splitlines()) > 1]
    assert len(broken) > 8
    assert all(LINE_BREAKING.search(sign) for sign in broken)
    assert not LINE_BREAKING.search("a\u00a0b — é 漢")
    by_hand = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    every = map(chr, range(0x10000))
    assert all(bool(re.match(f"[{TURNING}]", sign)) == (unicodedata.bidirectional(sign) in by_hand) for sign in every)
