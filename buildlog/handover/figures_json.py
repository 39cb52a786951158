"""Every computed figure of a log in one file, `figures.json`, so that it can be computed again and compared.

Nothing is computed here. Which keys each group of questions has is told in `figures_file`. Two files of figures are
compared whole, question by question, or, where one is of an earlier format, in what both formats have: what rules have
changed since speaks against nobody, is told, and left open.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from typing import Any

from buildlog.compute.figures import Figures
from buildlog.frozen import frozen
from buildlog.handover.bag import PAYLOAD
from buildlog.handover.figures_file import Json, spell
from buildlog.handover.figures_file.costs import (
    write_cost_line,
    write_costs,
    write_deadline,
    write_failure,
    write_rework,
    write_shelf,
)
from buildlog.handover.figures_file.machine import (
    write_due,
    write_identity,
    write_measures,
    write_meter,
    write_service,
    write_tightening,
)
from buildlog.handover.figures_file.work import (
    write_check_order,
    write_evidence,
    write_faults,
    write_in_the_post,
    write_parts,
    write_plans,
    write_reach,
    write_strip_downs,
    write_system_fittings,
    write_temporary,
)
from buildlog.handover.findings import Finding, Flaw, judge, leave_open
from buildlog.handover.handed_log import name_maker
from buildlog.handover.hashed_bag import HashedBag
from buildlog.handover.manifest import FIGURES
from buildlog.handover.unpack import Refused, tame
from buildlog.record.hashing import NotCanonical, read_canonical, write_canonical
from buildlog.record.rules import LARGEST_FIGURES

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
    3: (
        "costs.landed_lines.landed.rounding",
        *("deadlines", "failures", "shelf"),
        *(f"costs.purchases.{key}" for key in "arrivals.came payments credited left shares".split()),
        *(f"costs.purchases.landed.taxes.{key}" for key in ("category", "reason")),
        *(f"identity.{of}.severity" for of in ("notes", "vin.findings", "hin.findings")),
        *(f"costs.{key}" for key in "wanted wanted_items forecast forecast_by_system".split()),
        *(f"costs.{key}.wanted" for key in ("budget", "budget_total")),
        "plans",
        *(f"measures.series.trends.{key}" for key in "slope slope_times limit reached".split()),
    ),
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
        "deadlines": [*map(write_deadline, figures.deadlines)],
        "failures": [*map(write_failure, figures.failures)],
        "shelf": write_shelf(figures.shelf),
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
        "plans": write_plans(figures.plans),
        "evidence": write_evidence(figures.evidence),
    }


FILE = PAYLOAD + FIGURES
GROUPS = {"service": ("service", "due"), "meter": ("meter",), "identity": ("identity",), "evidence": ("evidence",)}
"Which figures answer a question; all others are for `totals`."
SYNTAX = ("yaml", "not-utf-8")
"How the rules begin by which a file is no text or no YAML: no version's rules ever made it one."


@frozen
class Compared:
    """How the figures that came stand to those computed here."""

    format: int = FORMAT
    "of the file that came"
    flaw: Flaw | None = None
    "why it cannot be read"
    differences: Mapping[str, str] = field(default_factory=dict)
    "for each question on which they differ, the first difference"

    def excuses(self, flaw: Flaw) -> bool:
        """Whether a log that breaks this rule may have kept the rules of its own time."""
        return self.format < FORMAT and not flaw.rule.startswith(SYNTAX)

    def object_to(self, key: str, flaws: Sequence[Flaw]) -> Finding | None:
        """What speaks against the figures of a question; `flaws` are those that were found in the log itself."""
        told = self.differences.get(key)
        # Not "fails": this program is the older one, and cannot know what was meant.
        if self.format > FORMAT:
            return leave_open(
                key, f"`{FILE}` is in format {self.format}, but this tool only knows formats up to {FORMAT}"
            )
        if self.format < FORMAT and all(map(self.excuses, flaws)):
            said = str(flaws[0]) if flaws else told
            return leave_open(key, self.explain(said)) if said else None
        more = [self.flaw] if self.flaw else []
        more += [Flaw(rule="figures-differ", message=tame(told), file=FILE)] if told else []
        return judge(key, [*flaws, *more], "") if flaws or more else None

    def explain(self, said: str) -> str:
        """Why a question is left open that today's rules would answer otherwise."""
        return (
            f"the figures are in format {self.format}, which had other rules; by those of format {FORMAT}, {tame(said)}"
        )


def compare_figures(bag: HashedBag, figures: Figures, *, made_by: str) -> Compared:
    """For each question, whether the figures that came, from the program that made the bag, are those computed here."""
    try:
        data = bag.read(FILE, LARGEST_FIGURES)
        # The common case, in one step; the rest only finds out in what the two differ.
        if data == write_figures(figures):
            return Compared()
        written = read_canonical(data.removesuffix(b"\n"))
    except KeyError:
        return Compared(flaw=Flaw(rule="missing", message="it is missing", file=FILE))
    except (Refused, NotCanonical) as why:
        return Compared(flaw=Flaw(rule="figures-unreadable", message=f"it cannot be read: {why}", file=FILE))
    format = written.get("format") if isinstance(written, dict) else None
    # By the type, as `true` is 1 to Python.
    if type(format) is not int or format < 1:
        return Compared(flaw=Flaw(rule="figures-unreadable", message="these are not figures", file=FILE))
    # Else a bag could say that it is of an old format, and each figure that was changed would be excused as one of
    # other rules.
    if format != FORMAT and made_by == name_maker():
        message = f"it is in format {format}, which the program that made this bag does not write"
        return Compared(flaw=Flaw(rule="format-wrong", message=message, file=FILE))
    if format > FORMAT:
        return Compared(format=format)
    left, right = (drop_changed(file, format) for file in (rename_changed(written, format), list_figures(figures)))
    grouped = {name for names in GROUPS.values() for name in names}
    # With the keys that the file alone has: what nobody computes must not stand in it unseen.
    rest = tuple(name for name in {**right, **left} if name not in grouped)
    found = {key: _compare_some(left, right, GROUPS.get(key, rest)) for key in ("totals", *GROUPS)}
    return Compared(format=format, differences={key: told for key, told in found.items() if told})


def _compare_some(written: Mapping[str, Any], computed: Mapping[str, Any], names: tuple[str, ...]) -> str:
    left = {name: written[name] for name in names if name in written}
    right = {name: computed[name] for name in names if name in computed}
    return find_difference(left, right)
