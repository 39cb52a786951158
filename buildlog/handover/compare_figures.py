"""Whether the figures that came with a bag are those that its entries make, question by question.

The bag may be older than this program. What rules have changed since speaks against nobody: it is told, and left open.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Any

from buildlog.compute.figures import Figures
from buildlog.frozen import frozen
from buildlog.handover.bag import PAYLOAD
from buildlog.handover.figures_json import (
    FORMAT,
    drop_changed,
    find_difference,
    list_figures,
    rename_changed,
    write_figures,
)
from buildlog.handover.findings import Finding, Flaw, judge, leave_open
from buildlog.handover.handed_log import name_maker
from buildlog.handover.hashed_bag import HashedBag
from buildlog.handover.manifest import FIGURES
from buildlog.handover.unpack import Refused, tame
from buildlog.record.canonical import NotCanonical, read_canonical
from buildlog.record.limits import LARGEST_FIGURES

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
    # With the keys that the file alone has: what nobody computes shall not stand in it unseen.
    rest = tuple(name for name in {**right, **left} if name not in grouped)
    found = {key: _compare_some(left, right, GROUPS.get(key, rest)) for key in ("totals", *GROUPS)}
    return Compared(format=format, differences={key: told for key, told in found.items() if told})


def _compare_some(written: Mapping[str, Any], computed: Mapping[str, Any], names: tuple[str, ...]) -> str:
    left = {name: written[name] for name in names if name in written}
    right = {name: computed[name] for name in names if name in computed}
    return find_difference(left, right)
