"""YAML text as a tree of texts with positions: which words stand where, before anything is typed.

YAML 1.1 guesses (`12.50` a binary float, `0123` octal, `1:30` sexagesimal, `no` false, a repeated key that wins in
silence) do not happen: every scalar stays the text that the owner wrote. Anchors, aliases, tags and merge keys
are refused, so a small file can never grow into a large tree.
"""

from __future__ import annotations

from dataclasses import dataclass

import yaml

from buildlog.problems import Place, Problem

Loader: type = getattr(yaml, "CBaseLoader", yaml.BaseLoader)

DEEPEST = 12
"Levels of nesting that are read; the formats need six."


@dataclass(frozen=True, slots=True)
class Scalar:
    """One text."""

    text: str
    place: Place
    plain: bool
    "whether it was written without quotes"


@dataclass(frozen=True, slots=True)
class Listing:
    """A list of nodes."""

    items: tuple[Node, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Mapping:
    """Keys and their nodes, in the order written, each key once."""

    pairs: tuple[tuple[Scalar, Node], ...]
    place: Place
    braces: bool
    "whether it was written on one line as `{…}`"


Node = Scalar | Listing | Mapping


def read_yaml(text: str, file: str, *, first_line: int = 1) -> tuple[Node | None, list[Problem]]:
    """The tree of one YAML document, and what is wrong with it; an empty document gives no tree.

    `first_line` is the line of `file` at which `text` starts.
    """
    grower = _Grower(file, first_line - 1)
    try:
        root = yaml.compose(text, Loader=Loader)
    except yaml.MarkedYAMLError as error:
        return None, [_syntax_problem(error, text, file, first_line - 1)]
    except (yaml.YAMLError, ValueError) as error:
        message = f"not readable as YAML: {str(error).splitlines()[0]}"
        return None, [Problem(rule="yaml-syntax", message=message, place=Place(file, first_line))]
    return (None if root is None else grower.grow(root, 0)), grower.problems


class _Grower:
    """Turns library nodes into our own, gathering what is refused."""

    def __init__(self, file: str, skipped_lines: int) -> None:
        self.file = file
        self.skipped = skipped_lines
        self.problems: list[Problem] = []
        self.seen: set[int] = set()

    def grow(self, node: yaml.Node, depth: int) -> Node:
        place = self.place(node)
        if id(node) in self.seen:
            self.refuse(
                "yaml-alias", "a `*name` reference is not read here", place, "write the words again, or quote the text"
            )
            return Scalar("", place, True)
        self.seen.add(id(node))
        if depth > DEEPEST:
            self.refuse("yaml-depth", f"nested more than {DEEPEST} levels deep", place, "")
            return Scalar("", place, True)
        if isinstance(node, yaml.ScalarNode):
            return self.grow_scalar(node, place)
        if isinstance(node, yaml.SequenceNode):
            return Listing(tuple(self.grow(item, depth + 1) for item in node.value), place)
        assert isinstance(node, yaml.MappingNode)
        return self.grow_mapping(node, place, depth)

    def grow_scalar(self, node: yaml.ScalarNode, place: Place) -> Scalar:
        if node.tag != "tag:yaml.org,2002:str" and not (node.tag == "!" and node.style):
            self.refuse(
                "yaml-tag", f"the tag `{node.tag}` is not read here", place, "quote the text if it starts with `!`"
            )
        return Scalar(node.value, place, not node.style)

    def grow_mapping(self, node: yaml.MappingNode, place: Place, depth: int) -> Mapping:
        pairs: dict[str, tuple[Scalar, Node]] = {}
        for key_node, value_node in node.value:
            key = self.grow(key_node, depth + 1)
            value = self.grow(value_node, depth + 1)
            if not isinstance(key, Scalar):
                self.refuse("yaml-key", "a key must be one word", key.place, "")
            elif key.text in pairs:
                first = pairs[key.text][0].place
                self.problems.append(
                    Problem(
                        rule="repeated-key",
                        message=f"`{key.text}` is written twice (first on line {first.line})",
                        place=key.place,
                        help="put both under one key, as a list",
                        also=(first,),
                    )
                )
            else:
                pairs[key.text] = (key, value)
        return Mapping(tuple(pairs.values()), place, bool(node.flow_style))

    def place(self, node: yaml.Node) -> Place:
        mark = node.start_mark
        return Place(self.file, mark.line + 1 + self.skipped, mark.column + 1)

    def refuse(self, rule: str, message: str, place: Place, remedy: str) -> None:
        self.problems.append(Problem(rule=rule, message=message, place=place, help=remedy))


QUOTE_IT = 'put the whole text in double quotes: key: "…"'

REMEDIES = (
    ("mapping values are not allowed", "a colon followed by a space inside plain text", QUOTE_IT),
    ("found character that cannot start any token", "a text cannot start with this character", QUOTE_IT),
    ("while scanning an alias", "a text cannot start with `*`", QUOTE_IT),
    ("while scanning an anchor", "a text cannot start with `&`", QUOTE_IT),
    ("undefined alias", "a text cannot start with `*`", QUOTE_IT),
    (
        "found unexpected end of stream",
        "a quote is opened and not closed",
        "close it, or double it inside the text: ''",
    ),
    (
        "did not find expected ',' or '}'",
        "braces `{…}` that do not close, or a text in them that holds `{`, `}`, `[`, `]` or a quote",
        QUOTE_IT,
    ),
    (
        "did not find expected ',' or ']'",
        "brackets `[…]` that do not close, or a text in them that holds `[`, `]` or a quote",
        QUOTE_IT,
    ),
    (
        "did not find expected key",
        "a text that starts with a quote goes on after it, or the indentation does not match",
        QUOTE_IT,
    ),
    (
        "did not find expected '-' indicator",
        "the items of this list do not start in the same column",
        "put each `- ` below the one before",
    ),
    ("control characters are not allowed", "a control character stands here", "delete it"),
)
"What the library says, what it most often means to an owner, and what to type."


def _syntax_problem(error: yaml.MarkedYAMLError, text: str, file: str, skipped: int) -> Problem:
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    said = f"{error.context or ''} {error.problem or ''}"
    row = (text.split("\n") + [""] * 1)[min(line, text.count("\n"))]
    place = Place(file, line + 1 + skipped, column + 1)
    if "\t" in row[: column + 1] and not row[:column].strip():
        return Problem(rule="yaml-tab", message="a tab indents this line", place=place, help="indent with spaces")
    for sign, meaning, remedy in REMEDIES:
        if sign in said:
            return Problem(rule="yaml-syntax", message=meaning, place=place, help=remedy)
    return Problem(rule="yaml-syntax", message=f"not readable as YAML: {said.strip()}", place=place, help=QUOTE_IT)
