"""What is wrong with a log, as data, and how it is shown to the owner.

A problem is found anywhere between the disk and the figures; it is shown only here. Exceptions are for our own
faults, never for the owner's: a function that finds something wrong with a log returns `Problem`s.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from functools import cached_property
from itertools import islice
from typing import Literal, NamedTuple

from buildlog.frozen import frozen
from buildlog.text import count, cut, tame

Severity = Literal["error", "warning"]


class Place(NamedTuple):
    """One spot in one file of the log."""

    file: str
    "path from the log's folder, with `/`"
    line: int = 1
    "first line is 1"
    column: int = 1
    "first column is 1, counted in characters"
    path: str = ""
    "the keys that lead there, as in `bought[0].lines[1].each`; empty for a whole file"

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@frozen
class Wording:
    """A message that stands on pages too, and so is said in the page's language there."""

    text: str
    "in English, marked for the catalogue, with places as `%(day)s`"
    places: tuple[tuple[str, str], ...]
    "what goes into them"
    days: int | None = None
    "goes into the place `span`, as people say it; None: there is no such place"

    def fill(self, say: Callable[..., str], span: Callable[[int], str]) -> str:
        """The message; `say` says a text with its places, `span` days."""
        spans = {} if self.days is None else {"span": span(self.days)}
        return say(self.text, **dict(self.places), **spans)


@frozen
class Problem:
    """One thing that is wrong, or that the owner should look at."""

    rule: str
    "stable kebab-case name of the rule that was broken"
    message: str
    "what is wrong: lower case, no full stop, values in backticks"
    place: Place
    "where"
    help: str = ""
    "what would be right, as the owner would type it"
    severity: Severity = "error"
    "`error`: nothing can be published; `warning`: published, and shown to the owner"
    also: tuple[Place, ...] = ()
    "the other places of a conflict"
    wording: Wording | None = None
    "what the message is made of; None: it is for the owner alone"


class Choices:
    """Words of which one may have been meant, to be asked for many words in turn."""

    def __init__(self, known: Iterable[str]) -> None:
        self.words = sorted(known)  # equally close ones are told in the same order every time

    @cached_property
    def endings(self) -> Mapping[str, list[str]]:
        """The words by their last letters."""
        grouped = defaultdict[str, list[str]](list)
        for word in self.words:
            grouped[word[-LAST:]].append(word)
        return grouped


def suggest(word: str, known: Iterable[str] | Choices) -> str:
    """A "did you mean" for a word that is none of the known ones, else the known ones, else nothing."""
    choices = known if isinstance(known, Choices) else Choices(known)
    close = get_close_matches(word, _narrow(word, choices), n=1, cutoff=0.6)
    if close:
        return f"did you mean `{close[0]}`?"
    if choices.words and len(choices.words) <= 12:
        # no guess is better than a far one; a list any longer would bury the message
        return "known here: " + ", ".join(f"`{choice}`" for choice in choices.words)
    return ""


MOST_COMPARED = 100
"Words that one word is compared with, letter by letter: a hundred thousand comparisons take a second."


LAST = 3
"Letters at the end of a word by which others are found that end alike."


def _narrow(word: str, choices: Choices) -> Sequence[str]:
    """Of many choices those that begin or end as the word does: a slip of the pen seldom spoils both ends."""
    if len(choices.words) <= MOST_COMPARED:
        return choices.words
    at = bisect_left(choices.words, word)
    beginning = choices.words[max(0, at - MOST_COMPARED // 4) : at + MOST_COMPARED // 4]
    alike = choices.endings.get(word[-LAST:], ()) if len(word) >= LAST else choices.words
    ending = (choice for choice in alike if choice.endswith(word[-LAST:]) and choice not in beginning)
    return [*beginning, *islice(ending, MOST_COMPARED // 2)]


def tell_some(problems: Iterable[Problem]) -> Iterator[Problem]:
    """The first problems of a kind in one file, and one that says that there are more: the rest is not even sought."""
    told = list(islice(problems, MOST_TOLD + 1))
    yield from told[:MOST_TOLD]
    if len(told) > MOST_TOLD:
        message = f"there are more problems of this kind than the {MOST_TOLD} shown for this file"
        help = "put these right first: one mistake often causes many"
        yield replace(told[-1], rule="more-problems", message=message, help=help, also=(), wording=None)


MOST_TOLD = 500
"Problems of one kind that are told of one file."


def sort_problems(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The problems once each, errors first, then by file, line and column."""
    unique = dict.fromkeys(problems)  # two stages may come upon the same one
    return tuple(sorted(unique, key=lambda p: (p.severity != "error", p.place, p.rule, p.message)))


def has_errors(problems: Iterable[Problem], *, strict: bool = False) -> bool:
    """Whether anything forbids publishing; with `strict` a warning does as well."""
    return any(strict or problem.severity == "error" for problem in problems)


def show_problems(problems: Sequence[Problem], texts: Mapping[str, str], *, colour: bool = False) -> str:
    """The problems as text for a terminal: where and what, the owner's line, what to write, and last the rule's name.

    The first line has the form that editors follow (GNU Coding Standards, "Formatting Error Messages"):
    `file:line:column: message`. The spot stands between » and « in the line; colour is never the only sign of it.
    `texts` maps a file of the log to its whole text; a file that is not in it is not quoted. Control characters of the
    owner's, or of a stranger's, never reach the terminal.
    """
    places = [place for problem in problems for place in (problem.place, *problem.also)]
    # Not `splitlines`, which also breaks at form feeds and at U+2028: a line here is one as readers of logs count it.
    rows = {file: texts[file].split("\n") for file in {place.file for place in places} if file in texts}
    blocks = [_show_problem(problem, rows, RED if colour else PLAIN) for problem in problems]
    return "\n\n".join([*blocks, count_problems(problems)]) + "\n"


def count_problems(problems: Sequence[Problem]) -> str:
    """`2 errors, 1 warning`, or `no problems`."""
    errors = sum(problem.severity == "error" for problem in problems)
    counts = ((errors, "error"), (len(problems) - errors, "warning"))
    return ", ".join(count(n, word) for n, word in counts if n) or "no problems"


Rows = Mapping[str, Sequence[str]]


Pen = tuple[str, str]
"What stands before and behind what is to be seen first."
PLAIN: Pen = ("", "")
RED: Pen = ("\x1b[1;31m", "\x1b[0m")
"Bold and red, and back (ECMA-48, SGR)."


def _show_problem(problem: Problem, rows: Rows, pen: Pen) -> str:
    grave = "" if problem.severity == "error" else f"{problem.severity}: "
    lines = [_tame_line(f"{problem.place}: {grave}{problem.message}"), *_quote(problem.place, rows, pen)]
    for place in problem.also:
        lines += [_tame_line(f"  see also {place}"), *_quote(place, rows, pen)]
    lines += [_tame_line(line) for line in (*_show_help(problem.help), f"  [{problem.rule}]")]
    return "\n".join(lines)


def _show_help(help: str) -> Iterator[str]:
    """`write: …` with the text as it would stand in the file, and what else there is to say below it."""
    found = re.match(r"write `([^`]+)`[,;:]? ?(.*)", help)
    if found:
        yield f"  write: {found[1]}"
    rest = found[2] if found else help
    if rest:
        yield f"{'         ' if found else '  '}{rest}"


WIDEST_QUOTE = 100
"Characters of an owner's line that are quoted; a longer one is cut around the spot."
OPEN, CLOSE = "»", "«"


def _quote(place: Place, rows: Rows, pen: Pen) -> list[str]:
    """The owner's line with the spot between » and «, and the keys that lead there."""
    known = rows.get(place.file, ())
    path = [_tame_line(f"  at {place.path}")] if place.path else []
    if not 1 <= place.line <= len(known) or not known[place.line - 1].strip():
        return path
    row, start = known[place.line - 1], max(0, place.column - 1)
    end = find_end(row, start)
    first = max(0, start - WIDEST_QUOTE // 2) if len(row) > WIDEST_QUOTE else 0
    last = first + WIDEST_QUOTE if len(row) > WIDEST_QUOTE else len(row)
    before, spot, behind = row[first:start], row[start : min(end, last)], row[min(end, last) : last]
    # In pieces: taming the whole line would take the pen's colours with what is the owner's.
    marked = f"{tame(before)}{pen[0]}{OPEN}{tame(spot)}{CLOSE}{pen[1]}{tame(behind)}"
    return [f"    {marked.rstrip()}", *path]


CLOSING = {"{": "}", "[": "]", '"': '"', "'": "'", "`": "`"}


def find_end(row: str, start: int) -> int:
    """Where the value or key that begins at a place in a line of YAML ends, as far as one line can tell."""
    rest = row[start:].rstrip()
    if rest[:1] in CLOSING:
        end = rest.find(CLOSING[rest[0]], 1) + 1
        return start + (end or len(rest))  # what is not closed on this line goes on in the next
    if row[:start].endswith("(") and ")" in rest:  # the address of a link
        return start + rest.index(")")
    flow = any(row[:start].count(opening) > row[:start].count(CLOSING[opening]) for opening in "{[")
    stop = re.search(r"[,}\]]|: | #|:$" if flow else r": | #|:$", rest)
    return start + (stop.start() if stop and stop.start() else len(rest))


LONGEST_LINE = 400
"Characters of one line of output, however long the owner's words are."


def _tame_line(line: str) -> str:
    """A line of ours, cut where it is too long, with nothing in it that a terminal would obey."""
    return tame(cut(line, LONGEST_LINE))
