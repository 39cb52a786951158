"""Every computed figure of a log in one file, `figures.json`, so that it can be computed again and compared.

Nothing is computed here. Which keys each group of questions has is told in `figures_file`, how two files are compared
in `figures_compared`.
"""

from __future__ import annotations

from typing import Any

from buildlog.compute.figures import Figures
from buildlog.handover.figures_compared import FORMAT
from buildlog.handover.figures_file.apart import write_reach, write_strip_downs, write_temporary
from buildlog.handover.figures_file.costs import write_cost_line, write_costs, write_rework
from buildlog.handover.figures_file.evidence import write_evidence
from buildlog.handover.figures_file.faults import write_faults, write_look
from buildlog.handover.figures_file.identity import write_identity
from buildlog.handover.figures_file.measures import write_measures, write_tightening
from buildlog.handover.figures_file.meter import write_meter
from buildlog.handover.figures_file.parts import write_in_the_post, write_parts, write_system_fittings
from buildlog.handover.figures_file.service import write_due, write_service
from buildlog.handover.figures_file.spelling import Json, spell
from buildlog.record.canonical import write_canonical


def write_figures(figures: Figures) -> bytes:
    """The file `figures.json`: canonical JSON (RFC 8785), ended by one LF."""
    return write_canonical(list_figures(figures)) + b"\n"


def list_figures(figures: Figures) -> dict[str, Any]:
    """The figures as texts, integers, lists and objects."""
    costs = figures.costs
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
        "twice": write_rework(figures.rework),
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
        "looks": {key: write_look(look) for key, look in figures.next_checks.items()},
        "strip_downs": write_strip_downs(figures.strip_downs),
        "to_do": [*map(write_reach, figures.to_do)],
        "evidence": write_evidence(figures.evidence),
    }
