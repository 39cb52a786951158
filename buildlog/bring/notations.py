"""In which notation are the days and the amounts of a spreadsheet, and what does one cell say in it?

A notation is found once for a whole file, from all its cells together, and never row by row; where two read them
equally well, and differently, its owner is asked.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from decimal import Decimal

from buildlog.bring.sheets import Cell
from buildlog.bring.sources import Unreadable
from buildlog.read.numbers import MOST_DIGITS
from buildlog.text import cut, join_words

DATES = {"year-month-day": "ymd", "day-month-year": "dmy", "month-day-year": "mdy"}
"The notations of days, by how a mapping names each."
DECIMALS = {"point": ".", "comma": ","}
LONGEST_VALUE = 40
"Characters of a day or an amount: what is longer is neither."
SIGNS = {"€": "EUR", "£": "GBP", "¥": "JPY", "zł": "PLN", "Fr.": "CHF", "CHF": "CHF", "Kč": "CZK"}
"Signs that stand for one currency; `$` and `kr` stand for several, so they have to be settled."
DAY_FORMS = {
    "ymd": re.compile(r"(?P<y>\d{4})[-./ ](?P<m>\d{1,2})[-./ ](?P<d>\d{1,2})"),
    "dmy": re.compile(r"(?P<d>\d{1,2})[-./ ]{1,2}(?P<m>\d{1,2})[-./ ]{1,2}(?P<y>\d{4}|\d{2})"),
    # with points it is day, month, year wherever it is written so
    "mdy": re.compile(r"(?P<m>\d{1,2})[-/ ](?P<d>\d{1,2})[-/ ](?P<y>\d{4}|\d{2})"),
}
CLOCK = re.compile(r"[ T]\d{1,2}:\d{2}(:\d{2})?( ?[AaPp][Mm])?$")


def read_day(cell: Cell, notation: str) -> datetime.date | None:
    """The day of a cell in the notation of its file; None where it is none."""
    if isinstance(cell, datetime.date):
        return cell
    short = isinstance(cell, str) and len(cell) <= LONGEST_VALUE
    found = DAY_FORMS[DATES[notation]].fullmatch(CLOCK.sub("", str(cell))) if short else None
    if not found:
        return None
    year = int(found["y"])
    try:
        # two digits: this century, as nobody brings in receipts of the last one by two digits
        return datetime.date(year + 2000 if year < 100 else year, int(found["m"]), int(found["d"]))
    except ValueError:
        return None


def find_notation(cells: Sequence[str]) -> str:
    """The one notation in which most cells are days; raises `Unreadable` where two read them equally well."""
    if not cells:
        return "year-month-day"
    read = {name: [read_day(cell, name) for cell in cells] for name in DATES}
    scores = {name: sum(day is not None for day in days) for name, days in read.items()}
    most = max(scores.values())
    best = [name for name, score in scores.items() if score == most]
    if most == 0:
        return "year-month-day"  # the cells hold real days, or each one is told with its row
    # where two notations give the same days, as 03/03/2024, it makes no difference
    if len({tuple(read[name]) for name in best}) > 1:
        words = join_words([f"`{name}`" for name in best], "or")
        shown = next(
            cell for cell, *days in zip(cells, *(read[name] for name in best), strict=True) if len({*days}) > 1
        )
        message = f"`{shown}` may be {words}: nothing in this file tells which"
        raise Unreadable(message, f"dates: {best[0]} or dates: {best[-1]} in a mapping", at="dates", rule="mapping")
    return best[0]


GROUPS = "[ \u00a0\u202f\u2009'’]"
"Blanks and apostrophes between thousands."


def _make_form(point: str, other: str) -> re.Pattern[str]:
    groups = rf"\d{{1,3}}(?:{re.escape(other)}\d{{3}})+|\d{{1,3}}(?:{GROUPS}\d{{3}})+"
    return re.compile(rf"(?P<whole>\d+|{groups})?(?:{re.escape(point)}(?P<rest>\d+|-|–|—))?")


FORMS = {"point": _make_form(".", ","), "comma": _make_form(",", ".")}
BARE = {"point": re.compile(r"\d{1,9}(\.\d{1,6})?", re.ASCII), "comma": re.compile(r"\d{1,9}(,\d{1,6})?", re.ASCII)}
"What most cells are: read without looking for more."


def read_number(text: str, decimals: str) -> Decimal | None:
    """A bare number in the notation of its file; None where it is none."""
    plain = FORMS[decimals].fullmatch(text)
    if not plain or not (plain["whole"] or plain["rest"]):
        return None
    whole, rest = re.sub(r"\D", "", plain["whole"] or "0"), re.sub(r"\D", "", plain["rest"] or "")
    return Decimal(f"{whole}.{rest}" if rest else whole) if len(whole + rest) <= MOST_DIGITS else None


def read_amount(cell: Cell, decimals: str) -> tuple[Decimal, str | None] | None:
    """The number of a cell and the currency that stands with it: its code, or its sign; None where it is none.

    `(12,50)`, `12,50-` and `-12,50 €` are below zero.
    """
    if isinstance(cell, Decimal):
        return cell, None
    if not isinstance(cell, str) or len(cell) > LONGEST_VALUE:
        return None
    if BARE[decimals].fullmatch(cell):
        return Decimal(cell.replace(",", ".")), None
    text, currency = _part_currency(cell)
    minus = re.fullmatch(r"\((.*)\)|[-−–]\s*(.*)|(.*?)\s*[-−–]", text)
    if minus and not re.search(r"[.,][-–—]$", text):
        text = next(group for group in minus.groups() if group is not None)
        # the sign may stand on the far side of the minus, as in `-€ 12,50`
        if currency is None:
            text, currency = _part_currency(text)
    number = read_number(text.strip(" \u00a0+"), decimals)
    if number is None:
        return None
    return (-number if minus and number else number), currency


def _part_currency(text: str) -> tuple[str, str | None]:
    """An amount without the currency around it, and that: a code, what a sign stands for, or the sign itself."""
    found = re.match(r"\s*([^\d\s().,+−–'’-]{1,4}\.?)?\s*(.*?)\s*([^\d\s().,+−–'’-]{1,4})?\s*$", text, re.DOTALL)
    if not found:
        return text, None
    sign = found[1] or found[3]
    if not sign or sign == "%":
        return found[2], None
    return found[2], SIGNS.get(sign, sign.upper() if sign.isascii() and sign.isalpha() else sign)


def find_decimals(cells: Sequence[str]) -> str:
    """The one notation in which most cells are numbers; raises `Unreadable` where both read them, and differently."""
    read = {name: [read_amount(cell, name) for cell in cells] for name in DECIMALS}
    scores = {name: sum(number is not None for number in numbers) for name, numbers in read.items()}
    if scores["point"] != scores["comma"]:
        return max(scores, key=scores.__getitem__)
    for cell, one, other in zip(cells, read["point"], read["comma"], strict=True):
        if one != other:
            message = f"`{cut(cell, 30)}` may be {_show(one)} or {_show(other)}: nothing in this file tells which"
            raise Unreadable(message, "decimals: point or decimals: comma in a mapping", at="decimals", rule="mapping")
    return "point"


def _show(amount: tuple[Decimal, str | None] | None) -> str:
    return f"{amount[0].normalize():f}" if amount else "no number"
