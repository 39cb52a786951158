"""What pages are made of: every field of a view is filled by a page's module and shown by a template."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest

import buildlog
from buildlog.render.theme import find_themes

RENDER = Path(buildlog.__file__).parent / "render"
VIEWS = sorted([*(RENDER / "pages").glob("*.py"), RENDER / "pieces.py"])


@cache
def parse(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def list_fields() -> Iterator[tuple[str, str]]:
    """The fields of each class of a view; what every one of them has in capitals, its template, is none.

    The context of all pages is what views are made from, and no view itself.
    """
    for path in VIEWS:
        for node in parse(path).body:
            if isinstance(node, ast.ClassDef) and path.stem not in ("context", "periods"):
                targets = [one.target for one in node.body if isinstance(one, ast.AnnAssign)]
                names = [target.id for target in targets if isinstance(target, ast.Name)]
                yield from ((node.name, name) for name in names if name.islower())


@cache
def find_filled() -> Mapping[str, set[str]]:
    """What is given by keyword when a view is made, by its class; `replace` may fill any."""
    filled: dict[str, set[str]] = defaultdict(set)
    for path in RENDER.rglob("*.py"):
        imports = [node for node in ast.walk(parse(path)) if isinstance(node, ast.ImportFrom)]
        plain = {one.asname: one.name for node in imports for one in node.names if one.asname}
        for node in ast.walk(parse(path)):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                filled[plain.get(node.func.id, node.func.id)] |= {word.arg for word in node.keywords if word.arg}
    return filled


@cache
def find_read() -> frozenset[str]:
    """Every name behind a dot, in templates and in the site's code."""
    templates = [path for path in find_themes().rglob("*") if path.suffix in (".html", ".xml")]
    found = {name for path in templates for name in re.findall(r"\.([a-z_]+)", path.read_text(encoding="utf-8"))}
    modules = [node for path in RENDER.rglob("*.py") for node in ast.walk(parse(path))]
    return frozenset(found | {node.attr for node in modules if isinstance(node, ast.Attribute)})


@pytest.mark.parametrize(("view", "field"), [*list_fields()])
def test_a_field_of_a_view_is_filled_and_shown(view: str, field: str) -> None:
    """What no page fills, or no template shows, only looks as if it were there."""
    assert field in find_filled()[view] | find_filled()["replace"], f"nothing fills {view}.{field}"
    assert field in find_read(), f"nothing shows {view}.{field}"
