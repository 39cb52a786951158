"""The files of the search that hold words: how they are written, and changed where a few stories say other ones.

What is in them, and how they are searched: `search.py`.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from itertools import accumulate
from typing import Any

from buildlog.render.markdown import Story
from buildlog.render.said import take_up
from buildlog.text import list_search_words

FOLDER = "search"
"In the site."


def write_file(kind: str, number: int, content: Any) -> bytes:
    """One file: a call that hands over what it holds, as a page from a disk may load scripts and nothing else."""
    data = json.dumps(content, ensure_ascii=False, separators=(",", ":"))
    return f'takeSearch("{kind}",{number},{data});\n'.encode()


def _read(kind: str, number: int, written: bytes) -> str:
    """What a file of words holds that `write_file` wrote."""
    text: str = json.loads(written.decode().removeprefix(f'takeSearch("{kind}",{number},').removesuffix(");\n"))
    return text


def deal(letters: str, count: int) -> int:
    """The file, of so many, of words with these two letters. Of two, as many begin with the same one."""
    return (ord(letters[0]) * 31 + ord(letters[1])) % count


def list_story_words(story: Story) -> frozenset[str]:
    """The words that a story is found by."""
    return take_up(list_search_words(story.words))


def write_places(word: str, numbers: Sequence[int]) -> str:
    """Who says a word, in order: each by its distance from the one before."""
    return f"{word} {','.join(str(number - before) for before, number in zip((0, *numbers), numbers, strict=False))}"


# ── the index of before, with other words in a few stories ───────────────────────────────────────────────────────


Change = tuple[int, frozenset[str], frozenset[str]]
"The number of an entry or page in the index, the words that it says no more, and those that it has come to say."


def change_words(count: int, changes: Sequence[Change], read: Callable[[str], bytes | None]) -> dict[str, bytes] | None:
    """The files of words that are others after some changes, by path; None where one of before cannot be `read`.

    `count` is that of files, which like all else of the index is as it was.
    """
    touched = {word for _, gone, come in changes for word in gone | come}
    files: dict[str, bytes] = {}
    lost: set[str] = set()
    found: set[str] = set()
    for at in sorted({deal(word[:2], count) for word in touched}):
        before = read(path := f"{FOLDER}/words-{at}.js")
        if before is None:
            return None
        rows = _read("words", at, before).split(";")
        known = {row.partition(" ")[0]: row for row in rows if row}
        for word in (word for word in touched if deal(word[:2], count) == at):
            numbers = _read_places(known.pop(word, ""))
            there = (numbers - {n for n, gone, _ in changes if word in gone}) | {
                n for n, _, come in changes if word in come
            }
            if there:
                known[word] = write_places(word, sorted(there))
            (found if there and not numbers else lost if numbers and not there else set()).add(word)
        files[path] = write_file("words", at, ";".join(known[word] for word in sorted(known)))
    for at in sorted({deal(word[-2:], count) for word in lost | found}):
        before = read(path := f"{FOLDER}/ends-{at}.js")
        if before is None:
            return None
        words = {*_read("ends", at, before).split(" ")} - lost - {""}
        words |= {word for word in found if deal(word[-2:], count) == at}
        files[path] = write_file("ends", at, " ".join(sorted(words)))
    return files


def _read_places(row: str) -> set[int]:
    steps = row.partition(" ")[2]
    return set(accumulate(map(int, steps.split(",")))) if steps else set()
