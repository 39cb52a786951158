"""Every computed figure of a log in one file, `figures.json`, so that it can be computed again and compared.

Nothing is computed here. Which keys each group of questions has is told in `figures_file`. Two files of figures are
compared whole, or, where one is of an earlier format, in what both formats have.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from buildlog.compute.figures import Figures
from buildlog.handover.figures_file import Json, spell
from buildlog.handover.figures_file.costs import write_cost_line, write_costs, write_rework
from buildlog.handover.figures_file.machine import (
    write_due,
    write_identity,
    write_measures,
    write_meter,
    write_service,
    write_tightening,
)
from buildlog.handover.figures_file.parts import write_in_the_post, write_parts, write_system_fittings
from buildlog.handover.figures_file.work import (
    write_check_order,
    write_evidence,
    write_faults,
    write_reach,
    write_strip_downs,
    write_temporary,
)
from buildlog.record.canonical import write_canonical

FORMAT = 3
"""Raised whenever the same log gives other figures or is no longer taken, or a key comes, goes or means something else.

Bags of every earlier format are kept in `tests/record/golden`, and still have to hold."""
CHANGED: Mapping[int, tuple[str, ...]] = {
    2: (
        "costs.purchases.landed.lines",
        *(f"due.{key}" for key in "after counted_from distance entry last months place rows system what".split()),
        "due.total_unknown",
        *(f"identity.public_{key}" for key in "vin hin chassis_number engine_number registration".split()),
        *(f"identity.{of}.{key}" for of in ("notes", "vin.findings", "hin.findings") for key in ("message", "help")),
        "measures.series.sets.values.change",
        "measures.series.trends.change",
        "measures.sets.*.values.change",
        "meter.use.reason",
        "parts.as_of",
        *(f"parts.parts.{key}" for key in "unit came_with gone".split()),
        "rework.cost",
        "rework.items.cost",
        "rework.items.units.cost",
        "tightening.tightened.*.equivalents",
        "tightening.tightened.*.recheck",
        "tightening.tightened.*.stages.stated",
        "tightening.tightened.*.stages.unit",
    ),
    3: tuple(f"identity.{of}.severity" for of in ("notes", "vin.findings", "hin.findings")),
}
"""The keys that came, went or got another meaning with each format, as paths from the top, in today's names.

They are not compared with files of earlier formats. What stands in a list is meant without further sign; `*` is any key
of an object whose keys are names or places."""
RENAMED: Mapping[int, Mapping[str, str]] = {3: {"twice": "rework", "looks": "next_checks"}}
"""The keys at the top of the file that have another name since each format, old → new, and mean the same.

They are compared with files of every format: else a figure could hide behind an old name."""


def rename_changed(file: Mapping[str, Any], format: int) -> dict[str, Any]:
    """A file of figures of a format with the names that its keys have today; a name that is taken is given to none."""
    names = {old: new for later, pairs in RENAMED.items() if later > format for old, new in pairs.items()}
    return {key if names.get(key, key) in file else names.get(key, key): value for key, value in file.items()}


def drop_changed(file: Mapping[str, Any], format: int) -> dict[str, Any]:
    """A file of figures without the keys that changed after a format, and without the number of its own."""
    paths = [path.split(".") for later, paths in CHANGED.items() if later > format for path in paths]
    kept = _drop(file, paths)
    return {key: value for key, value in kept.items() if key != "format"}


def _drop(value: Any, paths: Iterable[list[str]]) -> Any:
    """A copy of the value without what the paths lead to."""
    known = [path for path in paths if path]
    if not known:
        return value
    if isinstance(value, list):
        return [_drop(item, known) for item in value]
    if not isinstance(value, dict):
        return value
    kept = {}
    for key, item in value.items():
        leading = [path[1:] for path in known if path[0] in (key, "*")]
        # An empty rest: the path ends here, and what it leads to is left out whole.
        if [] not in leading:
            kept[key] = _drop(item, leading)
    return kept


def find_difference(written: Any, computed: Any, at: str = "") -> str:
    """The first figure in which two files differ, as `costs.spent: 133.10, computed 133.11`; empty where they agree.

    `written` is a stranger's; it is compared value by value, never added up.
    """
    # By the type first: 1 and `true` are equal to Python, and "1" is another figure than 1.
    if type(written) is type(computed):
        if isinstance(computed, dict):
            return _differ_in_keys(written, computed, at)
        if isinstance(computed, list):
            for number, (left, right) in enumerate(zip(written, computed, strict=False)):
                if found := find_difference(left, right, f"{at}[{number}]"):
                    return found
            written, computed = f"{len(written)} values", f"{len(computed)} values"
        if written == computed:
            return ""
    return f"{at}: {_show(written)}, computed {_show(computed)}"


def _differ_in_keys(written: dict[str, Any], computed: dict[str, Any], at: str) -> str:
    for key in (*computed, *(key for key in written if key not in computed)):
        inner = f"{at}.{key}" if at else key
        if key not in written or key not in computed:
            return f"{inner} is {'missing' if key not in written else 'not one of the figures'}"
        if found := find_difference(written[key], computed[key], inner):
            return found
    return ""


def _show(value: Any) -> str:
    if isinstance(value, dict | list):
        return "a list" if isinstance(value, list) else "an object"
    # A stranger's value may be as long as the file.
    return "nothing" if value is None else str(value)[:80]


def write_figures(figures: Figures) -> bytes:
    """The file `figures.json`: canonical JSON (RFC 8785), ended by one LF."""
    return write_canonical(list_figures(figures)) + b"\n"


def list_figures(figures: Figures) -> dict[str, Any]:
    """The figures as texts, integers, lists and objects."""
    costs = figures.costs
    # By themselves and not by their numbers: a line may stand in more than one list, and is written once.
    lines = dict.fromkeys((*costs.lines, *costs.committed_lines, *costs.recovered_lines))
    numbers = {line: number for number, line in enumerate(lines)}
    file: Json = {
        "format": FORMAT,
        "as_of": figures.as_of,
        "entries": figures.entries,
        "lines": [*map(write_cost_line, lines)],
    } | _write_groups(figures)
    return {key: spell(value, numbers) for key, value in file.items()}


def _write_groups(figures: Figures) -> Json:
    return {
        "identity": write_identity(figures.identity),
        "costs": write_costs(figures.costs),
        "rework": write_rework(figures.rework),
        "parts": write_parts(figures.parts),
        "as_fitted": [*map(write_system_fittings, figures.as_fitted)],
        "in_the_post": [*map(write_in_the_post, figures.in_the_post)],
        "temporary": [*map(write_temporary, figures.temporary)],
        "meter": write_meter(figures.meter),
        "service": write_service(figures.service),
        "tightening": write_tightening(figures.tightening),
        "due": [*map(write_due, figures.due)],
        "measures": write_measures(figures.measures),
        "faults": write_faults(figures.faults),
        "next_checks": {key: write_check_order(order) for key, order in figures.next_checks.items()},
        "strip_downs": write_strip_downs(figures.strip_downs),
        "to_do": [*map(write_reach, figures.to_do)],
        "evidence": write_evidence(figures.evidence),
    }
