"""JSON-LD against schema.org's vocabulary (the typings `schema-dts` 2.1.0, of npm), read by `extruct`."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import extruct
import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.read.log_settings import MACHINE_KINDS
from buildlog.render.pages.frame import TYPES, MachineFacts, describe_machine, embed_json

pytestmark = pytest.mark.outside

TYPINGS = Path(sys.prefix) / "vocabulary/node_modules/schema-dts/dist/schema.d.ts"
"`tests/run` puts it into the virtual environment."
INTERFACE = re.compile(r"^(?:export )?interface (\w+) extends ([^{]+) \{\n(.*?)^\}", re.MULTILINE | re.DOTALL)


@cache
def read_interfaces() -> dict[str, tuple[str, frozenset[str]]]:
    """By its name in the typings, what each extends, and the properties that it adds."""
    assert TYPINGS.is_file(), f"the vocabulary is not at {TYPINGS}: run tests/run, which installs it"
    found = INTERFACE.findall(TYPINGS.read_text(encoding="utf-8"))
    names = re.compile(r'^    "(@?\w+)"\??:', re.MULTILINE)
    return {name: (above, frozenset(names.findall(body))) for name, above, body in found}


def list_properties(type_: str) -> frozenset[str]:
    """All properties that schema.org defines for a type, those of what it is a kind of included."""
    properties, name = frozenset[str](), f"{type_}Leaf"
    while name in read_interfaces():
        name, added = read_interfaces()[name]
        properties |= added
    return properties


def find_undefined(value: Any) -> list[str]:
    """Types and properties in a JSON-LD value, at any depth, that schema.org does not define."""
    if not isinstance(value, dict):
        return []
    type_ = value["@type"]
    known = list_properties(type_)
    wrong = [f"{type_}.{key}" for key in value.keys() - {"@context"} if key not in known]
    return wrong + [line for inner in value.values() for line in find_undefined(inner)]


TRUCK = MachineFacts(
    kind="road vehicle",
    name="Old Tom </script><script>alert(1)</script>",
    maker="Vostrand",
    model="D 410",
    year=1991,
    number="•••••••••••042788",
    reading=(Decimal("112530"), "mi"),
    page="https://example.org/tom/",
    picture="https://example.org/tom/photos/e/0-960.jpg",
)


def extract(facts: MachineFacts) -> dict[str, Any]:
    """What a search engine's reader finds on a page."""
    script = f'<script type="application/ld+json">{embed_json(describe_machine(facts))}</script>'
    page = f"<!doctype html><html><head><title>x</title>{script}</head><body></body></html>"
    (found,) = extruct.extract(page, syntaxes=["json-ld"])["json-ld"]
    assert isinstance(found, dict)
    return found


def test_truck_comes_back_whole() -> None:
    """Every fact is found again, text that would end the script element included; a mile is `SMI` (UN/CEFACT)."""
    assert extract(TRUCK) == {
        "@context": "https://schema.org",
        "@type": "Car",
        "name": "Old Tom </script><script>alert(1)</script>",
        "manufacturer": {"@type": "Organization", "name": "Vostrand"},
        "model": "D 410",
        "url": "https://example.org/tom/",
        "image": "https://example.org/tom/photos/e/0-960.jpg",
        "vehicleIdentificationNumber": "•••••••••••042788",
        "vehicleModelDate": "1991",
        "mileageFromOdometer": {"@type": "QuantitativeValue", "value": 112530, "unitCode": "SMI"},
    }


@pytest.mark.parametrize(
    ("kind", "type_"),
    [
        ("road vehicle", "Car"),
        ("motorcycle", "Motorcycle"),
        ("boat", "Vehicle"),
        ("tractor", "Vehicle"),
        ("aircraft", "Vehicle"),
        ("trailer", "Vehicle"),
        ("other", "IndividualProduct"),
    ],
)
def test_type_has_each_property(kind: str, type_: str) -> None:
    """No property is given to a type for which schema.org does not define it."""
    found = extract(replace(TRUCK, kind=kind, number="7", reading=(Decimal("0.5"), "km")))
    assert found["@type"] == type_
    assert find_undefined(found) == []
    assert "7" in found.values()


def test_what_schema_org_does_not_define_is_found() -> None:
    """A property of another type, a property of none, and a type of none."""
    wrong = {
        "@type": "Product",
        "vehicleModelDate": "1991",
        "manufacturer": {"@type": "Organization", "nam": "x"},
        "image": {"@type": "Boat", "name": "x"},
    }
    assert sorted(find_undefined(wrong)) == [
        "Boat.@type",
        "Boat.name",
        "Organization.nam",
        "Product.vehicleModelDate",
    ]


def test_the_format_names_every_kind_that_schema_org_has_a_type_for() -> None:
    """Kinds of vehicle with a type of their own: there is none for boats, tractors, aircraft and trailers."""
    below = {name for name, (above, _) in read_interfaces().items() if above == "VehicleBase"}
    assert {re.sub("(Base|Leaf)$", "", name) for name in below} == {
        "BusOrCoach",
        "Car",
        "Motorcycle",
        "MotorizedBicycle",
        "Vehicle",
    }
    assert {*TYPES} <= {*MACHINE_KINDS}


def test_hidden_is_absent() -> None:
    """What is not public, or not known, is left out: no empty value stands for it."""
    assert extract(MachineFacts(kind="boat", name="x")).keys() == {"@context", "@type", "name"}


def test_hours_are_no_mileage() -> None:
    """An hour meter is not told as an odometer."""
    facts = MachineFacts(kind="tractor", name="x", reading=(Decimal(4100), "h"))
    assert "mileageFromOdometer" not in extract(facts)


@given(st.text())
def test_any_name_comes_back(name: str) -> None:
    """Whatever an owner writes, it stays inside the script element and is read as it was written."""
    assert extract(MachineFacts(kind="other", name=name))["name"] == name
