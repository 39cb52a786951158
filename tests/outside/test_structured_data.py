"""JSON-LD against schema.org's vocabulary (property tables of the typings `schema-dts` 2.1.0), read by `extruct`."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import extruct
import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.render.pages.frame import MachineFacts, describe_machine, embed_json

pytestmark = pytest.mark.outside

# schema.org: Car and Motorcycle are Vehicles, a Vehicle is a Product, a Product is a Thing. Only the properties used.
THING = {"@context", "@type", "name", "url"}
PRODUCT = THING | {"manufacturer", "model", "serialNumber"}
VEHICLE = PRODUCT | {"vehicleIdentificationNumber", "vehicleModelDate", "mileageFromOdometer"}
PROPERTIES = {"Car": VEHICLE, "Motorcycle": VEHICLE, "Vehicle": VEHICLE, "Product": PRODUCT}

TRUCK = MachineFacts(
    kind="road vehicle",
    name="Old Tom </script><script>alert(1)</script>",
    maker="Vostrand",
    model="D 410",
    year=1991,
    number="•••••••••••042788",
    reading=(Decimal("112530"), "mi"),
    page="https://example.org/tom/",
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
        ("aircraft", "Vehicle"),
        ("other", "Product"),
    ],
)
def test_type_has_each_property(kind: str, type_: str) -> None:
    """No property is given to a type for which schema.org does not define it."""
    found = extract(MachineFacts(kind=kind, name="x", maker="y", year=1950, number="7", reading=(Decimal("0.5"), "km")))
    assert found["@type"] == type_
    assert found.keys() <= PROPERTIES[type_]
    assert "7" in found.values()


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
