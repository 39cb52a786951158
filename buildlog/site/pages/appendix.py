"""What makes the service history an appendix for a buyer: the statement about the meter, gaps, unknowns, the seal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildlog.reckon.meter.meter import is_odometer
from buildlog.site.pages.edition import Edition
from buildlog.site.pages.entry import say_step
from buildlog.site.pages.front import list_identity
from buildlog.site.pieces import Link
from buildlog.site.view_service import ItemView, SealLine, ServiceGap

STATEMENTS = {
    "actual": "to the best of the owner’s knowledge the odometer reading reflects the actual mileage.",
    "exceeds mechanical limits": "to the best of the owner’s knowledge the odometer reading reflects the amount of "
    "mileage in excess of its mechanical limits.",
    "not actual": "the odometer reading is NOT the actual mileage. WARNING – ODOMETER DISCREPANCY.",
    "exempt": "no statement about the odometer is required for this machine.",
}
"The certifications of 49 CFR 580.5(e), as appendix B to part 580 words them; exemption by 49 CFR 580.17."
RULE = "The categories are those of 49 CFR 580.5. This page is no disclosure under that rule."

PLAIN_STATEMENTS = {
    "actual": "as far as the owner knows, the meter shows {whole}.",
    "exceeds mechanical limits": "the meter passed its last digit and began again, so it shows less than {whole}.",
    "not actual": "the meter does not show {whole}.",
    "exempt": "no statement about the meter is required for this machine.",
}
"The same for whatever is no road vehicle; our own words."


def say_statement(edition: Edition) -> str:
    """The owner's statement about the meter; nothing where none was made.

    Of a road vehicle's odometer in the words of its legal category. Of any other meter in plain words, with what the
    record knows of it.
    """
    meter, machine = edition.figures.meter, edition.figures.log.settings.machine
    if meter.statement is None:
        return ""
    if is_odometer(machine):
        return f"The owner states: {STATEMENTS[meter.statement]}"
    whole = "all hours that the machine has run" if meter.unit == "h" else "the whole distance that the machine has run"
    return " ".join(
        [f"The owner states: {PLAIN_STATEMENTS[meter.statement].format(whole=whole)}", *_list_known(edition)]
    )


def say_rule(edition: Edition) -> str:
    """The law whose categories the statement uses; nothing where it uses none."""
    statutory = edition.figures.meter.statement and is_odometer(edition.figures.log.settings.machine)
    return RULE if statutory else ""


def _list_known(edition: Edition) -> Iterator[str]:
    """What the record knows of a meter that shows something else than the true total, a sentence each."""
    meter = edition.figures.meter
    if not meter.offset or meter.latest is None:
        return
    yield from (say_step(edition, step) for step in meter.steps)
    yield f"By this record it is {edition.distance(meter.latest.total)} in all."


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
    never = [edition.said(item.name) for item in figures.service.items if not item.last]
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
