"""Whether the code keeps to its own house rules: one direction, small modules, a pure middle.

The rules are read off the source itself, imports inside functions and for type checking included.
"""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent
PACKAGE = TOP / "buildlog"

MOST_MODULE_LINES = 400
MOST_FUNCTION_LINES = 60
MOST_PARAMETERS = 6

# Modules that every folder may import: what a value and what a problem is, how numbers are added, rounded and said.
BASICS = tuple(f"buildlog.{name}" for name in "arithmetic frozen paths problems spans text".split())
# What a folder may import of the package; a name ending in `.` stands for everything below it.
MAY_IMPORT = {
    "buildlog.read.": (*BASICS, "buildlog.read."),
    "buildlog.compute.": (*BASICS, "buildlog.read.records", "buildlog.compute."),
    "buildlog.record.": (*BASICS, "buildlog.record."),
}
COMMANDS = ("buildlog.cli", "buildlog.commands.")
# What a folder never imports of the package.
NEVER_IMPORTS = {
    "buildlog.photos.": ("buildlog.compute.", "buildlog.render.", *COMMANDS, "buildlog.stages", "buildlog.handover."),
    "buildlog.render.": (*COMMANDS, "buildlog.stages", "buildlog.handover."),
    "buildlog.output.": (*COMMANDS, "buildlog.stages", "buildlog.handover.", "buildlog.render.", "buildlog.compute."),
    "buildlog.record.": ("buildlog.handover.",),
    "buildlog.handover.": COMMANDS,
    "buildlog.answers.": COMMANDS,
    "buildlog.preview.": (*COMMANDS, "buildlog.handover."),
    # what is brought in stands before reading: of what follows it knows how an entry is read and what orders come to
    "buildlog.bring.": (
        *(*COMMANDS, "buildlog.stages", "buildlog.handover.", "buildlog.render.", "buildlog.output."),
        *("buildlog.record.", "buildlog.preview.", "buildlog.answers."),
    ),
    "buildlog.kept.": (*COMMANDS, "buildlog.handover.", "buildlog.preview."),
}
# What decides whether a record holds: over bytes in memory, so that every reader of a record can ask it.
# The wording and the names that it shares with everything else are as pure, and held to it here.
RECORD_CORE = frozenset(
    ["buildlog.paths", "buildlog.text"]
    + [f"buildlog.record.{name}" for name in "hashing rules seal_check seals".split()]
)
# Standard modules by which a file, the clock, the locale, chance or HTML would reach the figures.
IMPURE = frozenset(
    "os io pathlib shutil tempfile glob time locale gettext random secrets uuid html xml socket urllib http subprocess "
    "threading multiprocessing sqlite3 logging sys".split()
)
IMPURE_CALLS = frozenset({"open", "print", "input", "today", "now", "utcnow", "getenv"})
# Calls that round by themselves: half to even, or as the context of the moment says.
ROUNDING_CALLS = frozenset({"round", "quantize", "to_integral", "to_integral_exact"})

# Import names that differ from the name of the distribution that brings them.
DISTRIBUTIONS = {
    "fontTools": "fonttools",
    "font_source_sans_pro": "font-source-sans-pro",
    "font_source_serif_pro": "font-source-serif-pro",
    "PIL": "pillow",
    "axe_playwright_python": "axe-playwright-python",
    "currency_converter": "currencyconverter",
    "dateutil": "python-dateutil",
    "markdown_it": "markdown-it-py",
    "pillow_heif": "pillow-heif",
    "python_calamine": "python-calamine",
    "rfc3161_client": "rfc3161-client",
    "skimage": "scikit-image",
    "yaml": "pyyaml",
}


# Calls that make a field and say in an argument what it means: the guide and the schemas show the same sentence.
SAYING_CALLS = frozenset({"required", "optional", "list_of", "map_of"})


def name_module(path: Path) -> str:
    """The dotted name of a module file of the package."""
    parts = path.relative_to(TOP).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {name_module(path): path for path in sorted(PACKAGE.rglob("*.py"))}


@cache
def parse(module: str) -> ast.Module:
    return ast.parse(MODULES[module].read_text(encoding="utf-8"))


def resolve(module: str, node: ast.ImportFrom) -> str:
    """The absolute name behind `from`, with leading dots counted from the module's own package."""
    if not node.level:
        return node.module or ""
    package = module.split(".") if MODULES[module].name == "__init__.py" else module.split(".")[:-1]
    base = package[: len(package) - node.level + 1]
    return ".".join([*base, *([node.module] if node.module else [])])


@cache
def list_imports(module: str) -> tuple[str, ...]:
    """The modules that one module imports; `from package import name` is the submodule where there is one."""
    found = []
    for node in ast.walk(parse(module)):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = resolve(module, node)
            whole = [f"{base}.{alias.name}" for alias in node.names]
            found += [name if name in MODULES else base for name in whole]
    return tuple(dict.fromkeys(found))


def is_below(module: str, rule: str) -> bool:
    """Whether a rule (`buildlog.cli`, or `buildlog.render.` for a whole folder) speaks of a module."""
    return module == rule or (rule.endswith(".") and f"{module}.".startswith(rule))


def list_modules(folder: str) -> list[str]:
    return [module for module in MODULES if is_below(module, folder)]


def own_imports(module: str) -> list[str]:
    return [name for name in list_imports(module) if name.split(".")[0] == "buildlog"]


def list_functions(module: str) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (node for node in ast.walk(parse(module)) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))


def count_parameters(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    names = [arg.arg for arg in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)]
    return len([name for name in names if name not in ("self", "cls")])


def is_command(node: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Whether options on the command line, each decorated, are the parameters."""
    return any("command" in ast.unparse(mark) for mark in node.decorator_list)


def name_roots(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    return [node.module or ""] if isinstance(node, ast.ImportFrom) and not node.level else []


def test_the_graph_was_read() -> None:
    """The import graph holds the package: a test over an empty graph would prove nothing."""
    assert "buildlog.read.records" in MODULES
    assert "buildlog.problems" in list_imports("buildlog.read.reader")
    assert len(MODULES) > 15


@pytest.mark.parametrize("folder", MAY_IMPORT)
def test_a_folder_imports_only_what_stands_before_it(folder: str) -> None:
    """`source` knows nothing but problems; `compute` the records and problems; `record` those and the figures."""
    wrong = [
        f"{module} imports {name}"
        for module in list_modules(folder)
        for name in own_imports(module)
        if not any(is_below(name, rule) for rule in MAY_IMPORT[folder])
    ]
    assert wrong == []


@pytest.mark.parametrize("folder", NEVER_IMPORTS)
def test_a_folder_never_looks_back_up_the_stream(folder: str) -> None:
    """Photos know no figures and no pages; nothing but the commands knows the stages."""
    wrong = [
        f"{module} imports {name}"
        for module in list_modules(folder)
        for name in own_imports(module)
        if any(is_below(name, rule) for rule in NEVER_IMPORTS[folder])
    ]
    assert wrong == []


def test_site_never_parses() -> None:
    """`site` takes records as types and never a reader: of `source` it imports `records` alone, and no YAML."""
    wrong = [
        f"{module} imports {name}"
        for module in list_modules("buildlog.render.")
        for name in list_imports(module)
        if name == "yaml" or (is_below(name, "buildlog.read.") and name != "buildlog.read.records")
    ]
    # a theme's own settings are no part of a log, and the theme loader is their reader
    assert [line for line in wrong if line != "buildlog.render.theme imports yaml"] == []


def test_site_knows_the_record_as_values_alone() -> None:
    """What pages say of seals comes in finished: of `record`, `site` imports the module of those values alone."""
    wrong = [
        f"{module} imports {name}"
        for module in list_modules("buildlog.render.")
        for name in list_imports(module)
        if is_below(name, "buildlog.record.") and name != "buildlog.record.published"
    ]
    assert wrong == []
    beside = {"__future__", "collections.abc", "dataclasses", "datetime", "typing", *BASICS}
    assert set(list_imports("buildlog.record.published")) <= beside


def test_compute_is_pure() -> None:
    """Figures come from records and the standard library, without file, clock, locale, chance or HTML."""
    wrong = []
    for module in list_modules("buildlog.compute."):
        for name in list_imports(module):
            root = name.split(".")[0]
            if root != "buildlog" and (root not in sys.stdlib_module_names or root in IMPURE):
                wrong.append(f"{module} imports {name}")
        for node in ast.walk(parse(module)):
            if isinstance(node, ast.Call):
                called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                if called in IMPURE_CALLS:
                    wrong.append(f"{module}:{node.lineno} calls {called}")
    assert wrong == []


def test_one_module_rounds() -> None:
    """`buildlog.arithmetic` alone rounds; and what rounds to a currency's minor unit is one function of one module."""
    rounding, by_currency = set(), []
    for module in MODULES:
        called = {
            node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            for node in ast.walk(parse(module))
            if isinstance(node, ast.Call)
        }
        rounding |= {module} if called & ROUNDING_CALLS else set()
        if {"round_half_up", "minor_digits"} <= called:
            texts = {node.name: ast.unparse(node) for node in list_functions(module)}
            by_currency += [f"{module}.{name}" for name, text in texts.items() if "round_half_up(" in text]
    assert rounding == {"buildlog.arithmetic"}
    assert by_currency == ["buildlog.compute.quantities.money.round_to_minor_unit"]


def test_no_value_has_a_field_for_what_can_be_changed() -> None:
    """A field of a `@frozen` class is annotated with a tuple, a frozenset or a `Mapping`."""
    wrong, seen = [], 0
    for module in MODULES:
        for node in ast.walk(parse(module)):
            if isinstance(node, ast.ClassDef) and "frozen" in map(ast.unparse, node.decorator_list):
                for each in (one for one in node.body if isinstance(one, ast.AnnAssign)):
                    seen += 1
                    names = {one.id for one in ast.walk(each.annotation) if isinstance(one, ast.Name)}
                    if names & {"list", "dict", "set", "Sequence", "Set", "Collection", "MutableMapping"}:
                        wrong.append(f"{module}:{each.lineno}")
                    text = ast.unparse(each.annotation).removesuffix(" | None")
                    if "Mapping" in names and not (text.startswith(("Mapping[", "ClassVar[")) and text.endswith("]")):
                        wrong.append(f"{module}:{each.lineno} hides a mapping in {text}")
    assert seen > 1000
    assert wrong == []


def list_values(module: str) -> Iterator[ast.ClassDef]:
    """The classes of a module that are values: frozen ones, dataclasses and named tuples."""
    for node in ast.walk(parse(module)):
        if isinstance(node, ast.ClassDef):
            marks = {ast.unparse(mark).split("(")[0] for mark in (*node.decorator_list, *node.bases)}
            if marks & {"frozen", "dataclass", "NamedTuple"}:
                yield node


def test_every_field_says_what_it_means() -> None:
    """A string under each field, or the sentence in the call that makes it: meaning, unit, shape, when it is None."""
    fields_seen, silent = 0, dict[str, list[str]]()
    for module in MODULES:
        for value in list_values(module):
            for one, under in zip(value.body, [*value.body[1:], None], strict=True):
                if isinstance(one, ast.AnnAssign) and not ast.unparse(one.annotation).startswith("ClassVar"):
                    fields_seen += 1
                    made = one.value.func if isinstance(one.value, ast.Call) else None
                    words = under.value if isinstance(under, ast.Expr) else None
                    said = isinstance(words, ast.Constant) and isinstance(words.value, str) and len(words.value) > 1
                    if not said and getattr(made, "id", "") not in SAYING_CALLS:
                        silent.setdefault(module, []).append(f"{value.name}.{ast.unparse(one.target)}")
    assert fields_seen > 1500
    assert silent == {}


def test_record_never_parses() -> None:
    """What seals and hands over a log takes its files as bytes: no reader of YAML is near."""
    assert [module for module in list_modules("buildlog.record.") if "yaml" in list_imports(module)] == []


def test_the_core_of_the_record_is_pure() -> None:
    """Whether seals hold is asked of bytes: the core imports itself and the standard library, and touches no file."""
    assert set(MODULES) >= RECORD_CORE
    wrong = []
    for module in RECORD_CORE:
        for name in list_imports(module):
            root = name.split(".")[0]
            if name not in RECORD_CORE and (root not in sys.stdlib_module_names or root in IMPURE):
                wrong.append(f"{module} imports {name}")
        for node in ast.walk(parse(module)):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in IMPURE_CALLS:
                wrong.append(f"{module}:{node.lineno} calls {ast.unparse(node.func)}")
    assert wrong == []


def test_imports_run_in_no_circle() -> None:
    """The import graph can be put in an order, imports inside functions and for types included."""
    graph = {module: set(own_imports(module)) - {module} for module in MODULES}
    try:
        order = list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        pytest.fail(" → ".join(error.args[1]))
    assert order.index("buildlog.read.records") < order.index("buildlog.read.reader")


def test_folders_stand_in_one_order() -> None:
    """No two folders of the package import each other, whichever modules do; a module beside them counts as one."""

    def folder(module: str) -> str:
        return ".".join(module.split(".")[:2])

    graph: dict[str, set[str]] = {}
    for module in MODULES:
        others = {folder(name) for name in own_imports(module) if name != "buildlog"}
        graph.setdefault(folder(module), set()).update(others - {folder(module)})
    assert len(graph) > 15
    try:
        order = list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        pytest.fail(" → ".join(error.args[1]))
    stages = [f"buildlog.{name}" for name in ("read", "compute", "render", "commands")]
    assert sorted(stages, key=order.index) == stages


def test_the_questions_of_compute_are_asked_in_one_order() -> None:
    """No two folders of `compute` import each other, whichever modules do; a module beside them counts as one."""

    def question(module: str) -> str:
        return module.removeprefix("buildlog.compute.").split(".")[0]

    graph: dict[str, set[str]] = {}
    for module in list_modules("buildlog.compute."):
        others = {question(name) for name in own_imports(module) if is_below(name, "buildlog.compute.")}
        graph.setdefault(question(module), set()).update(others - {question(module)})
    assert len(graph) > 8
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        pytest.fail(" → ".join(error.args[1]))


def test_every_module_is_used() -> None:
    """What no other module of the package imports is run by name: the program itself, and the process apart."""
    used = {name for module in MODULES for name in list_imports(module)}
    alone = [name for name, path in MODULES.items() if name not in used and path.name != "__init__.py"]
    assert alone == ["buildlog.__main__"]


@pytest.mark.parametrize("module", MODULES)
def test_a_module_says_its_question_first_and_stays_small(module: str) -> None:
    """A module opens with a docstring of one full line, and has at most 400 lines."""
    doc = ast.get_docstring(parse(module))
    assert doc, f"{module} does not say which question it answers"
    assert len(doc.splitlines()[0]) > 20, doc.splitlines()[0]
    assert doc.splitlines()[0][-1] in ".:;?", "the first line is a whole sentence"
    assert len(MODULES[module].read_text(encoding="utf-8").splitlines()) <= MOST_MODULE_LINES


@pytest.mark.parametrize("module", MODULES)
def test_functions_stay_small(module: str) -> None:
    """A function has at most 60 lines and six parameters; a command has one parameter for each of its options."""
    wrong = []
    for node in list_functions(module):
        lines = (node.end_lineno or node.lineno) - node.lineno + 1
        if lines > MOST_FUNCTION_LINES:
            wrong.append(f"{node.name} (line {node.lineno}) has {lines} lines")
        if count_parameters(node) > MOST_PARAMETERS and not is_command(node):
            wrong.append(f"{node.name} (line {node.lineno}) has {count_parameters(node)} parameters")
    assert wrong == []


def test_dependencies_are_declared_and_used() -> None:
    """What the package imports and what `pyproject.toml` asks for are one list; `need` imports what is optional."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lines = [*project["dependencies"], *project["optional-dependencies"]["bring"]]
    declared = {re.split(r"[^\w.-]", line)[0].lower() for line in lines}
    roots = {name.split(".")[0] for module in MODULES for name in list_imports(module)}
    calls = [node for module in MODULES for node in ast.walk(parse(module)) if isinstance(node, ast.Call)]
    roots |= {ast.literal_eval(one.args[0]).split(".")[0] for one in calls if getattr(one.func, "id", "") == "need"}
    foreign = roots - sys.stdlib_module_names - {"buildlog"}
    assert {DISTRIBUTIONS.get(root, root).lower() for root in foreign} == declared


def test_each_dependency_has_its_reason() -> None:
    """Every dependency in `pyproject.toml` stands on a line of its own that ends in the reason for it."""
    text = (TOP / "pyproject.toml").read_text(encoding="utf-8")
    block = text.split("\ndependencies = [\n")[1].split("\n]")[0]
    assert [line for line in block.splitlines() if not re.search(r'",\s+# \w.{15,}$', line)] == []


@pytest.mark.parametrize("group", ["test", "bench"])
def test_tests_need_only_what_is_declared(group: str) -> None:
    """What the tests import is in the package's dependencies or in the group `test`; benchmarks have their own."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lines = [*project["dependencies"], *project["optional-dependencies"][group]]
    declared = {re.split(r"[^\w.-]", line)[0].lower() for line in lines}
    bench = TOP / "tests" / "bench"
    paths = [path for path in (TOP / "tests").rglob("*.py") if path.is_relative_to(bench) == (group == "bench")]
    roots = {
        name.split(".")[0]
        for path in paths
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        for name in name_roots(node)
    }
    beside = {path.stem for path in bench.glob("*.py")}
    foreign = roots - sys.stdlib_module_names - beside - {"buildlog", "tests"}
    assert paths
    assert {DISTRIBUTIONS.get(root, root).lower() for root in foreign} - declared == set()


def test_every_test_can_fail() -> None:
    """No test ends before its last line, and none compares a name with itself; a call may be compared with another."""
    wrong = []
    for path in sorted((TOP / "tests").rglob("test_*.py")):
        place = path.relative_to(TOP)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                own = [inner for inner in walk_without_functions(node) if isinstance(inner, ast.Return)]
                wrong += [f"{place}:{inner.lineno} returns early" for inner in own]
            elif isinstance(node, ast.Compare):
                sides = [ast.unparse(side) for side in (node.left, *node.comparators) if not isinstance(side, ast.Call)]
                if len({*sides}) < len(sides) and len(node.ops) == 1:
                    wrong.append(f"{place}:{node.lineno} compares {sides[0]} with itself")
    assert wrong == []


def walk_without_functions(node: ast.AST) -> Iterator[ast.AST]:
    """What stands in a function, but not in functions inside it."""
    for inner in ast.iter_child_nodes(node):
        if not isinstance(inner, ast.FunctionDef | ast.Lambda):
            yield inner
            yield from walk_without_functions(inner)
