"""What the service history is given of measurements: what was repeated side by side, the rest as a list."""

from __future__ import annotations

from buildlog.frozen import frozen
from buildlog.site.pieces import Link, When


@frozen
class MeasuredTime:
    """One set of values: a column of the table."""

    when: When
    entry: Link
    reading: str = ""
    "of the meter, then"
    spread: str = ""
    "`10.5 %`; empty where no set of the series has a limit for it"
    spread_fails: bool = False
    limits: str = ""
    "`at least 20 bar, spread at most 15 %`"
    verdict: str = ""
    "`within limits`, `outside limits`; empty: no limits stated"
    fails: bool = False
    note: str = ""


@frozen
class MeasuredCell:
    """One value of one place at one time."""

    value: str = ""
    "with its unit where that is not the table's; empty: not measured then"
    also: str = ""
    "the same in the table's unit, where it was read in another"
    outside: str = ""
    "why it is out of limits: `below 24`"


@frozen
class MeasuredRow:
    """One place: a row of the table."""

    where: str
    cells: tuple[MeasuredCell, ...]
    "one for each time"
    change: str = ""
    "from first to last: `+4.7`, `−1`, `no change`; empty where it was measured once"


@frozen
class SeriesView:
    """What was measured of one thing at two or more times."""

    key: str
    "its anchor is `measured-KEY`"
    what: str
    unit: str = ""
    times: tuple[MeasuredTime, ...]
    "oldest first"
    rows: tuple[MeasuredRow, ...]
    has_spread: bool = False
    has_limits: bool = False
    has_reading: bool = False
    has_note: bool = False
    chart: str = ""
    "SVG, already safe; empty where there is nothing to compare"


@frozen
class OnceRow:
    """Something that was measured at one time only."""

    when: When
    entry: Link
    what: str
    values: tuple[str, ...]
    "`front-left 2.2 bar`, `14.6 mm`, `hot 11.9 Ω, above 9`"
    limits: str = ""
    verdict: str = ""
    "empty: no limits stated"
    fails: bool = False
    note: str = ""
