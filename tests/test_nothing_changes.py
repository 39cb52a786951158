"""Nothing that a page or a question is given can be changed by it: records, figures and views, all the way down."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path, PurePath
from types import MappingProxyType
from typing import Any, get_args

import pytest

from buildlog.compute.figures import Figures
from buildlog.frozen import frozen
from buildlog.render.pages.costs import CostPeriodView
from buildlog.render.pages.leads import LeadView
from buildlog.render.pages.long_lists import FaultPeriodView, LongListView
from buildlog.render.pages.meter_readings import ReadingsView
from buildlog.render.pages.parts import PartIndexView, PartPeriodView
from buildlog.render.pages.service_items import TimesView
from buildlog.render.pages.standing import PageListView
from buildlog.render.pages.timeline import TimelinePeriodView
from buildlog.render.render import View, render_site
from buildlog.render.theme import Theme, load_theme
from buildlog.stages import Run, run_stages
from tests.whole_log import AS_OF, read_whole

EXAMPLE = Path(__file__).parent.parent / "example_project"
EXAMPLE_DAY = datetime.date(2025, 11, 26)

LEAVES = (str, bytes, int, float, Decimal, Fraction, datetime.date, PurePath, type(None))
"What holds nothing that could be changed. A type that is in no list of these fails, so that none is passed over."


def walk(value: object, seen: dict[int, object]) -> Iterator[object]:
    """A value and everything that it holds, each thing once."""
    if id(value) in seen:
        return
    seen[id(value)] = value  # kept, so that no other thing gets its number
    yield value
    held: list[object] = []
    if is_dataclass(value):
        held = [getattr(value, each.name) for each in fields(value)]
    elif isinstance(value, Mapping):
        held = [*value.keys(), *value.values()]
    elif isinstance(value, tuple | frozenset | list | set):
        held = [*value]
    for one in held:
        yield from walk(one, seen)


def is_fixed(value: object) -> bool:
    """Whether nothing can be put into a value, or taken out of it."""
    if is_dataclass(value):
        return not hasattr(value, "__dict__") and bool(value.__dataclass_params__.frozen or refuses(value))
    return isinstance(value, (*LEAVES, tuple, frozenset, MappingProxyType))


def refuses(value: Any) -> bool:
    """Whether a value turns down what is set on it."""
    name = fields(value)[0].name
    try:
        setattr(value, name, getattr(value, name))
    except AttributeError:
        return True
    return False


def list_views(made: Callable[[], object], monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """All that templates are given while a site is made."""
    given: list[Any] = []
    render = Theme.render

    def spy(theme: Theme, template: str, values: Mapping[str, Any]) -> str:
        given.extend(values.values())
        return render(theme, template, values)

    monkeypatch.setattr(Theme, "render", spy)
    made()
    return given


def read_figures(folder: Path, day: datetime.date) -> Figures:
    run = run_stages(Run(folder=folder, as_of=day), until="compute")
    assert run.figures is not None and not run.refused
    return run.figures


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Figures:
    return read_figures(read_whole().write(tmp_path_factory.mktemp("whole")), AS_OF)


@pytest.fixture(scope="module")
def example() -> Figures:
    return read_figures(EXAMPLE, EXAMPLE_DAY)


@pytest.mark.parametrize("name", ["whole", "example"])
def test_records_and_figures_cannot_be_changed(name: str, request: pytest.FixtureRequest) -> None:
    """No list, dict, set or other thing that changes is to be reached from the figures, or the log in them."""
    found = [*walk(request.getfixturevalue(name), {})]
    assert {type(one).__name__ for one in found if not is_fixed(one)} == set()
    maps = [one for one in found if isinstance(one, Mapping)]
    # Where fields stand is packed, and no mapping: those that are left are in the figures and the settings.
    assert len(maps) > 20
    for one in maps:
        with pytest.raises(TypeError):
            one["new"] = 1  # type: ignore[index]


OF_LONG_LOGS = {
    CostPeriodView,
    FaultPeriodView,
    LeadView,
    LongListView,
    PageListView,
    PartIndexView,
    PartPeriodView,
    ReadingsView,
    TimelinePeriodView,
    TimesView,
}


def test_views_of_every_field_cannot_be_changed(whole: Figures, monkeypatch: pytest.MonkeyPatch) -> None:
    """No template can change what it is given, photos of a story included; every sort of page is among them.

    But for the pages that only a long log is split into, whose values are made of the same pieces.
    """
    given = list_views(lambda: run_stages(Run(folder=whole.log.folder, as_of=AS_OF), until="render"), monkeypatch)
    assert {*get_args(View)} - {type(one) for one in given} == OF_LONG_LOGS
    assert {type(one).__name__ for one in walk(tuple(given), {}) if not is_fixed(one)} == set()


def test_views_of_the_example_cannot_be_changed(example: Figures, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same of a log as an owner has it, without its photos."""
    theme, _ = load_theme("margin", place=example.log.settings.place, log=None)
    assert theme is not None
    given = list_views(lambda: render_site(example, theme, lambda name: None), monkeypatch)
    assert len(given) > 60
    assert {type(one).__name__ for one in walk(tuple(given), {}) if not is_fixed(one)} == set()


@pytest.mark.parametrize(
    "changeable", [[1], {1: 2}, {1}, bytearray(b"1"), object()], ids=lambda one: type(one).__name__
)
def test_the_walk_finds_what_can_be_changed(changeable: object) -> None:
    """Wherever it is hidden: in a tuple, in a read-only mapping, in a value."""
    for inside in ((changeable,), MappingProxyType({1: changeable}), Shelf(parts={"a": (changeable,)})):
        assert [one for one in walk(inside, {}) if not is_fixed(one)] == [changeable]


@frozen
class Shelf:
    """A value with a mapping."""

    parts: Mapping[str, object]
    spare: Mapping[str, object] | None = None


def test_a_mapping_in_a_value_is_read_only_and_stays_a_mapping() -> None:
    """It compares, joins and copies as before; one that is read-only already is taken as it is; none can be set."""
    shelf = Shelf(parts={"a": 1})
    with pytest.raises(TypeError):
        shelf.parts["b"] = 2  # type: ignore[index]
    assert shelf.parts == {"a": 1}
    assert {**shelf.parts} | {"b": 2} == shelf.parts | {"b": 2} == {"a": 1, "b": 2}  # type: ignore[operator]
    assert Shelf(parts=shelf.parts).parts is shelf.parts
    assert asdict(shelf) == {"parts": {"a": 1}, "spare": None}
    assert type(Shelf(parts={}, spare={}).spare) is MappingProxyType
