"""The least that publishing a log's text can take: a hand-written loop of the raw libraries, with no rule, no check.

It does the product's parsing, rendering and writing: it reads each entry's YAML into plain dicts (PyYAML's C loader),
renders the story (markdown-it-py), renders every page with the product's own templates (Jinja2) and writes it. What the
pages say beside the story comes ready from a JSON file, so that nothing is typed, followed, added up, formatted,
compared or made safe here: that is what the ratio to it measures.

Run as `python tests/bench/floor_text.py LOG VIEWS OUT`; `bench_text.py` makes the file of views.
"""

from __future__ import annotations

import html
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import jinja2
import yaml
from markdown_it import MarkdownIt
from markupsafe import Markup

THEME = Path(__file__).parent.parent.parent / "themes" / "margin"


def name_values(found: dict[str, Any]) -> SimpleNamespace:
    """A value with its fields by name; JSON knows no tuple, and templates add some together."""
    return SimpleNamespace(**{name: tuple(of) if isinstance(of, list) else of for name, of in found.items()})


class Spoken(jinja2.FileSystemLoader):
    """Templates with their English texts in place: whoever writes for one language has them there."""

    def get_source(self, environment: jinja2.Environment, template: str) -> tuple[str, str, Callable[[], bool]]:
        source, path, is_fresh = super().get_source(environment, template)
        spoken = re.sub(r'{{ say\("([^"]*)"\) }}', lambda found: html.escape(found[1], quote=False), source)
        return spoken, path, is_fresh


def say(text: str, **places: object) -> Markup:
    return Markup(text) % places if places else Markup(text)


def say_count(one: str, many: str, number: int, **places: object) -> Markup:
    return Markup(one if number == 1 else many) % {"number": number, **places}


def build(log: Path, views: Path, out: Path) -> int:
    """Write the pages; says how many bytes they have."""
    environment = jinja2.Environment(
        loader=Spoken(THEME), autoescape=True, trim_blocks=True, lstrip_blocks=True, auto_reload=False
    )
    environment.globals |= {"say": say, "say_count": say_count, "within": str.lower, "spoken": "en", "own_sheet": False}
    parser = MarkdownIt("commonmark", {"html": False}).enable(["table", "strikethrough"])
    yaml.load((log / "log.yaml").read_text(encoding="utf-8"), Loader=yaml.CSafeLoader)
    stories = {}
    for path in sorted((log / "entries").glob("*.md")):
        _, head, body = path.read_text(encoding="utf-8").split("---\n", 2)
        yaml.load(head, Loader=yaml.CSafeLoader)
        stories[f"entries/{path.stem}.html"] = parser.render(body)
    size, folders = 0, set[Path]()
    for template, view in json.loads(views.read_bytes(), object_hook=name_values):
        frame = view.frame
        view.story = stories.get(frame.path)
        page = environment.get_template(template).render(view=view, frame=frame, root=frame.root)
        if (folder := (out / frame.path).parent) not in folders:
            folder.mkdir(parents=True, exist_ok=True)
            folders.add(folder)
        size += (out / frame.path).write_bytes(page.encode())
    return size


if __name__ == "__main__":
    print(build(*(Path(argument) for argument in sys.argv[1:])), "bytes")
