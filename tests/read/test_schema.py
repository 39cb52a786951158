"""The JSON Schemas: valid by their own dialect, whole, and of one mind with the reader."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from buildlog.read.fields import LogRecord, list_slots
from buildlog.read.kinds import Kind
from buildlog.read.reader import split_front_matter
from buildlog.read.records import Entry, Settings
from buildlog.read.schema import entry_schema, log_schema, show_schema
from tests.read.test_cases import list_cases, read_case

EXAMPLE = Path(__file__).parents[2] / "example_project"
FULL_ENTRY = Path(__file__).parent / "full_entry.md"


class CoreLoader(yaml.SafeLoader):
    """YAML typed by the core schema of YAML 1.2 (yaml.org/spec/1.2.2 section 10.3.2), as editors type it."""


CoreLoader.yaml_implicit_resolvers = {}
for _tag, _form, _starts in (
    ("null", r"null|Null|NULL|~|", ["n", "N", "~", ""]),
    ("bool", r"true|True|TRUE|false|False|FALSE", list("tTfF")),
    ("int", r"[-+]?[0-9]+", list("-+0123456789")),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", list("-+.0123456789")),
):
    CoreLoader.add_implicit_resolver(f"tag:yaml.org,2002:{_tag}", re.compile(f"^(?:{_form})$"), _starts)


def _read_int(loader: CoreLoader, node: yaml.ScalarNode) -> int:
    return int(node.value)


CoreLoader.add_constructor("tag:yaml.org,2002:int", _read_int)


def load(text: str) -> Any:
    """The JSON that an editor sees: YAML 1.2, every key a text."""
    return json.loads(json.dumps(yaml.load(text, Loader=CoreLoader)))


def judge(schema: dict[str, Any], text: str) -> list[str]:
    """What a validator says, dates checked by the calendar."""
    validator = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(load(text))]


@pytest.mark.outside
@pytest.mark.parametrize("schema", [entry_schema(), log_schema()], ids=["entry", "log"])
def test_schema_is_valid_by_its_dialect(schema: dict[str, Any]) -> None:
    """Both hold against the meta-schema of JSON Schema 2020-12, read by the jsonschema library."""
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize(
    ("schema", "record"), [(entry_schema(), Entry), (log_schema(), Settings)], ids=["entry", "log"]
)
def test_schema_has_every_key_with_its_words(schema: dict[str, Any], record: type[LogRecord]) -> None:
    """Every key of every record is there with what the guide says of it, and no other is let through."""
    shown = {"": schema} | schema["$defs"]
    todo, seen = [("", record)], set()
    while todo:
        name, kind = todo.pop()
        seen.add(name)
        body, slots = shown[name], list_slots(kind)
        assert {key: part["description"] for key, part in body["properties"].items()} == {
            slot.key: slot.says for slot in slots.values()
        }
        assert body["required"] == [slot.key for slot in slots.values() if slot.required]
        assert body["additionalProperties"] is False
        inner = [slot.kind for slot in slots.values() if not isinstance(slot.kind, Kind)]
        todo += [(re.sub(r"(?<!^)(?=[A-Z])", "-", each.__name__).lower(), each) for each in inner]
    assert seen == set(shown)


def test_shown_schema_is_the_schema() -> None:
    """The text that a command prints is the schema, and ends with a line end."""
    assert json.loads(show_schema("entry")) == entry_schema()
    assert json.loads(show_schema("log")) == log_schema()
    assert show_schema("log").endswith("}\n")


@pytest.mark.outside
def test_full_entry_is_valid() -> None:
    """The entry that uses every common block holds against the schema."""
    head, _, _ = split_front_matter(FULL_ENTRY.read_text(encoding="utf-8"))
    assert head is not None
    assert judge(entry_schema(), head) == []


@pytest.mark.outside
def test_example_log_is_valid() -> None:
    """The example's settings and every one of its entries hold against the schemas."""
    paths = sorted((EXAMPLE / "entries").glob("*.md"))
    assert paths
    assert judge(log_schema(), (EXAMPLE / "log.yaml").read_text(encoding="utf-8")) == []
    for path in paths:
        head, _, _ = split_front_matter(path.read_text(encoding="utf-8"))
        assert head is not None
        assert judge(entry_schema(), head) == [], path.name


# Cases in which the words of a text decide and a validator sees only the value.
SPELLING = {
    "numbers: a leading zero": "an editor reads 123",
    "numbers: a reading with a leading zero, as the drums show it": "an editor reads 12530",
    "numbers: a power of ten": "an editor reads 1000.0",
    "numbers: no digit before the point": "an editor reads 0.5",
    "numbers: no digit behind the point": "an editor reads 5.0",
    "numbers: a plus sign": "an editor reads 5",
    "numbers: too many digits": "a number like any other",
    "numbers: true in capitals": "an editor reads true",
    "numbers: a box inside out": "one side against another is beyond a schema",
    "shapes: a box whose sides meet": "the same",
    "dates: a day of the history that does not exist": "`pattern` knows no calendar, and `format` no months alone",
    "shapes: no title anywhere": "the title may stand in the story, which a schema does not see",
    "yaml: a text with line breaks": "one line is all that a title can be; a schema's `pattern` looks for words only",
    "yaml: an escape that stands for a control character": "the same",
    "yaml: a repeated key cites both lines": "the value that comes last is all that a validator sees",
    "yaml: a repeated key inside braces": "the same",
    "yaml: a repeated key with the same value is still an error": "the same",
    "yaml: a list that is written under one key twice is told, and read": "the same",
    "yaml: a forgotten space behind the dash of a list's only item": "an editor reads a text that starts with a dash",
    "yaml: forgotten spaces behind every dash of a list": "the same",
    "yaml: an anchor": "an editor follows references",
    "yaml: a second document": "an editor looks at each document by itself",
    "yaml: the empty tag": "an editor reads the text behind it",
}
OTHER_RULES = re.compile(r"unknown-(system|component|strip-down|service-item)|missing-paper")


def list_readable_cases() -> list[Any]:
    """The cases whose YAML an editor can read at all."""
    readable = []
    for case in list_cases():
        parts = case.values[0]
        try:
            load(entry_text(parts))
            load(parts.get("log", ""))
        except (yaml.YAMLError, TypeError):
            continue
        readable.append(case)
    return readable


def entry_text(parts: dict[str, str]) -> str:
    if "file" in parts:
        return split_front_matter(parts["file"])[0] or ""
    return "date: 2024-05-18\ntitle: Pump off\n" + parts.get("entry", "").replace("⇥", "\t")


@pytest.mark.outside
@pytest.mark.parametrize("case", list_readable_cases())
def test_schema_and_reader_agree(case: dict[str, str], request: pytest.FixtureRequest) -> None:
    """What the reader takes a validator takes; what the reader refuses it refuses, but for spellings it cannot see."""
    told = [problem for problem in read_case(case).problems if problem.severity == "error"]
    refused = any(not OTHER_RULES.fullmatch(problem.rule) for problem in told)
    said = judge(entry_schema(), entry_text(case)) if "entry" in case or "file" in case else []
    extra = load(case.get("log", "")) or {}
    if extra:
        whole = {"machine": {"name": "Test machine"}, "money": {"currency": "GBP"}} | extra
        said += judge(log_schema(), json.dumps(whole))
    name = request.node.callspec.id
    assert bool(said) == (refused and name not in SPELLING), (said, [problem.message for problem in told])


def test_spellings_beyond_a_schema_are_cases() -> None:
    """Each exception names a case that exists and that the reader refuses."""
    cases = {case.id: case.values[0] for case in list_readable_cases()}
    assert [name for name in SPELLING if name not in cases or "told" not in cases[name]] == []
