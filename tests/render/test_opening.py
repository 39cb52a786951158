"""The opening of the front page: the state of the machine in one sentence, and the picture above its name."""

from __future__ import annotations

from dataclasses import replace
from gettext import NullTranslations
from types import SimpleNamespace
from typing import cast

import pytest

from buildlog.photos.recipe import PhotoSet
from buildlog.render.catalogue import Catalogue
from buildlog.render.language import Words
from buildlog.render.pages.condition import say_condition
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.front import find_plate, make_front
from buildlog.render.pages.photos import PublishedPhoto, name_shape
from tests.render.editions import edition_of

SETTINGS = """
machine: {name: Test machine, meter: {unit: mi}}
money: {currency: GBP}
systems: {brakes: Brakes}
"""
SERVICE = "service: {oil: {name: Oil, every: {months: 6}}}\n"
LISTS = """
lists:
  start: {name: Before the first start, items: [Oil to the mark]}
  road: {name: Before the road, items: [{what: Pedal hard, for: brakes}, Lamps burn]}
"""
FAULT = "date: 2024-01-02\nfaults: {fault: leak, name: It leaks}"
OIL = "date: 2024-01-03\nserviced: {item: oil}"
ORDER = "date: 2024-05-20\nbought: {from: A, ref: A1, lines: [{what: hose, each: 6.10}, {what: clip, each: 1.00}]}"
START = "date: 2024-02-01\nticked: {list: start, items: [Oil to the mark]}"
ROAD = "date: 2024-03-05\nticked: {list: road, items: [Pedal hard, Lamps burn]}"
BRAKES = "date: 2024-04-09\nsystems: [brakes]"


def read(*heads: str, more: str = "", as_of: str = "2024-06-01") -> str:
    """The sentence as a reader sees it."""
    return "".join(piece.text for piece in say_condition(edition_of(*heads, settings=SETTINGS + more, as_of=as_of)))


IDLE = "laid_up: [{from: 2023-11-01, until: 2024-03-14}, {from: 2024-11-02}]\n"


@pytest.mark.parametrize(
    ("heads", "more", "as_of", "sentence"),
    [
        # nothing is said of what the log does not speak of
        (["date: 2024-01-01"], "", "2024-06-01", ""),
        ([FAULT], "", "2024-06-01", "1 open fault."),
        ([FAULT, "date: 2024-01-09\nfixed: {fault: leak, how: Seal, proved: Dry}"], "", "2024-06-01", "No open fault."),
        # every six months from 3 January: due on 3 July, overdue from the day after
        ([OIL], SERVICE, "2024-03-01", "Nothing overdue."),
        ([OIL], SERVICE, "2024-07-04", "1 thing overdue."),
        # what was never done on record is no more fine than what is late
        (["date: 2024-01-01"], SERVICE, "2024-06-01", "1 service item with no known history."),
        ([ORDER], "", "2024-06-01", "2 things in the post."),
        # until the day before the first time laid up the log says nothing; the last day of it is a day laid up still
        (["date: 2023-10-01"], IDLE, "2023-10-31", ""),
        (["date: 2023-10-01"], IDLE, "2024-03-14", "Laid up since 1 November 2023."),
        (["date: 2023-10-01"], IDLE, "2024-03-15", "Back in use since 15 March 2024."),
        (["date: 2023-10-01"], IDLE, "2024-11-02", "Laid up since 2 November 2024."),
        # the first list that is not whole, and with all whole the last
        (["date: 2024-01-01"], LISTS, "2024-06-01", "On “Before the first start” 1 of 1 is not ticked."),
        ([START], LISTS, "2024-06-01", "On “Before the road” 2 of 2 are not ticked."),
        ([START, ROAD], LISTS, "2024-06-01", "“Before the road” all ticked by 5 March 2024."),
        (
            [START, ROAD, BRAKES],
            LISTS,
            "2024-06-01",
            "“Before the road” all ticked by 5 March 2024, 1 worked on since.",
        ),
        (
            [FAULT, OIL, START, ORDER],
            SERVICE + LISTS + IDLE,
            "2024-08-01",
            "Back in use since 15 March 2024, with 1 open fault, 1 thing overdue and 2 things in the post; "
            "on “Before the road” 2 of 2 are not ticked.",
        ),
    ],
)  # fmt: skip
def test_the_state_in_one_sentence(heads: list[str], more: str, as_of: str, sentence: str) -> None:
    """What the log's own records say on the day, and nothing that they do not."""
    assert read(*heads, more=more, as_of=as_of) == sentence


def test_the_state_in_a_language_of_another_order() -> None:
    """The sentence is translated whole, and its links go where that language has them, each with its own words."""
    turned = {
        "%(use)s, with %(counted)s": "%(counted)s (%(use)s)",
        "%(list)s and %(last)s": "%(last)s before %(list)s",
        "“%(name)s”": "»%(name)s«",
    }
    translations = SimpleNamespace(
        gettext=lambda text: turned.get(text, text), ngettext=lambda one, many, number: one if number == 1 else many
    )
    other = Catalogue(language="en", translations=cast(NullTranslations, translations))
    context = edition_of(FAULT, OIL, START, ORDER, settings=SETTINGS + SERVICE + LISTS + IDLE, as_of="2024-08-01")
    pieces = say_condition(replace(context, words=Words("en-GB", catalogue=other)))
    assert "".join(piece.text for piece in pieces) == (
        "2 things in the post before 1 open fault, 1 thing overdue (back in use since 15 March 2024); "
        "on »Before the road« 2 of 2 are not ticked."
    )
    assert [(piece.text, piece.href) for piece in pieces if piece.href] == [
        ("2 things in the post", "index.html#post"),
        ("1 open fault", "index.html#faults"),
        ("1 thing overdue", "index.html#due"),
        ("»Before the road«", "to-do.html#list-road"),
    ]


def test_no_log_is_called_fit_for_the_road() -> None:
    """With every item ticked and nothing open it is still for the owner, and for who tests it, to say so."""
    told = read(START, ROAD, more=LISTS).casefold()
    assert not [word for word in ("roadworthy", "safe", "on the road", "fit for") if word in told]


def test_what_the_sentence_counts_stands_on_the_page() -> None:
    """Each count leads to the section that lists it, which is there."""
    view = make_front(edition_of(FAULT, OIL, ORDER, settings=SETTINGS + SERVICE, as_of="2024-08-01"))
    # Its number stands on one line with the word after it.
    assert [piece.text for piece in view.state if piece.href] == [
        "1\u00a0open fault", "1\u00a0thing overdue", "2\u00a0things in the post",
    ]  # fmt: skip
    assert {piece.href for piece in view.state if piece.href} == {
        "index.html#faults", "index.html#due", "index.html#post",
    }  # fmt: skip
    assert (len(view.faults), len(view.due), len(view.post)) == (1, 1, 2)
    assert (view.beside["due"], view.beside["post"]) == (("1 overdue",), ("2 on the way",))


@pytest.mark.parametrize(
    ("width", "height", "shape"),
    [
        (1600, 1067, ""),
        (1600, 534, ""),
        (1600, 533, "panorama"),  # 1600 is more than 3 × 533 = 1599
        (1600, 200, "panorama"),
        (1200, 1600, "upright"),
        (1199, 800, "small"),
        (100, 75, "small"),
        (75, 100, "small"),
    ],
)
def test_what_keeps_a_photo_from_the_width_of_a_page(width: int, height: int, shape: str) -> None:
    """Too few pixels, more height than width, or a strip that would be cut to its middle."""
    assert name_shape(SimpleNamespace(width=width, height=height)) == shape  # type: ignore[arg-type]


def _photo(width: int, height: int) -> PublishedPhoto:
    size = SimpleNamespace(width=width, height=height, format="image/jpeg", path=f"{width}x{height}.jpg")
    return PublishedPhoto(says="", variants=cast(PhotoSet, SimpleNamespace(variants=(size,), colour="#808080")))


def _pictured(**photos: tuple[int, int]) -> PageContext:
    heads = [
        "date: 2024-01-01\nphotos: [{file: a.jpg, says: A}]",
        "date: 2024-02-01\nmilestone: First start\nphotos: [{file: a.jpg, says: A}]",
        "date: 2024-03-01\nphotos: [{file: a.jpg, says: A}]",
    ]
    made = edition_of(*heads, settings=SETTINGS)
    found = {name: {"a.jpg": _photo(*size)} for name, size in photos.items()}
    return PageContext(figures=made.figures, words=made.words, stories=made.stories, photos=found)


def test_the_page_opens_with_the_latest_milestone_that_fills_it() -> None:
    """Without a cover: a milestone's photo before a later one; one that is wide before one that is not; else any."""
    wide, upright = (1600, 1067), (1200, 1600)

    def name(**photos: tuple[int, int]) -> str:
        context = _pictured(**photos)
        plate = find_plate(context)
        return next((entry for entry, own in context.photos.items() if own["a.jpg"] is plate), "none")

    assert name(e1=wide, e2=wide, e3=wide) == "e2"
    assert name(e1=wide, e2=upright, e3=wide) == "e3"
    assert name(e1=wide) == "e1"
    assert name(e2=upright) == "e2"
    assert name() == "none"


def test_the_opening_picture_is_not_shown_a_second_time() -> None:
    """Among the latest entries each shows its photo, but the one whose photo the page opens with."""
    view = make_front(_pictured(e1=(1600, 1066), e2=(1600, 1067), e3=(1600, 1065)))
    assert view.plate and view.plate.height == 1067
    assert [entry.photo.height if entry.photo else None for entry in view.latest] == [1065, None, 1066]
