"""The index that a reader searches: what is in it, by the words of its files; what `public:` closes is not."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from buildlog.read import kinds
from buildlog.text import fold_for_search, list_search_words
from tests.render.test_canaries import CLOSED, PRIVATE, find_marks, mark_private, publish
from tests.whole_log import FIRST, PAGE, SECOND, read_whole

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


NOT_FOUND = {
    "Machine": "vin hin chassis_number engine_number registration area",  # what identifies it, or where it stands
    "Acquired": "seller",
    "Brought": "file digest at",
    "Site": "id",
    # Shown on no page: what a duty was for, and why a meter was changed before the log began.
    "Charge": "what",
    "MeterChange": "why",
}
"Texts that no search finds, at least in some places."
SAID_OF_THEM = {"Clearing by the carrier", "Needle stuck"}
"Which of those it finds all the same."


def test_every_text_that_readers_see_is_found(found: Mapping[str, list[str]]) -> None:
    """Whatever the owner wrote in words, by each word of it, through every field of the format.

    A field that is added and forgotten in the index fails here, as the log fills every one.
    """
    missing = {}
    for record, slot, value in read_whole().list_values():
        if slot.kind is kinds.TEXT and any(len(word) > 1 and word not in found for word in list_search_words(value)):
            missing.setdefault((record.__name__, slot.field), value)
    assert set(missing) == {(name, field) for name, fields in NOT_FOUND.items() for field in fields.split()}
    assert not [text for text in SAID_OF_THEM for word in list_search_words(text) if word not in found]


def test_what_log_yaml_says_is_found_where_it_stands(found: Mapping[str, list[str]]) -> None:
    """A list by its name, its items and its cautions; what is wanted; the machine; what was before the log."""
    for word, what in {
        "road": "List Before the road", "pedal": "List Before the road", "kill": "List Before the road",
        "canvas": "Wanted Hood of canvas", "sailmaker": "Wanted Hood of canvas", "drover": "Page The machine",
        "rebuilt": "Page Service history", "hose": "Service Engine oil", "still": "Page Still to do",
        "sheet": "Page Tightening sheet", "photos": "Page Photos",
    }.items():  # fmt: skip
        assert what in found[word], word


def test_what_is_planned_is_found_in_its_entry(found: Mapping[str, list[str]]) -> None:
    """What comes next, what was done and dropped, what is wanted and from whom, what was ticked; where things lie."""
    for word, what in {
        "jack": FIRST, "bleed": SECOND, "paint": SECOND, "grease": FIRST, "belt": FIRST, "lamps": SECOND,
        "friend": SECOND, "tin": FIRST, "beam": FIRST, "crate": FIRST, "23": "2024-06-22-drive",
        "wing": "2024-06-22-drive",
    }.items():  # fmt: skip
        assert what in found[word], word


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
    # Names of suppliers and what was charged for are words: numbers of the machine, amounts, papers are in no index.
    words_of = {"suppliers: shown", "prices: shown"} & {opened}
    assert {marks[mark] for mark in found} == words_of


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0410 223", ["0410", "223"]),
        ("Œuvre, Straße & Łódź", ["oeuvre", "strasse", "lodz"]),
        ("ﬁlter Ⅷ ½ ²", ["filter", "viii", "1", "2", "2"]),
        ("İstanbul ΣΊΣΥΦΟΣ", ["istanbul", "σισυφοσ"]),
        ("ＦＮＫ ６０２４", ["fnk", "6024"]),
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
