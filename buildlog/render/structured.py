"""The machine for machines: schema.org JSON-LD in a page's head.

Only finished strings come in; what of them is public was decided where the page was made.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from buildlog.frozen import frozen

TYPES = {"road vehicle": "Car", "motorcycle": "Motorcycle", "other": "Product"}
"schema.org's type for a kind of machine. It has none for boats, tractors, aircraft and trailers: they are `Vehicle`s."
UNIT_CODES = {"km": "KMT", "mi": "SMI"}
"UN/CEFACT codes, which `unitCode` wants; hours are no mileage and are left out."
HARMLESS = {ord(c): f"\\u{ord(c):04x}" for c in "<>&\u2028\u2029"}
"JSON's own escapes for what could end a script element, or a line of script, early."


@frozen
class MachineFacts:
    """What may be said of the machine in public."""

    kind: str
    "as in `log.yaml`"
    name: str
    "the owner's name for it"
    maker: str | None = None
    "None: not stated"
    model: str | None = None
    "None: not stated"
    year: int | None = None
    "of manufacture or model; None: not stated"
    number: str | None = None
    "VIN, or another number that identifies it, masked or whole as readers see it; None when it is hidden"
    reading: tuple[Decimal, str] | None = None
    "true total of the meter and its unit"
    page: str | None = None
    "absolute address of its page"


def describe_machine(facts: MachineFacts) -> dict[str, Any]:
    """The machine as a JSON-LD object, with the properties that schema.org defines for its type."""
    kind = TYPES.get(facts.kind, "Vehicle")
    # None is left out below: an empty text would be a claim of its own.
    found: dict[str, Any] = {
        "@context": "https://schema.org",
        "@type": kind,
        "name": facts.name,
        "manufacturer": {"@type": "Organization", "name": facts.maker} if facts.maker else None,
        "model": facts.model,
        "url": facts.page,
    }
    # schema.org defines those of a `Vehicle` for no `Product`.
    if kind == "Product":
        found["serialNumber"] = facts.number
    else:
        found |= {
            "vehicleIdentificationNumber": facts.number,
            "vehicleModelDate": str(facts.year) if facts.year else None,
            "mileageFromOdometer": _describe_mileage(facts.reading),
        }
    return {key: value for key, value in found.items() if value is not None}


def embed_json(found: Mapping[str, Any]) -> str:
    """The object as the inside of a script element of type `application/ld+json`, which nothing in it can end."""
    return json.dumps(found, ensure_ascii=False).translate(HARMLESS)


def _describe_mileage(reading: tuple[Decimal, str] | None) -> dict[str, Any] | None:
    # Hours are no mileage.
    if reading is None or reading[1] not in UNIT_CODES:
        return None
    value, unit = reading
    # `json` writes no `Decimal`. A `float` is written in the fewest digits that mean the same: 87412.5 stays 87412.5.
    number = int(value) if value == value.to_integral_value() else float(value)
    return {"@type": "QuantitativeValue", "value": number, "unitCode": UNIT_CODES[unit]}
