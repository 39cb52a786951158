"""What DEVELOPERS.md, the README and the guide name is there: modules, folders, functions, commands and their options.

Everything that DEVELOPERS.md sets in backticks is of a kind that is looked up here; what is of none fails.
"""

from __future__ import annotations

import ast
import builtins
import importlib
import re
import shlex
from functools import cache
from pathlib import Path
from typing import Any

import click
import pytest

from buildlog.cli import main
from buildlog.read.fields import list_slots
from buildlog.stages import STAGES
from tests.test_guide import RECORDS
from tests.test_house import MODULES, PACKAGE, TOP, parse

DEVELOPERS = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
STUDY = PACKAGE / "photos" / "formats.md"
DOCUMENTS = {
    path.relative_to(TOP).as_posix(): path.read_text(encoding="utf-8")
    for path in (TOP / "DEVELOPERS.md", TOP / "README.md", STUDY, *sorted((PACKAGE / "guide").glob("*.md")))
}

# Where a path in DEVELOPERS.md may start: the checkout, the package, its guide, its theme, a log.
BASES = (TOP, PACKAGE, PACKAGE / "guide", TOP / "themes" / "margin", TOP / "example_project")
SUFFIXES = (".py", ".md", ".html", ".js", ".css", ".json", ".yaml", ".xml")
# What stands in a log or a bag and in none of those; the guide names each.
OF_A_LOG = {"figures.json": "handover", "theme/": "handover"}
# Other people's programs, and what is written in languages that are not looked up: YAML of an owner, HTML, Jinja.
PROGRAMS = {"ssh-keygen", "openssl", "debootstrap", "rfc3161-client"}
QUOTED = {"no", "error", "warning", "lang", "---"}
# Patterns of names that whoever adds something chooses.
PATTERNS = {
    "NameView", "make_name(context) -> NameView", 'TEMPLATE: ClassVar[str] = "NAME.html"',
    "compute_name(log, as_of, …) -> NameFigures",
}  # fmt: skip
ENVIRONMENT = {"python3 -m venv .venv", ".venv/bin/pip install ."}
"What makes the README's environment, by Python's own programs."
CALLS = ("buildlog ", "tests/run", "tests/fresh_machine", ".ci/run", "python -m ", ".venv/bin/", "BUILDLOG_")
"How a command line of this project begins."


def list_quoted(text: str) -> list[str]:
    """What stands in backticks outside of blocks, in order."""
    prose = "\n".join(line for line in drop_fenced(text).split("\n") if not line.startswith("    "))
    return re.findall(r"`([^`\n]+)`", prose)


def drop_fenced(text: str) -> str:
    return re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)


def list_calls(name: str) -> list[str]:
    """The command lines of a document: what is set in as code, and those in backticks.

    All that DEVELOPERS.md and the README set in is a command; the guide shows other things so, too.
    """
    text = DOCUMENTS[name]
    lines = [re.split(r" {2,}", line)[0] for line in re.findall(r"^    (\S.*)$", drop_fenced(text), re.MULTILINE)]
    if name.startswith("buildlog/"):
        lines = [line for line in lines if line.startswith((*CALLS, "python "))]
    calls = [call for line in lines if " → " not in line for call in line.split(" && ")]
    quoted = [f"python -m {token}" if token.startswith("tests.bench.") else token for token in list_quoted(text)]
    return [*calls, *(token for token in quoted if token.startswith(CALLS))]


# ── names ────────────────────────────────────────────────────────────────────────────────────────────────────────


def is_path(name: str) -> bool:
    """Whether a file or folder is there, whole; `NAME` stands for any, and then its folder is."""
    if name in OF_A_LOG:
        return f"`{name}`" in DOCUMENTS[f"buildlog/guide/{OF_A_LOG[name]}.md"]
    if "NAME" in name:
        name = f"{Path(name).parent.as_posix()}/"
    return any((base / name).is_dir() if name.endswith("/") else (base / name).is_file() for base in BASES)


@cache
def list_names() -> dict[str, set[str]]:
    """Each function, class and constant at the top of a module of the package, with the modules that have it."""
    names: dict[str, set[str]] = {}
    for module in MODULES:
        for node in parse(module).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                names.setdefault(node.name, set()).add(module)
            elif isinstance(node, ast.Assign | ast.AnnAssign):
                for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
                    if isinstance(target, ast.Name):
                        names.setdefault(target.id, set()).add(module)
    return names


def is_named(dotted: str) -> bool:
    """Whether `module.name`, `Class.name` or a name alone leads to something; `module` counted from the package."""
    first, *rest = dotted.split(".")
    if not rest:
        return first in list_names() or hasattr(builtins, first) or first in {"Decimal"}
    for count in range(len(rest), 0, -1):
        module = ".".join([first, *rest[: count - 1]])
        module = module if first == "tests" else f"buildlog.{module}"
        path = TOP / module.replace(".", "/")
        if path.with_suffix(".py").is_file() or (path / "__init__.py").is_file():
            return leads_to(importlib.import_module(module), rest[count - 1 :])
    return any(leads_to(importlib.import_module(home), [first, *rest]) for home in list_names().get(first, ()))


def leads_to(thing: Any, names: list[str]) -> bool:
    for name in names:
        if not hasattr(thing, name):
            return name in getattr(thing, "__dataclass_fields__", ())
        thing = getattr(thing, name)
    return True


def is_key(name: str) -> bool:
    """Whether a record of the format has this key, as `paid:`, `site: {id: …}` or `ref` name it."""
    keys = {slot.key for record in RECORDS.values() for slot in list_slots(record).values()}
    words = re.findall(r"[a-z_]+(?=:)", name) or [name]
    return all(word in keys for word in words)


def is_known(quoted: str) -> bool:
    """Whether something in backticks is there, whatever it is."""
    if quoted in PROGRAMS | QUOTED | PATTERNS or re.fullmatch(r"[0-9.,:]+", quoted):
        return True
    if quoted.startswith((*CALLS, "tests.bench.")):
        return True  # calls are held to the program below
    if quoted.startswith("."):
        style = (TOP / "themes" / "margin" / "margin.css").read_text(encoding="utf-8")
        return re.search(rf"{re.escape(quoted)}\b", style) is not None
    if template := re.fullmatch(r'\{% extends "(.+)" %\}', quoted):
        return any((themes / template[1]).is_file() for themes in (TOP / "themes", TOP / "themes" / "margin"))
    if quoted.startswith("--"):
        return quoted.split(maxsplit=1)[0] in list_options() | list_script_options("fresh_machine")
    if "/" in quoted or quoted.endswith(SUFFIXES):
        return is_path(quoted)
    called = re.fullmatch(r"@?([A-Za-z_][\w.]*)(\(.*\))?", quoted)
    if called and (quoted.startswith("@") or called[2] or is_named(called[1])):
        return is_named(called[1])
    return quoted in main.commands or is_key(quoted) or is_told_apart(quoted) or (PACKAGE / quoted).is_dir()


def is_told_apart(name: str) -> bool:
    """Whether it is a variable of the environment, or a key of a theme's settings, that the program asks for."""
    if name.isupper():
        return any(f'environ.get("{name}")' in path.read_text(encoding="utf-8") for path in MODULES.values())
    themes = (MODULES[f"buildlog.render.{module}"].read_text(encoding="utf-8") for module in ("theme", "templates"))
    return any(f'"{name.partition(": ")[0]}"' in text for text in themes)


@cache
def list_options() -> set[str]:
    """Every option of every command."""
    return {option for command in main.commands.values() for param in command.params for option in param.opts}


def list_script_options(name: str) -> set[str]:
    """The options that a shell script of `tests/` tells apart."""
    return set(re.findall(r"^\s*(--[\w-]+)\)", (TOP / "tests" / name).read_text(encoding="utf-8"), re.MULTILINE))


@pytest.mark.parametrize("quoted", dict.fromkeys(list_quoted(DEVELOPERS)))
def test_what_the_developers_guide_names_is_there(quoted: str) -> None:
    """Each module, folder, function, class, constant, key, command and option in backticks is in the program."""
    assert is_known(quoted), f"DEVELOPERS.md names `{quoted}`, and there is none"


@pytest.mark.parametrize(
    "wrong",
    [
        "read/gone.py", "compute/costs/", "read.reader.read_nothing()", "Place.nowhere", "gone.make_views()",
        "NO_SUCH_THING", "a thing", "read/reader", "--gone", "gone:", "site: {gone: …}", "read_nothing()", ".gone",
    ],
)  # fmt: skip
def test_what_is_not_there_is_told(wrong: str) -> None:
    """A name that leads nowhere is found, of whatever kind it is; only the folder among these is there."""
    assert is_known(wrong) == (wrong == "compute/costs/")


def test_the_stages_are_those_of_the_program() -> None:
    """The table of stages has the names that the program goes through, in its order, each with its folder."""
    table = re.search(r"^\| stage \| folder \|.*\n.*\n((?:\|.*\n)+)", DEVELOPERS, re.MULTILINE)
    assert table is not None
    rows = [[cell.strip() for cell in row.strip("|").split("|")][:2] for row in table[1].strip().split("\n")]
    assert rows == [[name, f"`buildlog/{name}/`"] for name, _ in STAGES]
    steps = re.findall(r"^\d+\. (\w+), `stages\.(\w+)\(\)`", DEVELOPERS, re.MULTILINE)
    assert steps == [(name.capitalize(), stage.__name__) for name, stage in STAGES], "so are those of the first walk"


# ── commands ─────────────────────────────────────────────────────────────────────────────────────────────────────


def find_fault(call: str) -> str:
    """What is wrong with a command line of this project; empty where it would be run."""
    if call in ENVIRONMENT:
        return ""
    words = shlex.split(call)
    while re.match(r"[A-Z_]+=", words[0]):
        name = words.pop(0).partition("=")[0]
        if not any(name in path.read_text(encoding="utf-8") for path in (TOP / "tests").glob("*/*.py")):
            return f"nothing reads {name}"
    program, *rest = words
    if program in ("python", ".venv/bin/python"):
        return find_fault_of_module(rest)
    if program in ("buildlog", ".venv/bin/buildlog"):
        return find_fault_of_command([word for word in rest if "[" not in word])
    if program == "tests/run":
        return find_fault_of_paths(rest)
    if program not in ("tests/fresh_machine", ".ci/run"):
        return f"{program} is no program of this project"
    wrong = [word for word in rest if word.startswith("--") and word not in list_script_options(Path(program).name)]
    return "" if (TOP / program).is_file() and not wrong else f"{program} {wrong}"


def find_fault_of_paths(words: list[str]) -> str:
    return " ".join(word for word in words if not (TOP / word).exists())


def find_fault_of_module(words: list[str]) -> str:
    """Of `-m module options`: the module is there, and its source has each option."""
    if words[0] == "-c":
        imports = [node for node in ast.walk(ast.parse(words[1])) if isinstance(node, ast.ImportFrom)]
        names = [f"{node.module}.{alias.name}".removeprefix("buildlog.") for node in imports for alias in node.names]
        return " ".join(name for name in names if not is_named(name))
    if words[:2] == ["-m", "pytest"]:
        return find_fault_of_paths(words[2:])
    path = TOP / f"{words[1].replace('.', '/')}.py"
    if words[0] != "-m" or not path.is_file():
        return f"there is no module {words[1]}"
    calls = [node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)]
    options = {ast.unparse(node.args[0]).strip("'") for node in calls if node.args}
    return " ".join(word for word in words[2:] if word.startswith("--") and word not in options)


def find_fault_of_command(words: list[str]) -> str:
    """Read by click's own objects, without being run: name, options, values, number of arguments."""
    if words == ["--help"]:
        return ""
    name, *rest = words
    if name not in main.commands:
        return f"there is no command {name}"
    try:
        main.commands[name].make_context(name, list(rest))
    except click.MissingParameter as error:
        return error.format_message() if rest else ""  # a command that is only named needs no arguments
    except click.UsageError as error:
        return error.format_message()
    return ""


@pytest.fixture
def any_path(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths in a command line are the reader's own: they need not be here."""
    monkeypatch.setattr(click.Path, "convert", lambda self, value, param, ctx: value)


CASES = [(name, call) for name in DOCUMENTS for call in dict.fromkeys(list_calls(name))]


@pytest.mark.parametrize(("name", "call"), CASES)
@pytest.mark.usefixtures("any_path")
def test_each_command_line_would_be_run(name: str, call: str) -> None:
    """Programs, modules, commands, options and the values of options that a document tells to type are there."""
    assert find_fault(call) == "", f"{name}: {call}"


@pytest.mark.parametrize(
    "wrong",
    [
        "buildlog publsh x", "buildlog publish --gone", "buildlog start x --unit furlong", "buildlog costs a b",
        "buildlog start x --currency XXX", "buildlog costs --as-of 2024-13-01", "tests/run tests/gone",
        ".venv/bin/python -m tests.bench.bench_gone", "python -m tests.bench.bench_text --gone", "tests/gone",
        "BUILDLOG_GONE=1 tests/run", "tests/fresh_machine --gone", "buildlog handover LOG --withhold a",
    ],
)  # fmt: skip
@pytest.mark.usefixtures("any_path")
def test_a_command_line_that_would_not_be_run_is_told(wrong: str) -> None:
    """A slip in the program, the command, an option, its value, an argument, a path or a variable is found."""
    assert find_fault(wrong) != ""


def test_every_document_with_commands_was_read() -> None:
    """Commands were found in each document that has them, among them the README's own."""
    calls = {name: [call for at, call in CASES if at == name] for name in DOCUMENTS}
    assert ".venv/bin/buildlog publish example_project --as-of 2024-11-30" in calls["README.md"]
    assert "tests/run" in calls["README.md"]
    assert "tests/run tests/compute" in calls["DEVELOPERS.md"]
    assert len(calls["README.md"]) > 10
    assert sum(map(len, calls.values())) > 50


# ── links and figures ────────────────────────────────────────────────────────────────────────────────────────────


def list_anchors(text: str) -> set[str]:
    heads = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("name", DOCUMENTS)
def test_each_link_leads_somewhere(name: str) -> None:
    """A link from one document of the project to another finds the file, and in it the heading."""
    wrong = []
    for target in re.findall(r"\]\(([^)\s]+)\)", re.sub(r"`[^`\n]*`", "", drop_fenced(DOCUMENTS[name]))):
        path, _, anchor = target.partition("#")
        file = (TOP / name).parent / path if path else TOP / name
        if not target.startswith("https://") and not (
            file.is_file() and (not anchor or anchor in list_anchors(file.read_text(encoding="utf-8")))
        ):
            wrong.append(target)
    assert wrong == []


MEASURED = re.search(r"^\| case \| result \| goal \|\n(?:\|.*\n)+", DEVELOPERS, re.MULTILINE)
FIGURE = re.compile(r"\b\d+\.\d+\b|\b\d[\d,]* (?:s|ms|MiB|MB)\b")


def test_what_was_measured_stands_once() -> None:
    """Each case has one row and one result, and no paragraph beside the table gives a benchmark's figures again."""
    assert MEASURED is not None
    rows = [[cell.strip() for cell in row.strip("|").split("|")] for row in MEASURED[0].strip().split("\n")[2:]]
    assert len(rows) > 8
    cases = [re.sub(r"\(.*?\)", "", case) for case, _, _ in rows]
    assert len({*cases}) == len(cases)
    assert [result for _, result, goal in rows if not FIGURE.search(result) or not FIGURE.search(goal)] == []
    beside = re.split(r"\n\n|\n- ", DEVELOPERS.replace(MEASURED[0], ""))
    benches = [part for part in beside if "tests.bench." in part or "tests/bench/" in part]
    assert benches
    assert [part for part in benches if FIGURE.search(re.sub(r"`[^`]*`", "", part))] == []


def test_every_benchmark_is_told_of() -> None:
    """What can be measured is named where a reader looks: DEVELOPERS.md, the study of formats, or its own code."""
    told = DEVELOPERS + STUDY.read_text(encoding="utf-8") + (PACKAGE / "frozen.py").read_text(encoding="utf-8")
    benches = [path.stem for path in sorted((TOP / "tests" / "bench").glob("bench_*.py"))]
    assert len(benches) > 4
    assert [bench for bench in benches if f"tests.bench.{bench}" not in told] == []
