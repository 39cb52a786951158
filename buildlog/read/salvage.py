"""YAML text as a tree, and what can still be read of a text that is no YAML: every line that is wrong is told at once.

Where a block cannot be read as a whole, the keys and items that it is made of are read one by one, down to the line at
fault. What stays unreadable is a `Gap` in the tree. How sound YAML is read is left to `yaml_tree`.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import NamedTuple

from buildlog.problems import Place, Problem
from buildlog.read.yaml_remedies import explain_stray
from buildlog.read.yaml_tree import DEEPEST, Gap, Listing, Mapping, Node, Scalar, Tree, grow_tree, join_path


def read_yaml(text: str, file: str, *, first_line: int = 1) -> tuple[Node | None, list[Problem]]:
    """The tree of one YAML document, and what is wrong with it; an empty document gives no tree.

    `first_line` is the line of `file` at which `text` starts.
    """
    # sound YAML, which nearly all of it is, costs nothing more than reading it once
    tree = grow_tree(text, file, first_line)
    if not tree.broken:
        return tree.root, tree.problems
    salvager = _Salvager(file)
    return salvager.read(_Block(text.split("\n"), first_line, ""), 0, tree), salvager.problems


class _Block(NamedTuple):
    """Some lines of a file that belong together."""

    rows: list[str]
    "lines without their ends"
    line: int
    "of the file, of the first row"
    path: str
    "the keys that lead to it"

    def cut(self, start: int, end: int, path: str) -> _Block:
        return _Block(self.rows[start:end], self.line + start, path)


KEY = re.compile(r"""( *)("[^"]*"|'[^']*'|[^\s:#'"{}\[\],&*!|>%@`?-][^:#]*?) *:(?=\s|$)\s*(.*)""")
"A line that starts with a key: its indentation, the key, and what stands behind the colon."
DASH = re.compile(r"( *)-(?=\s|$)")
# A missing space has just one meaning, so the line is read on as if it were there.
UNSPACED = re.compile(r" *(?:[\w-]*\w:|-)(?=[^\s-])")
"A key or a dash without the space that should stand behind it."


class _Salvager:
    """Reads what can be read of one text, and gathers what is wrong with it.

    Lines are mended as their remedies say where there is just one way to do so, and read on as if they had been.
    """

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.told: set[int] = set()
        "lines of which something is told: what follows from it in the same line is not"
        self.shifts: dict[int, tuple[int, int]] = {}
        "by mended line: the column from which it was moved, and how far to the right"

    def grow(self, block: _Block) -> Tree:
        tree = grow_tree("\n".join(block.rows), self.file, block.line, block.path)
        return tree if not self.shifts or tree.root is None else tree._replace(root=self.move_back(tree.root))

    def read(self, block: _Block, depth: int, tree: Tree | None = None) -> Node:
        """What can be read of some lines; `tree` is how they read as they are, where that is known."""
        tree = tree or self.grow(block)
        if not tree.broken:
            self.problems += tree.problems
            nothing = Gap("\n".join(block.rows), self.find_place(block)) if tree.problems else None
            return tree.root or nothing or Scalar("", self.find_place(block), True)
        # in parts only if something is reported on the way: what the parser said of the whole would otherwise be lost
        before = len(self.problems)
        node = self.read_parts(block, depth) if depth < DEEPEST else None
        return node if node is not None and len(self.problems) > before else self.give_up(block, tree)

    def read_parts(self, block: _Block, depth: int) -> Node | None:
        """What can be read of the keys or items of a block, one by one; None where there are none."""
        indent, starts = _split(block.rows)
        if not starts:
            return None
        parts = [
            block.cut(start, end, block.path) for start, end in zip(starts, (*starts[1:], len(block.rows)), strict=True)
        ]
        lost: list[str] = []
        parts = [piece for part in parts for piece in self.free_of_strays(part, indent, lost)]
        place = self.find_place(parts[0])
        if DASH.match(parts[0].rows[0]):
            items = [self.read_item(part._replace(path=f"{part.path}[{n}]"), depth) for n, part in enumerate(parts)]
            return Listing(tuple(items), place)
        pairs = [pair for part in parts for pair in self.read_pairs(part, depth, lost)]
        return Mapping(tuple(pairs), place, False, "\n".join(lost))

    def free_of_strays(self, part: _Block, indent: int, lost: list[str]) -> list[_Block]:
        """A key or item, and behind it what was mended of the lines that belong to nothing; the others are `lost`."""
        # a part that can be read is left as it is, whatever it looks like
        strays = _find_strays(part.rows, indent)
        if not strays or not self.grow(part).broken:
            return [part]
        pieces = [part.cut(0, strays[0], part.path)]
        for start, end in zip(strays, (*strays[1:], len(part.rows)), strict=True):
            stray = part.cut(start, end, part.path)
            self.tell(explain_stray(stray.rows, Place(self.file, stray.line, 1, stray.path), indent))
            mended = self.mend(stray, indent)
            if mended is None:
                lost += stray.rows
                # blank lines in their place: every line below keeps its number
                pieces[-1].rows.extend([""] * len(stray.rows))
            elif DASH.match(mended.rows[0]) and not DASH.match(part.rows[0]):
                pieces[-1].rows.extend(mended.rows)  # an item of the list below the key
            else:
                pieces.append(mended)
        return pieces

    def mend(self, stray: _Block, indent: int) -> _Block | None:
        """A stray key or item with its space and in its column; None where it is neither."""
        first, *rest = stray.rows
        if match := UNSPACED.match(first):
            self.shifts[stray.line] = (match.end() + 1, 1)
            first = f"{first[: match.end()]} {first[match.end() :]}"
        elif move := indent - _indent(first):
            # all of its lines are moved by the same amount, or they would no longer belong together
            self.shifts |= {stray.line + n: (1, move) for n in range(len(stray.rows))}
            first, *rest = (" " * move + row for row in stray.rows)
        return stray._replace(rows=[first, *rest]) if KEY.match(first) or DASH.match(first) else None

    def read_item(self, part: _Block, depth: int) -> Node:
        """What stands behind a dash."""
        first = DASH.sub(r"\1 ", part.rows[0], count=1)
        inside = part._replace(rows=[first, *part.rows[1:]])
        tree = self.grow(inside)
        if tree.broken and (sum(map(_is_content, part.rows)) == 1 or not _split(inside.rows)[1]):
            written = self.grow(part)
            return self.give_up(part, written if written.broken else tree)
        return self.read(inside, depth + 1, tree)

    def read_pairs(self, part: _Block, depth: int, lost: list[str]) -> list[tuple[Scalar, Node]]:
        """One key with what stands behind and below it."""
        tree = self.grow(part)
        if isinstance(tree.root, Mapping):
            self.problems += tree.problems
            return list(tree.root.pairs)
        match = KEY.match(part.rows[0])
        if match is None:
            lost += part.rows
            return []
        name = match[2].strip("\"'")
        path = join_path(part.path, name)
        key = Scalar(name, self.find_place(part._replace(path=path)), True)
        below = part.cut(1, len(part.rows), path)
        # something stands on the key's own line, so the lines below cannot be its block
        if match[3] and not match[3].startswith("#"):
            alone = self.grow(part.cut(0, 1, part.path))
            value = self.give_up(part._replace(path=path), tree)
            if isinstance(alone.root, Mapping) and any(row.strip() for row in below.rows):
                lost += below.rows
                return list(alone.root.pairs)
            return [(key, value)]
        return [(key, self.read(self.without_tabs(below), depth + 1))]

    def without_tabs(self, block: _Block) -> _Block:
        """The lines with blanks where tabs indent them; each run of such lines is told once."""
        rows: list[str] = []
        for n, written in enumerate(block.rows):
            row = written
            lead = row[: len(row) - len(row.lstrip())]
            # YAML forbids tabs here (1.2.2, section 6.1): how wide one is meant to be, only the lines around it tell
            if "\t" in lead and row.strip():
                if not (rows and "\t" in block.rows[n - 1][: len(lead)]):
                    place = Place(self.file, block.line + n, lead.index("\t") + 1, block.path)
                    message, help = "a tab indents this line", "indent with spaces"
                    self.tell(Problem(rule="yaml-tab", message=message, place=place, help=help))
                # whatever the parser finds in this line follows from its tab
                self.told.add(block.line + n)
                row = self.indent_as_beside(row, rows, block.rows[n + 1 :], block.line + n)
            rows.append(row)
        return block._replace(rows=rows)

    def indent_as_beside(self, row: str, above: list[str], below: list[str], line: int) -> str:
        before = next((each for each in reversed(above) if each.strip()), None)
        behind = next((each for each in below if each.strip() and "\t" not in each[: _indent(each)]), row)
        lead = _indent(row)
        wanted = _indent(behind) if before is None else _indent(before) + 2 * before.rstrip().endswith(":")
        self.shifts[line] = (1, wanted - lead)
        return " " * wanted + row.lstrip()

    def give_up(self, block: _Block, tree: Tree) -> Gap:
        for problem in tree.problems:
            # the longer one leads further: the parser knows the keys it went through, the block those around it
            path = max(problem.place.path, block.path, key=len)
            self.tell(replace(problem, place=problem.place._replace(path=path)))
        return Gap("\n".join(block.rows), self.find_place(block))

    def tell(self, problem: Problem) -> None:
        """Tell what is wrong, once for each line; a warning always."""
        # an error further on in a line is mostly what follows from the first one; a warning never is
        if problem.severity == "error":
            if problem.place.line in self.told:
                return
            self.told.add(problem.place.line)
        self.problems.append(replace(problem, place=self.find_back(problem.place)))

    def find_place(self, block: _Block) -> Place:
        """Where the first thing in it is written."""
        n, row = next(((n, row) for n, row in enumerate(block.rows) if row.strip()), (0, ""))
        return self.find_back(Place(self.file, block.line + n, _indent(row) + 1, block.path))

    def find_back(self, place: Place) -> Place:
        """The place in the line as it is written, of one in the line as it was mended."""
        # what is left of the mended spot has not moved
        start, far = self.shifts.get(place.line, (0, 0))
        return place._replace(column=max(1, place.column - far)) if far and place.column >= start else place

    def move_back(self, node: Node) -> Node:
        """The tree with every place as it is written."""
        node = node._replace(place=self.find_back(node.place))
        if isinstance(node, Listing):
            return node._replace(items=tuple(map(self.move_back, node.items)))
        if isinstance(node, Mapping):
            pairs = (
                (key._replace(place=self.find_back(key.place)), self.move_back(value)) for key, value in node.pairs
            )
            return node._replace(pairs=tuple(pairs))
        return node


def _indent(row: str) -> int:
    return len(row) - len(row.lstrip())


def _is_content(row: str) -> bool:
    return bool(row.strip()) and not row.lstrip().startswith("#")


def _split(rows: list[str]) -> tuple[int, list[int]]:
    """The column in which the keys or items of a block start, and the rows that start one."""
    first = next((row for row in rows if _is_content(row)), "")
    sign = DASH if DASH.match(first) else KEY
    indent = _indent(first)
    return indent, [n for n, row in enumerate(rows) if _is_content(row) and _indent(row) == indent and sign.match(row)]


def _find_strays(rows: list[str], indent: int) -> list[int]:
    """The rows of a key or item that stand too far left to be inside it; none where its value is an open bracket."""
    match = KEY.match(rows[0])
    # that value goes on until its bracket or quote is closed, in whatever column
    if re.match(r"[\[{\"']", match[3] if match else rows[0].lstrip(" -")):
        return []
    left = [n for n, row in enumerate(rows) if n and _is_content(row) and _indent(row) <= indent]
    return [n for n in left if _indent(rows[n]) < indent or not DASH.match(rows[n])]
