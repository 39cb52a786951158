"""Which numbers belong to one part: makers' numbers compared, superseded ones chained, order lines gathered.

What a part is called, and how it is found by a name, is for `parts.names`.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from heapq import heappop, heappush

from buildlog.frozen import frozen
from buildlog.problems import Problem
from buildlog.read.records import Entry, Line, Log
from buildlog.text import MOST_NAMED, agree, name_some, strip_accents

UNTRACKED_KINDS = ("labour", "fee")
"Kinds of line that name a part which the work or the fee is for, and bring none."


Number = tuple[str, str]
"A maker and a number, both folded; an unknown maker is the empty text."


@frozen
class Mention:
    """One order line that is kept track of."""

    line: Line
    "as it is written"
    system: str | None
    "key of a system: of the line, else the only one of its entry; None: none is named"
    number: Number | None
    "the line's own, with its maker where any line tells; None: not written"
    older: Number | None = None
    "the number that this line's supersedes"


def fold_number(text: str) -> str:
    """A maker's name or number as it is compared: upper case, without spaces, dots, dashes and slashes.

    Common practice, no source: makers print one number as `0 410 223`, `0410.223` and `0410-223`.
    """
    # Form NFKC first: a number pasted from a shop may have digits of full width, or a dash that looks like any other.
    return SIGNS.sub("", unicodedata.normalize("NFKC", text).upper())


SIGNS = re.compile(r"[\s./\\‐-―−-]")
"What makers print between the digits of a number, and leave out again."
LETTERS = re.compile(r"[^\W_]+")
"Runs of letters and digits of any script."


def make_key(text: str) -> str:
    """A text as a key: small letters and digits with dashes between; accents dropped, other scripts kept."""
    return "-".join(LETTERS.findall(strip_accents(text.casefold())))


def gather_families(log: Log) -> tuple[tuple[Mention, ...], ...]:
    """The order lines that are kept track of, one group a part, in the order of the log."""
    mentions = _settle_makers(tuple(_list_mentions(log)))
    families = _join_families(mentions)
    members: dict[Name, list[Mention]] = {}
    for mention in mentions:
        members.setdefault(families.head(mention.line.part or mention.number or ""), []).append(mention)
    return tuple(tuple(family) for family in members.values())


def check_family(family: tuple[Mention, ...]) -> Iterator[Problem]:
    """Where the lines of one part do not agree on its number."""
    if len(family) > 1:  # what was bought once, as most parts are, agrees with itself
        yield from _check_numbers(family)
        yield from _check_merge(family)


def _list_mentions(log: Log) -> Iterator[Mention]:
    for entry in log.entries:
        for line in (line for order in entry.bought for line in order.lines):
            number = fold_number(line.number or "")
            # A line with neither is kept for its cost alone: two cans of `grease` need not be one part.
            if (line.part or number) and line.kind not in UNTRACKED_KINDS:
                pair = (fold_number(line.maker or ""), number) if number else None
                yield Mention(line=line, system=line.system or only_system(entry), number=pair)


def only_system(entry: Entry) -> str | None:
    """The system that an entry is about, where it names just one."""
    # Of an entry about two systems nobody knows which of them a line is for.
    return entry.systems[0] if len(entry.systems) == 1 else None


def _settle_makers(mentions: tuple[Mention, ...]) -> tuple[Mention, ...]:
    """The mentions with makers filled in where another line tells who it is, and with superseded numbers."""
    by_key: dict[str, set[str]] = {}
    by_number: dict[str, set[str]] = {}
    for mention in mentions:
        if mention.number is not None and mention.number[0]:
            by_number.setdefault(mention.number[1], set()).add(mention.number[0])
            if mention.line.part:
                by_key.setdefault(mention.line.part, set()).add(mention.number[0])

    def settle(mention: Mention) -> Mention:
        key, number = mention.line.part or "", mention.number
        if mention.line.replaces_number is None and (number is None or number[0]):
            return mention
        # Only where there is one answer: two makers may well use one number for different things.
        if number is not None and not number[0]:
            number = (_only(by_key.get(key)) or _only(by_number.get(number[1])), number[1])
        older = fold_number(mention.line.replaces_number or "")
        maker = number[0] if number else ""
        makers = by_number.get(older, set())
        # A superseded number is of the same maker, unless another one alone is known to use it.
        older_pair = (maker if maker in makers else _only(makers) or maker, older) if older else None
        return Mention(line=mention.line, system=mention.system, number=number, older=older_pair)

    return tuple(settle(mention) for mention in mentions)


def _only(makers: set[str] | None) -> str:
    return next(iter(makers)) if makers and len(makers) == 1 else ""


Name = str | Number
"What a part is known by: a key, or a maker and a number."


class _Families:
    """Names that mean the same part, joined as they become known."""

    def __init__(self) -> None:
        self._above: dict[Name, Name] = {}

    def head(self, name: Name) -> Name:
        """The name that stands for the whole family: the first that was seen."""
        # Halving the way at each step keeps it short, however many links a chain has.
        above = self._above.setdefault(name, name)
        while above != name:
            self._above[name] = above = self._above[above]
            name, above = above, self._above[above]
        return name

    def join(self, first: Name, second: Name) -> None:
        """Make two names one family."""
        # The one that was seen first stays the head, so that a later line renames no part.
        head = self.head(first)
        self._above[self.head(second)] = head


def _join_families(mentions: Iterable[Mention]) -> _Families:
    families = _Families()
    typed = {mention.line.part for mention in mentions}
    for mention in mentions:
        key = mention.line.part
        # A number that somebody typed as a key is that part, though this line has no key.
        if key is None and mention.number is not None and make_key(mention.number[1]) in typed:
            key = make_key(mention.number[1])
        names: list[Name] = [name for name in (key, mention.number, mention.older) if name is not None]
        for name in names:
            families.join(names[0], name)
    return families


def order_numbers(family: tuple[Mention, ...]) -> tuple[dict[Number, str], list[Problem]]:
    """The family's numbers, each as first written, newest first, and the links that lead in a circle."""
    written: dict[Number, str] = {}
    for mention in family:
        for pair, text in ((mention.older, mention.line.replaces_number), (mention.number, mention.line.number)):
            if pair is not None and text is not None:
                written.setdefault(pair, text)
    if len(written) < 2 and all(mention.older is None for mention in family):
        return written, []
    links = {(m.number, m.older): m.line for m in family if m.number and m.older}
    # Where no link says which is newer, the one bought last is.
    ordered, left = _sort_newest(list(reversed(written)), links)
    return {pair: written[pair] for pair in (*ordered, *left)}, _report_circle(left, links) if left else []


Links = Mapping[tuple[Number, Number], Line]
"Order lines by the newer number that they bring and the older one that it replaces."


def _sort_newest(numbers: list[Number], links: Collection[tuple[Number, Number]]) -> tuple[list[Number], list[Number]]:
    """The numbers so that each stands before those that it replaces, else as they were, and those held by a circle."""
    place = {number: at for at, number in enumerate(numbers)}
    older = _group(links)
    newer_left = Counter(old for _, old in links)
    free = [place[number] for number in numbers if not newer_left[number]]
    ordered: list[Number] = []
    while free:
        ordered.append(number := numbers[heappop(free)])
        for old in older.get(number, ()):
            newer_left[old] -= 1
            if not newer_left[old]:
                heappush(free, place[old])
    done = set(ordered)
    return ordered, [number for number in numbers if number not in done]


def _group(links: Iterable[tuple[Number, Number]]) -> dict[Number, list[Number]]:
    """The second numbers of the pairs by their first."""
    grouped: dict[Number, list[Number]] = {}
    for first, second in links:
        grouped.setdefault(first, []).append(second)
    return grouped


def _report_circle(left: list[Number], links: Links) -> list[Problem]:
    """One problem for numbers that replace each other; those that hang below the circle are dropped first."""
    held = set(left)
    # Sorted the other way round, what hangs below a circle comes free, and the circle alone is left.
    upward = [(old, new) for new, old in links if new in held and old in held]
    inside = set(_sort_newest(left, upward)[1])
    lines = sorted((line for (new, old), line in links.items() if {new, old} <= inside), key=lambda line: line.place)
    named = list(dict.fromkeys(f"`{line.number}`" for line in lines))
    replace = agree(len(inside), "replaces itself", "replace each other in a circle")
    return [
        Problem(
            rule="number-replaces-itself",
            message=f"{name_some(named)} {replace}, so none of them is the newest",
            place=lines[-1].field_place("replaces_number"),
            help="`replaces_number:` goes with the newer number and names the older one",
            also=tuple(line.field_place("replaces_number") for line in lines[: min(len(lines) - 1, MOST_NAMED)]),
        )
    ]


def _check_numbers(family: tuple[Mention, ...]) -> Iterator[Problem]:
    """A problem for each line whose number has nothing to do with the first one under the same key."""
    chains = _Families()
    for mention in family:
        if mention.number and mention.older:
            chains.join(mention.number, mention.older)
    first: dict[str, Mention] = {}
    told: set[tuple[str, Number]] = set()
    for mention in family:
        if mention.line.part is None or mention.number is None:
            continue
        key, before = mention.line.part, first.setdefault(mention.line.part, mention)
        if not _are_linked(chains, mention.number, before.number) and (key, mention.number) not in told:
            told.add((key, mention.number))
            yield _report_two_numbers(mention.line, before.line)


def _are_linked(chains: _Families, number: Number, before: Number | None) -> bool:
    """Whether two numbers are one, by an unknown maker, or by a chain."""
    # An unknown maker may be the known one: a line without `maker:` is not held against its owner.
    if before is None or (number[1] == before[1] and "" in (number[0], before[0])):
        return True
    return chains.head(number) == chains.head(before)


def _report_two_numbers(line: Line, before: Line) -> Problem:
    if fold_number(line.number or "") == fold_number(before.number or ""):
        return Problem(
            rule="part-has-two-makers",
            message=f"`{line.part}` is made by `{line.maker}` here and by `{before.maker}` before",
            place=line.field_place("maker"),
            help="a different maker's part is a different part: give it its own short name under `part:`",
            also=(before.field_place("maker"),),
        )
    return Problem(
        rule="part-has-two-numbers",
        message=f"`{line.part}` has the number `{line.number}` here and `{before.number}` before",
        place=line.field_place("number"),
        help=f"add `replaces_number: {before.number}` if the new number supersedes it; "
        "else give the other part its own short name",
        also=(before.field_place("number"),),
    )


def _check_merge(family: tuple[Mention, ...]) -> Iterator[Problem]:
    """A warning where two keys are one part by a number alone, with no maker written on both."""
    holders: dict[Number, dict[str, Mention]] = {}
    for mention in family:
        if mention.number and mention.line.part:
            holders.setdefault(mention.number, {}).setdefault(mention.line.part, mention)
    for keyed in holders.values():
        first, *others = keyed.values()
        for other in others:
            # With both makers written it is no guess, and two short names for one part are the owner's business.
            if not (first.line.maker and other.line.maker):
                yield Problem(
                    rule="one-number-two-names",
                    message=f"`{other.line.part}` and `{first.line.part}` have the same number, `{first.line.number}`, "
                    f"so they are counted as one part",
                    place=other.line.field_place("number"),
                    help="use one short name for both, or write `maker:` on both lines",
                    severity="warning",
                    also=(first.line.field_place("number"),),
                )
