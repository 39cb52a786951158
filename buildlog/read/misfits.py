"""What could not be read in a log: what its owner is told of it, and what is left open because of it?

A record is always made, with a stand-in where a value is missing or cannot be read, so what is there is never called
missing. A `Hole` says which key that was and what it is about; `compute.follow_ons` then holds back whatever would
vanish once it is mended. A value that has a remedy is read on as it was meant, so that what stands beside it is
checked as well. Which keys fit is found in `bind`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, suggest
from buildlog.read.fields import Slot, list_slots
from buildlog.read.kinds import TEXT, Kind, Unreadable, show
from buildlog.read.spelling import GENERAL_HELP, explain_number
from buildlog.read.yaml_remedies import quote
from buildlog.read.yaml_tree import Gap, Listing, Mapping, Node, Scalar

# By hand, as nothing in a slot says it: `note` and `why` are texts as well, and hold back nothing.
NAMING = frozenset(
    """
    part name what number replaces_number ref fault suspects clears cause instead_of item parts looked_at behind after
    covers reached_by driven_by stripped refitted made_good serviced arrived paid seen_again fitted removed scrapped
    """.split()
)
"Keys whose values say which part, order, fault, strip-down or measure a record is about."


@frozen
class Hole:
    """One thing that could not be read."""

    place: Place
    "where the text stands that cannot be read; of a key that is missing, its record"
    owner: Place
    "where the record starts that it belongs to"
    keys: frozenset[str]
    "the key that it was written under; of lines that could not be read at all, what may be keys; none: not known"
    text: str | None
    "what it is about: names in the record that it belongs to, or the lines themselves; None: nothing is known of it"

    def mentions(self, word: str) -> bool:
        """Whether it speaks of a part, an order, a fault of this name."""
        if self.text is None or word not in self.text:
            return self.text is None
        # whole names: with `\b`, `pump` would be found in `lift-pump`
        return re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", self.text) is not None


def list_words(text: str) -> frozenset[str]:
    """What may be keys in some lines: the words before colons, and the first of each line."""
    return frozenset(re.findall(r"[\w-]+(?=\s*:)|(?<=^)[\w-]+", text, re.MULTILINE))


def list_texts(node: Node) -> Iterator[str]:
    """Every text in a node, keys too."""
    if isinstance(node, Scalar | Gap):
        yield node.text
    elif isinstance(node, Listing):
        for item in node.items:
            yield from list_texts(item)
    else:
        yield node.lost
        for key, value in node.pairs:
            yield key.text
            yield from list_texts(value)


def list_names(node: Node) -> Iterator[str]:
    """What the records in a node are about, as it is written there."""
    if isinstance(node, Gap):
        yield node.text
    elif isinstance(node, Listing):
        for item in node.items:
            yield from list_names(item)
    elif isinstance(node, Mapping):
        yield node.lost
        for key, value in node.pairs:
            yield from list_texts(value) if key.text in NAMING else list_names(value)


def find_meant(kind: Kind, text: str, help: str) -> tuple[str, Any]:
    """The remedy for a text of this kind, and what takes its place until it is mended.

    What a remedy shows is read as it would be once the owner has typed it: where that would be refused in its turn, as
    `-5` for hours, what is said of that counts. Of two readings of a number only those stay that the kind allows.
    """
    # what stands behind these words is an example or a reason, and not what was meant
    shown = re.findall("`([^`]+)`", re.split(" as in |: ", help.removeprefix(DATE_HELP))[0])
    read = [_try(kind, word) for word in shown]
    good = [(word, value) for word, (value, _) in zip(shown, read, strict=True) if value is not None]
    if good:
        # `1,250` may be either of two numbers: where the kind takes just one of them, there is nothing to ask
        is_one_of_two = len(good) == 1 < len(shown) and help.startswith("write `")
        return (f"write `{good[0][0]}`" if is_one_of_two else help), good[0][1]
    refused = next((why for _, why in read if why), "")
    return (refused if help.startswith("write `") and refused else help), kind.stand_in(text)


DATE_HELP = "write year, month, day: "


def _try(kind: Kind, text: str) -> tuple[Any, str]:
    """The value of a text, or what is said of it."""
    try:
        return kind.read(text), ""
    except Unreadable as why:
        return None, why.help


def refuse_record(node: Node) -> Problem:
    """There should be keys, and there are none."""
    help = "write `key: value`, one on each line"
    if isinstance(node, Scalar) and re.match(r"[\w-]+:\S", node.text):
        help = f"put a space after the colon: `{node.text.split()[0].replace(':', ': ', 1)}`"
    return Problem(rule="wrong-shape", message="there are no keys here", place=node.place, help=help)


def refuse_table(slot: Slot, node: Node) -> Problem:
    """There should be names with values, and there are none."""
    message = f"`{slot.key}` needs names, each with a value"
    help = f"write `{slot.key}: {{first-name: …, second-name: …}}`"
    return Problem(rule="wrong-shape", message=message, place=node.place, help=help)


def refuse_shape(slot: Slot, node: Node, wanted: str) -> Problem:
    """A list, a block or a text stands where another of them should."""
    found = "a list" if isinstance(node, Listing) else "a block of keys" if isinstance(node, Mapping) else "text"
    if isinstance(slot.kind, Kind):
        help = f"write `{slot.key}: …` with one value" if slot.shape == "one" else f"write `{slot.key}: [one, two]`"
    else:
        slots = list_slots(slot.kind).values()
        # the least that would be valid, which is the shortest to type
        shown = [f"{each.key}: …" for each in slots if each.required] or [f"{next(iter(slots)).key}: …"]
        help = f"write `{slot.key}: {{{', '.join(shown)}}}`"
    message = f"`{slot.key}` should be {wanted}, not {found}"
    return Problem(rule="wrong-shape", message=message, place=node.place, help=help)


def miss(slot: Slot, place: Place, *, blank: bool) -> Problem:
    """A key that has to be written is not there, or has no value."""
    message = f"`{slot.key}` has no value" if blank else f"`{slot.key}` is missing"
    help = f"write `{slot.key}: …`: {slot.says}"
    return Problem(rule="missing-key", message=message, place=place, help=help)


def refuse_key(key: Scalar, known: Iterable[str]) -> Problem:
    """A key is none that is read here."""
    # YAML 1.1 has it for merging blocks (yaml.org/type/merge): a likely thing to copy from elsewhere
    if key.text == "<<":
        message, help = "`<<` merges in other keys, which is not supported here", "write the keys out in full"
        return Problem(rule="yaml-reference", message=message, place=key.place, help=help)
    message = f"the key {show(key.text)} is not known here"
    help = suggest(key.text, known) or "delete it, or put it in the story below the front matter"
    return Problem(rule="unknown-key", message=message, place=key.place, help=help)


def refuse_repeated(key: Scalar, first: Place, slot: Slot | None) -> Problem:
    """A key is written twice; both places are named."""
    if slot is not None and slot.shape == "list":
        help = f"put both under one `{key.text}:`, as a list"
    elif slot is not None:
        help = f"keep one `{key.text}:`, with the right value: repeated keys are neither added up nor replaced"
    else:
        help = "delete one, or give it another name"
    message = f"{show(key.text)} is written twice (first on line {first.line})"
    return Problem(rule="repeated-key", message=message, place=key.place, help=help, also=(first,))


def refuse_dash(node: Scalar) -> Problem:
    """An item of a list has no space behind its dash, so that YAML reads it as a text."""
    item = node.text[1:].partition(" -")[0]
    help = f"write `- {item}` for a list item; put text that starts with a dash in quotes"
    return Problem(rule="yaml-space", message="no space after the dash", place=node.place, help=help)


def explain_cut(head: tuple[Scalar, Node] | None, pieces: list[Scalar], slot: Slot | None) -> Problem:
    """Commas inside braces cut a value into pieces, all but the first of which stand alone."""
    texts = [head[1].text] if head and isinstance(head[1], Scalar) else []
    texts += [piece.text for piece in pieces]
    key = f"{head[0].text}: " if head else ""
    thing = "text"
    if slot is not None and slot.shape == "list":
        thing, help = "list", f"put the whole list in brackets: {key}[{', '.join(texts)}]"
    # where a text may stand, `12,50` is a text as well, and goes into quotes
    elif (slot is None or slot.kind is not TEXT) and (help := explain_number(",".join(texts))) != GENERAL_HELP:
        thing = "number"
    else:
        help = f"put the whole text in quotes: {key}{quote(', '.join(texts))}"
    message = f"a comma cuts this {thing} in two: {show(pieces[0].text)} is left on its own"
    place = pieces[0].place._replace(path=head[0].place.path) if head else pieces[0].place
    return Problem(rule="comma-in-braces", message=message, place=place, help=help)


def explain_no_space(key: Scalar) -> Problem:
    """No space stands behind a colon inside braces."""
    help = f"write `{key.text.replace(':', ': ', 1)}`"
    return Problem(rule="yaml-space", message="no space after the colon", place=key.place, help=help)
