"""Where a page that would grow with the log is split, and on which page what stands, so that all pages agree on it.

A page stays whole as long as it can be read in one go, and what is split is split by the calendar: the periods that
are over keep their pages and their addresses while the log grows.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar, cast

from buildlog.compute.costs.lines import CostLine
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.figures import Figures
from buildlog.compute.parts.part_history import PartFigures
from buildlog.compute.systems import SystemFigures, group_by_system
from buildlog.read.records import Entry
from buildlog.render.pieces import Prices

Time = TypeVar("Time")

# No page shall be over 150 kB of HTML, which opens within seconds on a slow connection, and of this much it is:
MOST_ROWS = 1150
"Rows of money on one page of a period, of some 120 bytes each; see `weigh_lines`."
WHOLE_COSTS = 100
"Lines of money up to which the page of costs holds them all: it has each up to five times."
WHOLE_TIMELINE = 110
"Entries up to which the timeline has them all, and its lists by system."
TIMELINE_ENTRIES = 125
"Entries without a photo on one page of a period of the timeline, of some 1,150 bytes each."
ENTRY_WEIGHT, PICTURED_WEIGHT = 5, 8
"How much of that room an entry takes, without a photo and with one, which is some 600 bytes more."
WHOLE_SYSTEM = 320
"Rows up to which the page of a system has all of them, see `name_system_periods`: some 250 bytes each."
SYSTEM_ROWS = 400
"Rows on the page of one of its periods."
SYSTEM_LATEST = 30
"Of open faults, temporary repairs and the post how many each its page keeps where it has not everything."
WHOLE_READINGS = 250
"Readings up to which the service history has them all: of some 390 bytes each, on a page that is to be printed."
MOST_ENDS = 100
"Month ends among the readings that are kept there; of more the quarter ends are."
READINGS = 350
"Readings on one page of a period."
WHOLE_SERIES = 40
"Times that one thing was measured, or done, up to which the service history has them all: each is a column, or a row."
TIMES = 200
"Times on one page of a period, of some 400 bytes each."
LATEST_TIMES = 12
"Of the latest times how many the service history keeps where it has not all, and of those out of limits."
WHOLE_FAULTS = 450
"Rows of faults up to which the page of faults has all of them, see `weigh_fault`: some 250 bytes each."
FAULT_ROWS = 500
"Rows of faults on one page of a period."
OPEN_FAULTS = 150
"Open faults that the page of faults lists where their stories are on other pages, of some 500 bytes each."
MOST_OPEN = 300
"Open faults, and temporary repairs, that the service history lists: it is to be printed, and may weigh 500 kB."
WHOLE_LIFE = 80
"Things that happened to one part up to which its life stands whole."
LIFE_LATEST = 30
"How many of a longer life stand with the part, the latest; all of it is on pages of its own."
LIFE_ROWS = 350
"How many stand on one page of a period of its life."
WHOLE_LIST = 100
"Of rework, gifts, cores, temporary repairs and the post how many each stand whole where they belong."
LIST_FEW = 40
"How many stay there of a longer list."
LIST_ROWS = 300
"How many stand on one page of a period, of some 400 bytes each."
WHOLE_PARTS = 400
"Rows of parts up to which the page of parts has all of them and its indexes, see `weigh_part`."
PART_ROWS = 500
"Rows of parts on one page of a period, of some 250 bytes each."
MONTH_PARTS = 80
"Parts on one page of a month that has too many rows for one."
MOST_MOVED = PART_ROWS // 3
"Parts that may ever have stood on a page together: each takes three rows at least."
WHOLE_PICTURES = 120
"Photos up to which the page of photos shows them all."
PICTURES_ON_PAGE = 180
"Photos on one page of a period or a system, of some 650 bytes each; of a month with more, each entry shows some."
STANDING_PICTURES = 48
"Photos of standing pages on the page of photos, shared among them: each page has all of its own."
LATEST_PAIRS = 12
"Pairs of before and after on one page of photos, of some 2,000 bytes each: the entries have the others."
INDEX_ROWS = 800
"Parts on one page of an index, of some 150 bytes each."


def name_part_periods(parts: Iterable[PartFigures]) -> dict[str, str]:
    """The period whose page has the parts that came, or first did anything, in each month; empty: one has them all."""
    rows: Counter[str] = Counter()
    for part in parts:
        rows[month_of(part)] += weigh_part(part)
    if rows.total() <= WHOLE_PARTS:
        return {}
    return name_periods({month: rows[month] for month in sorted(rows)}, PART_ROWS)


def place_parts(parts: Iterable[PartFigures]) -> dict[str, str]:
    """The page of each part by its key; empty where one has them all.

    It hangs on nothing but the day of the first thing that happened to the part, and on how much there is of that time.
    """
    parts = tuple(parts)
    periods, rows = name_part_periods(parts), Counter[str]()
    pages, told = dict[str, str](), Counter[str]()
    for part in parts if periods else ():
        rows[month_of(part)] += weigh_part(part)
    for part in parts if periods else ():
        month = month_of(part)
        told[month] += 1
        # A month that is too long itself goes on, as many parts a page: the first ones stay where they are.
        page = (told[month] - 1) // MONTH_PARTS + 1 if rows[month] > PART_ROWS else 1
        pages[part.key] = f"parts/{periods[month]}{f'-{page}' if page > 1 else ''}.html"
    return pages


def name_fault_periods(faults: Iterable[FaultFigures]) -> dict[str, str]:
    """The period whose page has the faults that came up in each month; empty where one page has them all."""
    rows = Counter[str]()
    for fault in faults:
        rows[fault.opened.isoformat()[:7]] += weigh_fault(fault)
    if rows.total() <= WHOLE_FAULTS:
        return {}
    return name_periods({month: rows[month] for month in sorted(rows)}, FAULT_ROWS)


def weigh_fault(fault: FaultFigures) -> int:
    """How many rows a fault takes on its page: four, and one for each suspect and each thing that happened."""
    happened = len(fault.checks) + len(fault.fixes) + len(fault.sightings) + len(fault.entries)
    return 4 + len(fault.suspects) + happened


def month_of(part: PartFigures) -> str:
    """The month in which something first happened to a part."""
    return part.life[0].date.isoformat()[:7]


def name_system_periods(system: SystemFigures) -> dict[str, str]:
    """The period whose page has what began in each month; empty where the system's own page has everything."""
    rows = Counter(entry.date.isoformat()[:7] for entry in system.entries)
    # A row of what is fitted is as long as two others.
    for weight, days in (
        (2, (one.since for one in system.fittings)),
        (1, (part.life[0].date for part in system.parts if part.shelf > 0)),
        (1, (fault.opened for fault in system.faults)),
        (1, (one.date for one in system.measured)),
        (1, (one.date for one in system.tightened)),
    ):
        for day in days:
            rows[day.isoformat()[:7]] += weight
    if rows.total() <= WHOLE_SYSTEM:
        return {}
    return name_periods({month: rows[month] for month in sorted(rows)}, SYSTEM_ROWS)


def name_life_periods(part: PartFigures) -> dict[str, str]:
    """The period whose page has what happened to a part in each month; empty where its life stands whole."""
    if len(part.life) <= WHOLE_LIFE:
        return {}
    return name_periods(Counter(sorted(event.date.isoformat()[:7] for event in part.life)), LIFE_ROWS)


def weigh_part(part: PartFigures) -> int:
    """How many rows a part takes on its page: two, and one for each thing that happened to it."""
    return 2 + (len(part.life) if len(part.life) <= WHOLE_LIFE else LIFE_LATEST)


def weigh_lines(lines: Iterable[CostLine]) -> int:
    """How many rows some lines take on a page: one each, and two for their day and entry, which are named once.

    By the way of adding up that tears them apart the most, so that a period is the same for all of them.
    """
    some = tuple(lines)
    heads = (
        {(line.date, line.entry, key) for line, key in zip(some, keys, strict=True)}
        for keys in zip(*((line.system, line.kind, line.supplier) for line in some), strict=True)
    )
    return len(some) + 2 * max(map(len, heads), default=0)


def weigh_entry(entry: Entry) -> int:
    """How much room an entry takes on the timeline."""
    return PICTURED_WEIGHT if entry.photos else ENTRY_WEIGHT


def name_periods(counts: Mapping[str, int], most: int) -> dict[str, str]:
    """For each month its period: the widest of its year, its quarter and itself in which no more than `most` stand.

    Months are given with how much stands in each. A year is `2024`, a quarter `2024-q2`, a month `2024-05`.
    """
    years = _add_up(counts, year_of)
    quarters = _add_up(counts, quarter_of)

    def name(month: str) -> str:
        if years[year_of(month)] <= most:
            return year_of(month)
        # A month is never split further: what happens in it belongs together, and nobody does that much.
        return quarter_of(month) if quarters[quarter_of(month)] <= most else month

    return {month: name(month) for month in counts}


def split_times(times: Sequence[Time], day_of: Callable[[Time], datetime.date]) -> dict[str, list[Time]]:
    """Each time that one thing was done or measured, by period; empty where they are few enough for one page."""
    if len(times) <= WHOLE_SERIES:
        return {}
    months = [day_of(time).isoformat()[:7] for time in times]
    periods = name_periods(Counter(months), TIMES)
    found: dict[str, list[Time]] = {}
    for time, month in zip(times, months, strict=True):
        found.setdefault(periods[month], []).append(time)
    return found


def year_of(month: str) -> str:
    """`2024` of `2024-05`."""
    return month[:4]


def quarter_of(month: str) -> str:
    """`2024-q2` of `2024-05`."""
    return f"{month[:4]}-q{(int(month[5:7]) + 2) // 3}"


def list_wider(period: str) -> tuple[str, ...]:
    """The periods that a period is cut out of: the year of a quarter, and of a month its quarter too."""
    if len(period) == 4:
        return ()
    return (year_of(period),) if "q" in period else (year_of(period), quarter_of(period))


def list_neighbours(periods: Iterable[str]) -> dict[str, tuple[str | None, str | None]]:
    """Each period with the one before and the one after it, in the order given."""
    order = tuple(dict.fromkeys(periods))
    return {now: (before, after) for before, now, after in zip((None, *order), order, (*order[1:], None), strict=False)}


def _add_up(counts: Mapping[str, int], name: Callable[[str], str]) -> dict[str, int]:
    sums: dict[str, int] = {}
    for month, number in counts.items():
        sums[name(month)] = sums.get(name(month), 0) + number
    return sums


# Not `@frozen` like other values: that gives slots, and a cached property needs somewhere to be kept.
@dataclass(frozen=True, kw_only=True)
class Whereabouts:
    """The pages of what a log has."""

    figures: Figures
    "every figure of the log as of the site's day"

    @cached_property
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
