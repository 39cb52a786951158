"""YAML text as a tree of texts with positions: which words stand where, before anything is typed.

YAML 1.1 guesses (`12.50` a binary float, `0123` octal, `1:30` sexagesimal, `no` false, a repeated key that wins in
silence) do not happen: every scalar stays the text that the owner wrote. Anchors, aliases and tags are refused, so a
small file can never grow into a large tree. What can be read of a text that is no YAML is left to `salvage`, what a
text means to `kinds`, which key it belongs to, to `bind`.
"""

from __future__ import annotations

import re
from sys import intern
from typing import Any, NamedTuple, NoReturn

import yaml

from buildlog.problems import Place, Problem
from buildlog.read.yaml_remedies import DEPTH_HELP, QUOTE_IT, explain_syntax, quote, quote_value

# The pure one gives the same events in ten times the time; wheels of PyYAML bring libyaml nearly everywhere.
Parser: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
"PyYAML's, on libyaml where it is there; only its events are used, never its types."

DEEPEST = 12
"Levels of nesting that are read; the formats need six."

MOST_NODES = 20_000
"Values that are read of one file; the longest log.yaml that we can think of has a tenth."

MOST_ITEMS = 1_000
"Items of one list, or keys of one block: an order of 200 lines is a long one."

LONGEST_TEXT = 10_000
"Characters of one value: a story stands below the front matter, and has more room."

COMMENT = re.compile(r" +(#[^\s#].*)")
"What YAML takes for a comment, and an owner may not."

UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufffe\uffff]")
"""What YAML does not let stand in a file (yaml.org/spec/1.2.2 section 5.1 [1] c-printable), and U+0085, U+2028 and
U+2029, which break a line for a YAML 1.1 reader and not for an editor. What may stand, negated, would take ten times
as long to compile."""


# Looked up once, and not for each of the hundred thousand nodes of a large log.
ScalarEvent, MappingEndEvent = yaml.ScalarEvent, yaml.MappingEndEvent


# Tuples and no `@frozen`: a large log has a hundred thousand nodes, and tuples are made in half the time; by `new` in a
# quarter, as none of Python's own functions is called for each, which was a tenth of reading.
new: Any = tuple.__new__


class Scalar(NamedTuple):
    """One text."""

    text: str
    "what was written, without quotes and escapes"
    place: Place
    "of its first letter or quote"
    plain: bool
    "whether it was written without quotes"

    @property
    def blank(self) -> bool:
        """Whether there is nothing here: the empty value and YAML's null (1.2.2 section 10.3.2)."""
        return self.plain and self.text in BLANK


BLANK = frozenset(("", "~", "null", "Null", "NULL"))


class Listing(NamedTuple):
    """A list of nodes."""

    items: tuple[Node, ...]
    "in the order written"
    place: Place
    "of its first item or bracket"


class Mapping(NamedTuple):
    """Keys and their nodes, in the order written; a key may stand there twice."""

    pairs: tuple[tuple[Scalar, Node], ...]
    "each key with its value"
    place: Place
    "of its first key or brace"
    braces: bool
    "whether it was written on one line as `{…}`"
    lost: str = ""
    "lines of it that could not be read; their problems are told"


class Gap(NamedTuple):
    """What stands where a node should, and cannot be read; its problem is told."""

    text: str
    "the lines as they are written"
    place: Place
    "of the first thing in them"


Node = Scalar | Listing | Mapping | Gap


class Tree(NamedTuple):
    """One YAML text, read."""

    root: Node | None
    "None: there is nothing in it, or it could not be read"
    problems: list[Problem]
    "what is wrong, in the order in which it was met"
    broken: bool = False
    "whether it is no YAML; there is no root then"


def grow_tree(text: str, file: str, first_line: int, path: str = "") -> Tree:
    """The tree of one YAML document, and what is wrong with it.

    `first_line` is the line of `file` at which `text` starts, `path` the keys that lead to it.
    """
    # first: what the parser raises for such a character knows neither line nor column
    unseen = UNSEEN.search(text)
    if unseen:
        return Tree(None, [_refuse_character(unseen, text, Place(file, first_line, 1, path))], broken=True)
    grower = _Grower(text, file, first_line, path)
    try:
        return Tree(grower.grow_document(), grower.problems)
    except _Halt:
        return Tree(None, grower.problems)
    except yaml.MarkedYAMLError as error:
        problem = explain_syntax(error, text, Place(file, first_line, 1, path))
        # a line is reported once: what stopped the parser mostly follows from what was found before
        known = any(p.severity == "error" and p.place.line == problem.place.line for p in grower.problems)
        return Tree(None, grower.problems if known else [*grower.problems, problem], broken=True)


def join_path(path: str, key: str) -> str:
    """The keys that lead to a key; a key of a thousand characters is no help to anybody and is cut."""
    return f"{path}.{key[:LONGEST_KEY]}" if path else key[:LONGEST_KEY]


LONGEST_KEY = 60
"Characters of a key that a path repeats."


class _Halt(Exception):
    """Reading ends here; why is among the problems."""


class _Grower:
    """Turns the library's events into nodes, gathering what is refused."""

    def __init__(self, text: str, file: str, first_line: int, path: str) -> None:
        # bound once: it is called for every key and value of a log
        self.next_event = Parser(text).get_event
        self.text = text
        self.rows: list[str] = []
        self.file = file
        self.first_line = first_line
        self.path = path
        self.problems: list[Problem] = []
        self.nodes = 0
        # asked of the whole text once, as hardly any has one, and then of no value again
        self.has_hash = re.search(r" #[^\s#]", text) is not None

    def grow_document(self) -> Node | None:
        self.next_event()  # the stream's start
        if not isinstance(self.next_event(), yaml.DocumentStartEvent):
            return None
        event = self.next_event()
        blank = isinstance(event, yaml.ScalarEvent) and not event.value and event.anchor is event.tag is None
        root = None if blank else self.grow(event, 0, self.path)
        self.next_event()  # the document's end
        event = self.next_event()
        if isinstance(event, yaml.DocumentStartEvent):
            self.halt("yaml-second", "a second document starts here", self.place(event), "delete this `---` line")
        return root

    def grow(self, event: Any, depth: int, path: str) -> Node:
        mark, kind = event.start_mark, type(event)
        place: Place = new(Place, (self.file, mark.line + self.first_line, mark.column + 1, path))
        self.nodes += 1
        # counted as they come, so that a hostile file ends before it has filled the memory
        if self.nodes > MOST_NODES:
            self.halt("yaml-size", f"more than {MOST_NODES} values in one file", place, "split it into several entries")
        if event.anchor is not None:
            self.refuse_anchor(event, place)
        if kind is ScalarEvent:
            text, plain = event.value, not event.style
            if event.tag is not None:
                self.refuse_tag(event, place)
            if plain and self.has_hash:
                self.warning_comment(event, path)
            # only a text without quotes goes on from line to line unseen
            if plain and event.end_mark.line > mark.line:
                self.warning_dash(event, path)
            if len(text) > LONGEST_TEXT:
                message = f"this text has {len(text)} characters; the limit is {LONGEST_TEXT}"
                self.halt("yaml-size", message, place, "put it in the story below the front matter, in paragraphs")
            scalar: Scalar = new(Scalar, (text, place, plain))
            return scalar
        # never followed: aliases of aliases make a tree of any size out of a few lines
        if kind is yaml.AliasEvent:
            return Scalar(f"*{event.anchor}", place, False)
        if event.tag is not None:
            self.refuse_tag(event, place)
        # this function calls itself: the limit stands far below Python's own
        if depth == DEEPEST:
            self.halt("yaml-depth", f"more than {DEEPEST} levels of nesting", place, DEPTH_HELP)
        if kind is yaml.MappingStartEvent:
            return self.grow_mapping(place, bool(event.flow_style), depth + 1)
        items: list[Node] = []
        while type(event := self.next_event()) is not yaml.SequenceEndEvent:
            if len(items) == MOST_ITEMS:
                self.refuse_more(place)
            items.append(self.grow(event, depth + 1, intern(f"{path}[{len(items)}]")))
        return Listing(tuple(items), place)

    def grow_mapping(self, place: Place, braces: bool, depth: int) -> Mapping:
        pairs: list[tuple[Scalar, Node]] = []
        while type(event := self.next_event()) is not MappingEndEvent:
            if len(pairs) == MOST_ITEMS:
                self.refuse_more(place)
            # one string for all entries, as the same few hundred paths stand in each of them: a sixth of the memory
            path = intern(join_path(place.path, event.value)) if type(event) is ScalarEvent else place.path
            # a key is a node too: it may be an alias, or a list in brackets
            key = self.grow(event, depth, path)
            value = self.grow(self.next_event(), depth, path)
            if isinstance(key, Scalar):
                pairs.append((key, value))
            else:
                self.refuse("yaml-key", "a key must be one word", key.place, QUOTE_IT)
        return Mapping(tuple(pairs), place, braces)

    def refuse_more(self, place: Place) -> NoReturn:
        # before the next one is read
        message = f"more than {MOST_ITEMS} items in the list or block that starts here"
        self.halt("yaml-size", message, place, "split it, over several orders or entries")

    def refuse_anchor(self, event: Any, place: Place) -> None:
        sign = "*" if isinstance(event, yaml.AliasEvent) else "&"
        message = f"`{sign}{event.anchor}` is a YAML reference, which is not supported here"
        self.refuse("yaml-reference", message, place, quote_value(self.row(event.start_mark), place.column - 1))

    def refuse_tag(self, event: Any, place: Place) -> None:
        tag = event.tag.replace("tag:yaml.org,2002:", "!!")
        help = quote_value(self.row(event.start_mark), place.column - 1)
        self.refuse("yaml-tag", f"`{tag}` is a YAML tag, which is not supported here", place, help)

    def warning_comment(self, event: Any, path: str) -> None:
        """`Plug #3` ends at `Plug`: YAML takes ` #` as the start of a comment, in silence."""
        end = event.end_mark
        row = self.row(end)
        match = COMMENT.match(row, end.column) if event.value else None
        if match:
            before = row[: end.column]
            place = Place(self.file, end.line + self.first_line, match.start(1) + 1, path)
            in_brackets = any(before.count(left) > before.count(right) for left, right in ("{}", "[]"))
            meant = re.split(r"[],}]", match[1])[0] if in_brackets else match[1]
            message = f"`{match[1]}` is not read: a space and `#` start a comment"
            help = f"if it belongs to the text: {quote(f'{event.value} {meant}')}; otherwise put a space after `#`"
            self.problems.append(
                Problem(rule="yaml-comment", message=message, place=place, help=help, severity="warning")
            )

    def warning_dash(self, event: Any, path: str) -> None:
        """A line with a dash and no space behind it goes on with the text above, in silence."""
        first, last = event.start_mark.line + 1, event.end_mark.line + (event.end_mark.column > 0)
        self.rows = self.rows or [*self.text.split("\n"), ""]
        for line in range(first, last):
            row = self.rows[line]
            if match := re.match(r" *-(?=[^\s-])", row):
                place = Place(self.file, line + self.first_line, match.end(), path)
                message = "this line is read as part of the text above it: no space after the dash"
                help = f"write `- {row[match.end() :].strip()}` if it is an item of its own, in the column of the first"
                self.problems.append(
                    Problem(rule="yaml-space", message=message, place=place, help=help, severity="warning")
                )

    def row(self, mark: yaml.Mark) -> str:
        self.rows = self.rows or [*self.text.split("\n"), ""]
        return self.rows[mark.line]

    def place(self, event: Any) -> Place:
        mark = event.start_mark
        return Place(self.file, mark.line + self.first_line, mark.column + 1, self.path)

    def refuse(self, rule: str, message: str, place: Place, help: str) -> None:
        self.problems.append(Problem(rule=rule, message=message, place=place, help=help))

    def halt(self, rule: str, message: str, place: Place, help: str) -> NoReturn:
        self.refuse(rule, message, place, help)
        # no reading on behind a limit: more would be met at every line
        raise _Halt


def _refuse_character(match: re.Match[str], text: str, origin: Place) -> Problem:
    start = match.start()
    column = start - (text.rfind("\n", 0, start) + 1) + 1
    place = origin._replace(line=text.count("\n", 0, start) + origin.line, column=column)
    message = f"there is an invisible character here (U+{ord(match[0]):04X})"
    return Problem(rule="unseen-character", message=message, place=place, help="delete it")
