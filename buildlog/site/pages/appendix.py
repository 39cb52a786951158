"""What makes the service history an appendix for a buyer: the statement about the meter, gaps, unknowns, the seal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildlog.site.pages.edition import Edition
from buildlog.site.pages.front import list_identity
from buildlog.site.pieces import Link
from buildlog.site.view_service import ItemView, SealLine, ServiceGap

STATEMENTS = {
    "actual": "to the best of the owner’s knowledge the {meter} reading reflects the actual {use}.",
    "exceeds mechanical limits": "to the best of the owner’s knowledge the {meter} reading reflects the amount of "
    "{use} in excess of its mechanical limits.",
    "not actual": "the {meter} reading is NOT the actual {use}. WARNING – {warning} DISCREPANCY.",
    "exempt": "no statement about the {meter} is required for this machine.",
}
"The certifications of 49 CFR 580.5(e), as appendix B to part 580 words them; exemption by 49 CFR 580.17."


def say_statement(edition: Edition) -> str:
    """The owner's statement about the meter in the words of its legal category; nothing where none was made."""
    meter = edition.figures.meter
    words = STATEMENTS.get(meter.statement or "")
    if words is None:
        return ""
    name, use, warning = ("hour meter", "hours", "METER") if meter.unit == "h" else ("odometer", "mileage", "ODOMETER")
    return f"The owner states: {words.format(meter=name, use=use, warning=warning)}"


def list_service_gaps(items: Iterable[ItemView]) -> tuple[ServiceGap, ...]:
    """Every stretch in which a service item was left undone for longer than its interval."""
    return tuple(
        ServiceGap(item=Link(text=item.name, href=f"service.html#item-{item.key}"), says=row.gap)
        for item in items
        for row in item.rows
        if row.gap
    )


def list_unknowns(edition: Edition) -> tuple[str, ...]:
    """What a buyer may look for and the record does not know, a sentence each."""
    return tuple(_list_unknowns(edition))


def _list_unknowns(edition: Edition) -> Iterator[str]:
    figures = edition.figures
    acquired = figures.log.settings.acquired
    if acquired:
        day = edition.words.day(acquired.date)
        yield f"What was done before {day} and is not told under “Before this log”."
    if not list_identity(edition):
        yield "Which machine it is: no identification number is shown."
    if figures.meter.latest and not figures.meter.statement:
        yield "Whether the meter shows the whole of its use: the owner has made no statement about it."
    if not figures.meter.readings:
        yield "How far or how long it has run: no reading was ever written down."
    never = [item.name for item in figures.service.items if not item.last]
    yield from (f"{name}: when it was last done, if ever." for name in never)


def describe_seal(edition: Edition) -> SealLine | None:
    """The latest seal, which the printed pages carry; None where there is none, or where the seals do not hold."""
    record = edition.record
    if not record.seals or record.failures:
        return None
    last = record.seals[-1]
    return SealLine(
        when=edition.when(last.date),
        code=last.code,
        number=str(last.number),
        stamped=bool(last.stamp and last.stamp.time),
    )
