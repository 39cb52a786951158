"""JSON Schemas (draft 2020-12) of the front matter of entries and pages, and of log.yaml, so that editors can check.

They are made of the same definitions that the reader walks. A schema sees values after an editor's YAML reader has
typed them, so a spelling that is lost by then (`0123`, `1e3`) is left to `buildlog check`, as is where a name leads.
"""

from __future__ import annotations

import json
import re
from typing import Any

from buildlog.read.fields import LogRecord, Slot, list_slots
from buildlog.read.kinds import KEY, Kind
from buildlog.read.records import Entry, Settings, StandingPage

Schema = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def entry_schema() -> Schema:
    """The schema of the front matter of an entry."""
    return _make_schema(Entry, "An entry's front matter")


def page_schema() -> Schema:
    """The schema of the front matter of a standing page."""
    return _make_schema(StandingPage, "A standing page's front matter")


def log_schema() -> Schema:
    """The schema of log.yaml."""
    return _make_schema(Settings, "log.yaml")


def show_schema(which: str) -> str:
    """The schema of an `entry`, of a `page` or of the `log` as JSON text."""
    schema = {"entry": entry_schema, "log": log_schema, "page": page_schema}[which]()
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _make_schema(record: type[LogRecord], title: str) -> Schema:
    shared: dict[str, Schema] = {}
    body = _describe_record(record, shared)
    # sorted by name, so that the text changes no more than the definitions do
    return {"$schema": DIALECT, "title": title, **body, "$defs": dict(sorted(shared.items()))}


def _describe_record(record: type[LogRecord], shared: dict[str, Schema]) -> Schema:
    """The object that a record is written as; the records inside it are added to `shared`."""
    slots = list_slots(record).values()
    return {
        "description": (record.__doc__ or "").split("\n")[0],
        "type": "object",
        "properties": {slot.key: _describe_slot(slot, shared) for slot in slots},
        "required": [slot.key for slot in slots if slot.required],
        # an editor underlines a misspelt key as it is typed
        "additionalProperties": False,
    }


def _describe_slot(slot: Slot, shared: dict[str, Schema]) -> Schema:
    value = _describe_value(slot.kind, shared)
    if slot.shape == "table":
        names = {"pattern": KEY.schema["pattern"]}
        value = {"type": "object", "propertyNames": names, "additionalProperties": value}
    if slot.shape == "list":
        # one item may be written without the list, see `bind`
        value = {"anyOf": [value, {"type": "array", "items": _or_nothing(value)}]}
    return {"description": slot.says, **(value if slot.required else _or_nothing(value))}


def _describe_value(kind: Kind | type[LogRecord], shared: dict[str, Schema]) -> Schema:
    if isinstance(kind, Kind):
        return kind.schema
    name = re.sub(r"(?<!^)(?=[A-Z])", "-", kind.__name__).lower()
    if name not in shared:
        # taken first: a record that held another of its own class would otherwise be described without end
        shared[name] = {}
        shared[name] = _describe_record(kind, shared)
    reference = {"$ref": f"#/$defs/{name}"}
    if kind.SHORT is None:
        return reference
    short = list_slots(kind)[kind.SHORT]
    return {"anyOf": [_describe_value(short.kind, shared), reference]}


def _or_nothing(schema: Schema) -> Schema:
    """The schema of a value that may also be left blank."""
    # a value has to be one of `enum` itself (2020-12 validation, section 6.1.2), so null must be in it
    if "enum" in schema:
        return {**schema, "enum": [*schema["enum"], None]}
    if "anyOf" in schema:
        return {**schema, "anyOf": [*schema["anyOf"], {"type": "null"}]}
    if "type" in schema:
        types = schema["type"]
        return {**schema, "type": [*([types] if isinstance(types, str) else types), "null"]}
    return {"anyOf": [schema, {"type": "null"}]}
