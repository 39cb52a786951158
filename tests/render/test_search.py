"""The index that a reader searches: what is in it, by the words of its files; what `public:` closes is not."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from buildlog.text import fold_for_search, list_search_words
from tests.render.test_canaries import CLOSED, PRIVATE, find_marks, mark_private, publish
from tests.whole_log import FIRST, PAGE, read_whole

CALL = re.compile(r'takeSearch\("(\w+)",(\d+),(.*)\);\n', re.DOTALL)


def read_index(files: Mapping[str, bytes]) -> tuple[dict[str, Any], dict[str, list[int]], set[str]]:
    """The index, each word with the numbers of what says it, and the words by their last letters."""
    index: dict[str, Any] = {}
    words: dict[str, list[int]] = {}
    ends: set[str] = set()
    for name, data in files.items():
        if name.startswith("search/"):
            match = CALL.fullmatch(data.decode())
            assert match, name
            content = json.loads(match[3])
            if match[1] == "index":
                index = content
            elif match[1] == "ends":
                ends |= set(content.split())
            else:
                for word, gaps in (row.split(" ") for row in content.split(";") if row):
                    steps = [int(gap) for gap in gaps.split(",")]
                    words[word] = [sum(steps[: n + 1]) for n in range(len(steps))]
    return index, words, ends


def list_indexed(files: Mapping[str, bytes]) -> dict[str, list[str]]:
    """Every word by which something is found, with what is found by it."""
    index, words, _ = read_index(files)
    told = [row[0] for group in index["groups"][:2] for row in group[2]]
    found = {word: [told[number] for number in numbers] for word, numbers in words.items()}
    for kind, _, rows in index["groups"]:
        for row in rows:
            for word in list_search_words(" ".join(map(str, row))):
                found.setdefault(word, []).append(f"{kind} {row[1]}")
    return found


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    """What is found in the whole log with everything open."""
    opened = dict.fromkeys(CLOSED, "shown")
    return list_indexed(publish(read_whole(), tmp_path_factory.mktemp("open"), opened))


@pytest.mark.parametrize(
    ("word", "what"),
    [
        ("diaphragm", FIRST),  # of a caption
        ("came", FIRST),  # of the story
        ("cracked", FIRST),  # why a part came off
        ("bench", FIRST),  # what a check saw
        ("kanaal", FIRST),  # a supplier
        ("77120", FIRST),  # an order's number
        ("0410223", FIRST),  # a part's number without its blank
        ("lever", FIRST),  # the name of a part that is bought
        ("lever", "2024-06-22-drive"),  # and of one that comes off, named by its key
        ("hot", FIRST),  # the name of a fault
        ("oil", "2024-06-08-again"),  # of a service item
        ("bodywork", "2024-06-22-drive"),  # of a system
        ("bulkhead", PAGE),  # of a standing page's photo
        ("maker", PAGE),
        ("lp", "Part Pump with a lever"),
        ("vostrand", "Part Pump with a lever"),
        ("4410", "Part Pump with a lever"),  # both numbers
        ("squeals", "Fault Squeals in the wet"),
        ("belts", "Service All belts"),
        ("bodywork", "System Bodywork"),
        ("chandler", "Supplier The chandler"),
        ("costs", "Page Costs"),
        ("specification", "Page What the maker says"),
    ],
)
def test_what_is_found_by_a_word(found: Mapping[str, list[str]], word: str, what: str) -> None:
    """Entries and pages by every word that they say, and whatever has a name by that."""
    assert what in found[word]


def test_no_amount_is_found(found: Mapping[str, list[str]]) -> None:
    """Not with prices shown, either: an amount on a page is a figure, and no word of the owner's."""
    numbers = {"7719", "7745", "7771", "7701", "7703", "7716"}
    assert numbers.isdisjoint(found)


def test_ends_have_the_same_words(tmp_path: Path) -> None:
    """A word with a slip in its first letters is sought among them, and then in the file that has it."""
    _, words, ends = read_index(publish(read_whole(), tmp_path, {}))
    assert ends == set(words) and len(ends) > 50


@pytest.mark.parametrize("opened", [None, *(how for how in PRIVATE if how != "never")])
def test_only_what_is_opened_is_found(opened: str | None, tmp_path: Path) -> None:
    """With everything closed, no word of the index holds a private mark; each key opens its own fields and no other.

    Words are in it folded and in pieces, so the marks are sought in the words and not in the bytes alone.
    """
    log, marks = mark_private(read_whole())
    public = dict(CLOSED)
    if opened:
        key, _, how = opened.partition(": ")
        public[key] = how
    words = {" ".join(list_indexed(publish(log, tmp_path, public))): b""}
    found = find_marks(words, marks)
    # Names of suppliers alone are words: numbers of the machine, amounts and papers are in no index.
    assert {marks[mark] for mark in found} == ({"suppliers: shown"} if opened == "suppliers: shown" else set())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0410 223", ["0410", "223"]),
        ("Œuvre, Straße & Łódź", ["oeuvre", "strasse", "lodz"]),
        ("ﬁlter Ⅷ ½ ²", ["filter", "viii", "1", "2", "2"]),
        ("İstanbul ΣΊΣΥΦΟΣ", ["istanbul", "σισυφοσ"]),
        ("ＮＧＫ ６０２４", ["ngk", "6024"]),
        ("don't_do", ["don", "t", "do"]),
    ],
)
def test_how_words_are_folded(text: str, words: list[str]) -> None:
    """Case, accents, ligatures, wide letters and digits make no difference (Unicode Standard Annex 15, form NFKD)."""
    assert list_search_words(text) == words


def test_folding_twice_is_folding_once() -> None:
    """What is folded is folded, whatever a letter becomes on the way: every character that there is."""
    changed = [
        hex(code)
        for code in range(0x110000)
        if not 0xD800 <= code < 0xE000 and fold_for_search(once := fold_for_search(chr(code))) != once
    ]
    assert changed == []


def test_old_pages_stay_as_they_are(tmp_path: Path) -> None:
    """The search adds files, and no byte to any page: a script that every page has puts it in."""
    pages = publish(read_whole(), tmp_path, {})
    assert not [path for path, data in pages.items() if path.endswith(".html") and b"takeSearch" in data]
    assert not [path for path, data in pages.items() if path.endswith(".html") and b'id="search"' in data]
