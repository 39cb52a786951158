"""What is written in a log and could not be read, so that nothing is told that would vanish once it is mended.

A record is always made, with a stand-in where a value is missing or cannot be read: what is there is never called
missing. A `Hole` says which key that was and what it is about; what follows from it is found in `compute.follow_ons`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.read.yaml_tree import Gap, Listing, Mapping, Node, Scalar

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
    owner: Place
    "where the record starts that it belongs to"
    keys: frozenset[str]
    "the key that it was written under; of lines that could not be read at all, what may be keys; none: not known"
    text: str | None
    "what it is about: names in the record that it belongs to, or the lines themselves; None: nothing is known of it"

    def mentions(self, word: str) -> bool:
        """Whether it speaks of a part, an order, a fault of this name."""
        return self.text is None or re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", self.text) is not None


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
