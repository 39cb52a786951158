"""On which page what stands: what is decided once, so that all pages agree on it.

A page that would grow with the log is split, see `periods`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import cast

from buildlog.compute.figures import Figures
from buildlog.compute.systems import SystemFigures, group_by_system
from buildlog.read.records import Entry
from buildlog.render.pages.periods import (
    ENTRY_WEIGHT,
    MOST_ROWS,
    TIMELINE_ENTRIES,
    WHOLE_COSTS,
    WHOLE_TIMELINE,
    name_fault_periods,
    name_part_periods,
    name_periods,
    place_parts,
    weigh_entry,
    weigh_lines,
)
from buildlog.render.pieces import Prices


# Not `@frozen` like other values: that gives slots, and a cached property needs somewhere to be kept.
@dataclass(frozen=True, kw_only=True)
class Whereabouts:
    """The pages of what a log has."""

    figures: Figures
    "every figure of the log as of the site's day"

    @property
    def prices(self) -> Prices:
        return cast(Prices, self.figures.log.settings.public.prices)

    @cached_property
    def entries(self) -> Mapping[str, Entry]:
        """The entries that are on this site, by name and in order."""
        return {entry.name: entry for entry in self.figures.entries}

    @cached_property
    def cost_periods(self) -> Mapping[str, str]:
        """The period whose page has a month's lines; empty where the page of costs has them all, or none is shown."""
        months = {month.month: month.lines for month in self.figures.costs.months}
        if self.prices != "shown" or sum(map(len, months.values())) <= WHOLE_COSTS:
            return {}
        return name_periods({month: weigh_lines(lines) for month, lines in months.items()}, MOST_ROWS)

    @cached_property
    def part_periods(self) -> Mapping[str, str]:
        """The period whose page has the parts of a month; empty where one page has all parts."""
        return name_part_periods(self.figures.parts.parts)

    @cached_property
    def part_pages(self) -> Mapping[str, str]:
        """The page of each part by its key; empty where one page has them all."""
        return place_parts(self.figures.parts.parts)

    @cached_property
    def fault_periods(self) -> Mapping[str, str]:
        """The period whose page has the faults that came up in a month; empty where one page has all faults."""
        return name_fault_periods(self.figures.faults.faults)

    @cached_property
    def fault_pages(self) -> Mapping[str, str]:
        """The page of each fault by its key; empty where one page has them all."""
        periods = self.fault_periods
        faults = self.figures.faults.faults if periods else ()
        return {fault.key: f"faults/{periods[fault.opened.isoformat()[:7]]}.html" for fault in faults}

    @cached_property
    def systems(self) -> Mapping[str | None, SystemFigures]:
        """What belongs to each system that has a page."""
        found = group_by_system(self.figures)
        # In a short log that names no system that page would be the whole log once more.
        return found if len(found) > 1 or self.part_pages else {key: system for key, system in found.items() if key}

    def system_href(self, key: str | None) -> str:
        """The page of a system."""
        # No system can be called `none-`.
        return f"systems/{key or 'none-'}.html"

    @cached_property
    def timeline_periods(self) -> Mapping[str, str]:
        """The period whose page has a month's entries; empty where the timeline has them all."""
        weights: Counter[str] = Counter()
        for entry in self.entries.values():
            weights[entry.date.isoformat()[:7]] += weigh_entry(entry)
        if weights.total() <= WHOLE_TIMELINE * ENTRY_WEIGHT:
            return {}
        return name_periods(weights, TIMELINE_ENTRIES * ENTRY_WEIGHT)

    def month_href(self, month: str) -> str:
        """Where a month's entries are told."""
        period = self.timeline_periods.get(month)
        return f"timeline/{period}.html#m-{month}" if period else f"timeline.html#m-{month}"


def list_old_names(entries: Iterable[Entry]) -> dict[str, Entry]:
    """The entry that each name leads on to which one had before it was renamed."""
    return {name: entry for entry in entries for name in entry.was}


def entry_href(name: str) -> str:
    """An entry's page, from the top of the site."""
    return f"entries/{name}.html"


def page_href(name: str) -> str:
    """A standing page, from the top of the site."""
    return f"pages/{name}.html"


def anchor(key: str) -> str:
    """A part's anchor on the page of parts."""
    return f"part-{key}"
