"""What a YAML syntax error most often means to an owner, and what to type instead.

The library says where it stumbled; the line that it stumbled over says why. Which errors there are is left to it.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import yaml

from buildlog.problems import Place, Problem

QUOTE_IT = 'put the whole text in double quotes: key: "…"'


DEPTH_HELP = "check for an extra bracket or too much indentation"

LONGEST_ROW = 1_000
"Characters of a line out of which a remedy is made; what is longer was hardly typed by hand."

BRACKETS = {"{": "}", "[": "]"}


class _Stumble(NamedTuple):
    """One syntax error: what was said, and both spots, lines and columns counted from 0."""

    said: str
    "the words of the library: what it was doing, and what it met"
    line: int
    "of the text, where it stumbled"
    column: int
    "in that line"
    opening: tuple[int, int]
    "where the construct began that could not be read"
    rows: list[str]
    "all lines of the text"

    @property
    def row(self) -> str:
        return self.rows[self.line]

    @property
    def before(self) -> str:
        return self.row[: self.column]

    @property
    def sign(self) -> str:
        return self.row[self.column : self.column + 1]


class _Meaning(NamedTuple):
    rule: str
    "name of the rule, beginning with `yaml-`"
    message: str
    "what is wrong, see `Problem.message`"
    help: str
    "what to type instead"
    at_opening: bool = False
    "whether the problem stands where the construct began, not where the library gave up"


def explain_syntax(error: yaml.MarkedYAMLError, text: str, origin: Place) -> Problem:
    """The problem behind a syntax error, with the remedy for the line at hand where there is one.

    `origin` is where the text starts.
    """
    stumble = _locate(error, text.rstrip("\n").split("\n"))
    return _tell(_explain(stumble), stumble, origin)


def explain_stray(rows: list[str], origin: Place, indent: int) -> Problem:
    """The problem with a line that belongs to nothing above it, among keys or items that start in column `indent`."""
    column = len(rows[0]) - len(rows[0].lstrip())
    stumble = _Stumble("", 0, column, (0, column), rows)
    explain = _explain_no_key if column == indent else _explain_column
    return _tell(explain(stumble), stumble, origin)


def _tell(meaning: _Meaning, stumble: _Stumble, origin: Place) -> Problem:
    line, column = stumble.opening if meaning.at_opening else (stumble.line, stumble.column)
    place = origin._replace(line=line + origin.line, column=column + 1)
    return Problem(rule=meaning.rule, message=meaning.message, place=place, help=meaning.help)


def quote_value(row: str, column: int) -> str:
    """The `key: value` of a row around a column, its value in quotes; in general words where there is none."""
    # a machine-made line is neither typed again nor worth a search that takes long
    pair = _cut_pair(row, column) if len(row) <= LONGEST_ROW else ""
    match = re.match(r"([\w-]+):\s+(.*\S)", pair)
    if not match:
        return QUOTE_IT
    return f"put the whole text in quotes: {match[1]}: {quote(match[2])}"


def quote(value: str) -> str:
    """A text as a YAML quoted scalar, in the style that needs no escapes (yaml.org/spec/1.2.2 section 7.3)."""
    value = _strip_quotes(value)
    # in single quotes nothing but the quote itself has to be doubled, so a path or an inch sign stays as it is typed
    return "'" + value.replace("'", "''") + "'" if '"' in value or "\\" in value else f'"{value}"'


def _strip_quotes(value: str) -> str:
    """The text without one pair of quotes around all of it, straight or as a word processor makes them."""
    pair = value[:1] + value[-1:] if len(value) > 1 else ""
    if pair in TYPOGRAPHIC and not any(sign in value[1:-1] for sign in pair):
        return value[1:-1]
    # `"Lift pump" and "seal"` is two quotations, `'it's the pump'` one in quotes
    if pair in ("''", '""') and value.count(pair[0]) != 4:
        return value[1:-1]
    return value


TYPOGRAPHIC = ("“”", "„“", "„”", "«»", "»«", "‘’", "‚‘", "””", "’’")
"Quotes that YAML takes for letters, as pairs."


def _cut_pair(row: str, column: int) -> str:
    """The pair that a column is in: the row without its indentation and dashes, or a piece between commas in braces."""
    body = re.sub(r"^\s*(- +)*", "", row)
    # in braces a row holds several pairs, and only the one at fault is quoted
    start = row.rfind("{", 0, column)
    if start < 0:
        return body
    start = max(start, row.rfind(",", 0, column)) + 1
    column = max(column, row.find(BRACKETS.get(row[column : column + 1], "\0"), column) + 1)
    ends = [end for end in (row.find(sign, column) for sign in ",}") if end >= 0]
    return row[start : min(ends, default=len(row))].strip()


def _locate(error: yaml.MarkedYAMLError, rows: list[str]) -> _Stumble:
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    # the end of the text is said to be one line below its last
    if line >= len(rows):
        line, column = len(rows) - 1, len(rows[-1])
    context = error.context_mark
    opening = (context.line, context.column) if context and context.line < len(rows) else (line, column)
    return _Stumble(f"{error.context or ''}: {error.problem or ''}", line, column, opening, rows)


def _explain(at: _Stumble) -> _Meaning:
    # before all others: what the library says of a tab depends on where it stands
    if re.match(r" *\t", at.row) and not at.before.strip():
        return _Meaning("yaml-tab", "a tab indents this line", "indent with spaces")
    for sign, explain in EXPLANATIONS:
        if sign in at.said:
            return explain(at)
    return _Meaning("yaml-syntax", f"not readable as YAML: {at.said.strip(': ')}", quote_value(at.row, at.column))


def _explain_colon(at: _Stumble) -> _Meaning:
    if ": " in at.before:
        return _Meaning("yaml-colon", "a colon and a space inside the text", quote_value(at.row, at.column))
    message = "this `key:` is inside text that begins on a line above"
    return _Meaning(
        "yaml-indent", message, "start it in the same column as the key above, and give every line its `key: `"
    )


def _explain_start(at: _Stumble) -> _Meaning:
    line, column = at.opening
    sign = at.rows[line][column : column + 1]
    help = quote_value(at.rows[line], column)
    return _Meaning("yaml-start", f"text cannot start with `{sign}`", help, at_opening=True)


def _explain_open_quote(at: _Stumble) -> _Meaning:
    line, column = at.opening
    sign = at.rows[line][column : column + 1]
    return _Meaning("yaml-quote", "this quote is never closed", f"put `{sign}` at the end of the text too", True)


def _explain_braces(at: _Stumble) -> _Meaning:
    line, column = at.opening
    sign = at.rows[line][column : column + 1]
    close = BRACKETS.get(sign)
    if close is None:
        return _explain_stray(at)
    is_next_key = at.line > line and re.fullmatch(r" *(- +)?[\w-]+", at.before)
    # a key that begins a line is no text with a colon in it: there the bracket above was never closed
    if at.sign == ":" and not is_next_key:
        return _Meaning("yaml-colon", "a colon and a space inside the text", quote_value(at.row, at.column))
    if at.sign in BRACKETS.values():
        message = f"`{at.sign}` is where `{close}` should close `{sign}`"
        return _Meaning("yaml-braces", message, f"write `{close}` instead, or put text that contains it in quotes")
    if is_next_key or not (at.sign and at.before.strip()):
        return _Meaning("yaml-braces", f"this `{sign}` is never closed", f"put `{close}` where it ends", True)
    message = "inside `{…}` and `[…]` text cannot contain brackets or go on after a closing quote"
    return _Meaning("yaml-braces", message, quote_value(at.row, at.column))


def _explain_stray(at: _Stumble) -> _Meaning:
    # an empty item: the one stray sign whose remedy is to delete it
    if at.sign == "," and at.before.rstrip().endswith((",", "[", "{")):
        return _Meaning("yaml-braces", "there is nothing before this comma", "delete the comma")
    if at.sign:
        return _Meaning("yaml-start", f"text cannot start with `{at.sign}`", quote_value(at.row, at.column))
    return _Meaning("yaml-braces", "a `{` or `[` is never closed", "put `}` or `]` where it ends")


def _explain_no_key(at: _Stumble) -> _Meaning:
    line, column = at.opening
    row = at.rows[line][column:].strip()
    if re.match(r"-\S", row):
        return _Meaning("yaml-space", "no space after the dash", f"write `- {row[1:]}`", True)
    if re.match(r"[\w-]+:\S", row):
        return _Meaning("yaml-space", "no space after the colon", f"write `{row.replace(':', ': ', 1)}`", True)
    help = "write `key: text`, or indent this line below the key it belongs to"
    return _Meaning("yaml-key", "this line has no `key: `", help, True)


def _explain_column(at: _Stumble) -> _Meaning:
    if at.before.strip(" -"):
        message = "there is more text after the closing quote or bracket"
        return _Meaning("yaml-quote", message, quote_value(at.row, 0))
    message = "this line does not line up with anything above it"
    return _Meaning("yaml-indent", message, "start it in the same column as the `key:` or `- ` it belongs with")


def _explain_escape(at: _Stumble) -> _Meaning:
    message = "a backslash inside double quotes starts an escape, but this one is not valid"
    return _Meaning("yaml-escape", message, quote_value(at.row, at.column).replace("in quotes", "in single quotes"))


def _explain_directive(at: _Stumble) -> _Meaning:
    return _Meaning("yaml-start", "a line cannot start with `%`", "write `key: text`", at_opening=True)


def _explain_depth(at: _Stumble) -> _Meaning:
    return _Meaning("yaml-depth", "too many levels of nesting", DEPTH_HELP)


# The library has no codes, only words; they are matched by parts, the more special ones first.
EXPLANATIONS = (
    ("maximum nesting depth", _explain_depth),
    ("mapping values are not allowed", _explain_colon),
    ("violates indentation", lambda at: _Meaning("yaml-tab", "a tab indents this line", "indent with spaces")),
    ("cannot start any token", _explain_stray),
    ("scanning an alias", _explain_start),
    ("scanning an anchor", _explain_start),
    ("scanning a tag", _explain_start),
    ("scanning a block scalar", _explain_start),
    ("scanning a directive", _explain_directive),
    ("unknown escape character", _explain_escape),
    ("quoted scalar: found unexpected end", _explain_open_quote),
    ("parsing a flow", _explain_braces),
    ("did not find expected node content", _explain_stray),
    ("block sequence entries are not allowed", _explain_stray),
    ("mapping keys are not allowed", _explain_stray),
    ("could not find expected ':'", _explain_no_key),
    ("did not find expected key", _explain_column),
    ("did not find expected '-' indicator", _explain_column),
)
"Words of libyaml, and who explains them."
