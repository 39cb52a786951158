"""The kinds of value that are days: one of the calendar, or as much of one as is known."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from buildlog.read.kinds import LONGEST_QUOTE, Kind, Unreadable, show
from buildlog.read.spelling import explain_date, explain_missing_day


@dataclass(frozen=True, slots=True)
class PartialDate:
    """A date known to the day, the month or the year."""

    text: str
    "`1998`, `1998-06` or `1998-06-12`"

    @property
    def earliest(self) -> date:
        if self.exact:
            return date.fromisoformat(self.text)
        # filled up to the first day, so that days known in part can be put in order and compared
        year, month, day = ([int(n) for n in self.text.split("-")] + [1, 1])[:3]
        return date(year, month, day)

    @property
    def exact(self) -> bool:
        return len(self.text) == 10


def read_date(text: str) -> date:
    """A calendar date in the one spelling YYYY-MM-DD (RFC 3339 section 5.6 full-date)."""
    # asked first, as `date.fromisoformat` also takes `20240518` and `2024-W20-6`
    if not DATE_FORM.fullmatch(text):
        raise Unreadable(f"{show(text)} is not a date in the form used here", explain_date(text[:LONGEST_QUOTE]))
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Unreadable(f"the date `{text}` does not exist", explain_missing_day(text)) from None


DATE_FORM = re.compile("[12][0-9]{3}-[0-9]{2}-[0-9]{2}")


def read_partial_date(text: str) -> PartialDate:
    """A year, a month or a day."""
    if re.fullmatch(r"[12][0-9]{3}(-(0[1-9]|1[0-2]))?", text):
        return PartialDate(text)
    if re.fullmatch(r"[12][0-9]{3}-[0-9]{2}", text):
        raise Unreadable(f"the month `{text}` does not exist", "months run from 01 to 12")
    if DATE_FORM.fullmatch(text):
        return PartialDate(read_date(text).isoformat())
    # a remedy with a day in it beats the general one, which here has to speak of months and years too
    help = explain_date(text[:LONGEST_QUOTE])
    raise Unreadable(f"{show(text)} is not a date in the form used here", help if ": " in help else PARTIAL_HELP)


PARTIAL_HELP = "write what is known of it, as in `1998-06-12`, `1998-06` or `1998`"
# One day for all: two dates that cannot be read contradict each other as little as they can.
STAND_IN_DAY = date(2000, 1, 1)
DATE = Kind(
    "a date",
    read_date,
    {"type": "string", "format": "date", "pattern": "^[12][0-9]{3}-[0-9]{2}-[0-9]{2}$"},
    lambda text: STAND_IN_DAY,
)
PARTIAL_DATE = Kind(
    "a date, a month or a year",
    read_partial_date,
    {
        "type": ["integer", "string"],
        "pattern": "^[12][0-9]{3}(-(0[1-9]|1[0-2])(-[0-9]{2})?)?$",
        "minimum": 1000,
        "maximum": 2999,
    },
    lambda text: PartialDate(STAND_IN_DAY.isoformat()),
)
