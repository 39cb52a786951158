"""Tests of the values that never change, beside the dataclasses that they stand for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, replace
from decimal import Decimal
from typing import Any, ClassVar

import pytest

from buildlog.frozen import frozen, frozen_pair, kept


@frozen
class Bolt:
    """A thing with every sort of field that this package has."""

    SHORT: ClassVar[str] = "size"
    size: Decimal
    unit: str = "mm"
    notes: Mapping[str, int] = field(default_factory=dict, repr=False, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainBolt:
    """The same, as the standard library makes it."""

    SHORT: ClassVar[str] = "size"
    size: Decimal
    unit: str = "mm"
    notes: Mapping[str, int] = field(default_factory=dict, repr=False, compare=False)


@frozen
class Stud(Bolt):
    """One that has more."""

    ends: tuple[str, ...] = ()
    washer: Bolt | None = None


M8 = Bolt(size=Decimal(8))


def test_a_value_is_the_dataclass_that_it_stands_for() -> None:
    """Fields, their order, defaults and what they say of themselves are those of a dataclass; so is its text."""
    plain = PlainBolt(size=Decimal(8))
    for ours, theirs in zip(fields(Bolt), fields(PlainBolt), strict=True):
        assert (ours.name, ours.default, ours.default_factory) == (theirs.name, theirs.default, theirs.default_factory)
        assert (ours.repr, ours.compare, ours.kw_only) == (theirs.repr, theirs.compare, theirs.kw_only)
    assert repr(M8) == repr(plain).removeprefix("Plain") == "Bolt(size=Decimal('8'), unit='mm')"
    assert asdict(M8) == asdict(plain) == {"size": Decimal(8), "unit": "mm", "notes": {}}
    assert hash(M8) == hash(plain) == hash((Decimal(8), "mm"))


def test_values_are_equal_field_by_field_within_one_class() -> None:
    """What does not count for comparing does not count for the hash; another class is never equal, nor a subclass."""
    same = Bolt(size=Decimal("8.0"), notes={"seen": 1})
    assert same == M8
    assert hash(same) == hash(M8)
    others: list[object] = [Bolt(size=Decimal(8), unit="in"), PlainBolt(size=Decimal(8)), Stud(size=Decimal(8))]
    assert M8 not in others
    assert len({M8, same, Bolt(size=Decimal(10))}) == 2


def test_nothing_is_set_or_deleted_or_added() -> None:
    """Not even a field of the value's own, and no attribute beside the fields has room."""
    for name in ("size", "extra"):
        with pytest.raises(FrozenInstanceError, match=f"`{name}` of a Bolt never changes"):
            setattr(M8, name, 9)
        with pytest.raises(FrozenInstanceError):
            delattr(M8, name)
    assert not hasattr(M8, "__dict__")
    assert not hasattr(Stud(size=Decimal(8)), "__dict__")
    assert M8.size == 8


@pytest.mark.parametrize(
    "given", [{}, {"size": 1, "pitch": 2}, {"unit": "in"}], ids=["nothing", "an unknown field", "without the size"]
)
def test_what_is_not_the_fields_is_refused(given: dict[str, Any]) -> None:
    """Every field without a default has to be given, and nothing else may be."""
    with pytest.raises(TypeError):
        Bolt(**given)


def test_fields_are_given_by_name() -> None:
    """By place they would change their meaning when a field is added."""
    with pytest.raises(TypeError, match="positional"):
        Bolt(Decimal(8))  # type: ignore[call-arg]


def test_a_default_that_is_made_is_made_for_each_value() -> None:
    """Two values do not share one dict; a given one, even an empty one, is looked at and not copied."""
    given: dict[str, int] = {}
    assert M8.notes is not Bolt(size=Decimal(8)).notes
    bolt = Bolt(size=Decimal(8), notes=given)
    given["seen"] = 1
    assert bolt.notes == {"seen": 1}


def test_a_subclass_has_the_fields_of_both() -> None:
    """Those of the base come first; `replace` and `asdict` go through all of them, and into values inside."""
    stud = Stud(size=Decimal(10), ends=("fine", "coarse"), washer=M8)
    assert [each.name for each in fields(Stud)] == ["size", "unit", "notes", "ends", "washer"]
    assert replace(stud, unit="in") == Stud(size=Decimal(10), unit="in", ends=("fine", "coarse"), washer=M8)
    assert asdict(stud)["washer"] == asdict(M8)


class Rack:
    """An object that counts how often it is asked."""

    def __init__(self) -> None:
        self.asked: list[str] = []

    @kept
    def weigh(self, name: str) -> int:
        """How heavy something on it is."""
        self.asked.append(name)
        return len(name)


def test_a_kept_method_works_each_answer_out_once_for_each_object() -> None:
    """Two objects never share an answer, and the second asking costs no work."""
    rack, other = Rack(), Rack()
    assert [rack.weigh("bolt"), rack.weigh("nut"), rack.weigh("bolt"), other.weigh("bolt")] == [4, 3, 4, 4]
    assert rack.asked == ["bolt", "nut"]
    assert other.asked == ["bolt"]


@kept
def weigh(rack: Rack, name: str) -> int:
    """The same with what it lies in."""
    return rack.weigh(name) + 100


def test_two_kept_functions_of_one_name_do_not_share_answers() -> None:
    """Pages in different modules have functions called alike, which are all kept by one context."""
    rack = Rack()
    assert [rack.weigh("bolt"), weigh(rack, "bolt"), weigh(rack, "bolt"), rack.weigh("bolt")] == [4, 104, 104, 4]
    assert rack.asked == ["bolt"]


@frozen_pair
class Torque:
    """A value of two that go together."""

    amount: Decimal
    unit: str


def test_a_pair_is_given_by_place_and_is_a_value_like_any_other() -> None:
    """Equal, hashed, replaced and closed as values that are given by name."""
    torque = Torque(Decimal(22), "N·m")
    assert torque == Torque(amount=Decimal("22.0"), unit="N·m") != Torque(Decimal(22), "lb·ft")
    assert hash(torque) == hash(Torque(Decimal("22.0"), "N·m"))
    assert replace(torque, unit="lb·ft") == Torque(Decimal(22), "lb·ft")
    assert repr(torque) == "Torque(amount=Decimal('22'), unit='N·m')"
    with pytest.raises(FrozenInstanceError):
        torque.unit = "lb·ft"  # type: ignore[misc]
