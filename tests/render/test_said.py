"""What modules say on pages is found by whoever gathers the words, and has all its places."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path

from babel.messages.extract import extract

from buildlog.compute.figures import compute_figures
from buildlog.render.catalogue import Catalogue
from buildlog.render.language import Words
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.part_lives import PartLives
from buildlog.render.pages.part_tables import list_groups
from buildlog.render.pages.service import make_service
from tests.catalogue import KEYWORDS, TOP, list_sources
from tests.support import log_of

PLACE = re.compile(r"%\((\w+)\)s")


class Shouting(Catalogue):
    """Says every text in capitals, but for what goes into its places: what stays small was not said."""

    def say(self, text: str, /, **places: object) -> str:
        return super().say(_shout(text), **places)

    def say_count(self, one: str, many: str, number: object, /, **places: object) -> str:
        return super().say_count(_shout(one), _shout(many), number, **places)  # type: ignore[arg-type]


def _shout(text: str) -> str:
    return "".join(piece if n % 2 else piece.upper() for n, piece in enumerate(re.split(r"(%\(\w+\)s)", text)))


def edition_of(*heads: str, papers: Iterable[str] = ()) -> PageContext:
    figures = compute_figures(log_of(*heads, papers=frozenset(papers)), date(2024, 12, 31))
    return PageContext(figures=figures, words=Words("en-GB", catalogue=Shouting()), stories={}, photos={})


def list_said(module: Path) -> Iterator[tuple[str, str, ast.Call]]:
    """Each text that a module says as it stands, with what says it and the call."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            by = getattr(node.func, "id", getattr(node.func, "attr", ""))
            texts = [each.value for each in node.args if isinstance(each, ast.Constant) and isinstance(each.value, str)]
            yield from ((by, text, node) for text in texts if by in ("say", "say_count", "to_say"))


def gather_texts(module: Path) -> Iterator[str]:
    with module.open("rb") as file:
        for _, text, _, _ in extract("python", file, KEYWORDS):
            yield from text if isinstance(text, tuple) else (text,)


def test_every_text_is_gathered_with_all_its_places() -> None:
    """None stands inside another text in braces, or as one of two in a call: whoever gathers passes it by."""
    modules = [path for path, _ in list_sources() if path.suffix == ".py" and b"say" in path.read_bytes()]
    said = [(path, *one) for path in modules for one in list_said(path)]
    assert len(said) > 400
    gathered = {path: {*gather_texts(path)} for path in modules}
    for path, by, text, call in said:
        where = f"{path.relative_to(TOP)}:{call.lineno}: {text}"
        assert text in gathered[path], where
        given = {keyword.arg for keyword in call.keywords}
        if by != "to_say" and None not in given:
            assert {*PLACE.findall(text)} - ({"number"} if by == "say_count" else set()) <= given, where
        # A text that is filled has `%%` for the sign.
        assert "%" not in PLACE.sub("", text).replace("%%", ""), where


def test_what_took_a_parts_place_is_said() -> None:
    """Nobody wrote a word of it: not in the owner's language, but in that of the page."""
    context = edition_of(
        "date: 2024-02-01\nbought: {from: Acme, lines: [{part: plug, name: Plug, each: 1}, {part: hose, each: 1}]}",
        "date: 2024-03-01\nfitted: plug",
        "date: 2024-04-01\nfitted: {part: hose, instead_of: plug}",
    )
    plug, hose = next(list_groups(context, context.figures.parts.parts, PartLives(context))).parts
    assert [event.detail for event in plug.life[-1:]] == ["REPLACED BY Hose, SCRAPPED"]
    assert [event.detail for event in hose.life[-1:]] == ["REPLACING Plug"]


def test_warnings_that_a_buyer_sees_are_said() -> None:
    """The owner's terminal has the same in English; what is for the owner alone is on no page."""
    ordered = "date: 2024-0{n}-01\nbought: {{from: Acme, paper: papers/one.pdf, lines: [{{what: Oil, each: 1}}]}}"
    context = edition_of(*(ordered.format(n=n) for n in (1, 2)), papers=["papers/one.pdf"])
    paper = [problem.message for problem in context.figures.problems if problem.rule == "paper-used-twice"]
    assert paper == ["the paper `papers/one.pdf` backs two orders"]
    assert make_service(context).warnings == ("THE PAPER `papers/one.pdf` BACKS TWO ORDERS",)
