"""What is apart, in readers' words: what is off, what else is within reach, and what was opened more than once."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.reckon.apart.apart import ApartFigures, Missing, Opening, Reach, ReachKind
from buildlog.reckon.apart.strip_downs import StripDownFigures
from buildlog.site.pages.edition import Edition
from buildlog.site.pieces import Link
from buildlog.site.view_faults import AgainRow, ApartView, MissingRow, OpeningRow, ReachRow
from buildlog.site.words import join_words

KINDS: dict[ReachKind, str] = {
    "suspect": "to check",
    "cause": "to mend",
    "fix": "to prove",
    "service": "service",
    "temporary": "to make good",
    "shelf": "on the shelf",
}
"What each kind of thing within reach is called."


def describe_apart(edition: Edition, apart: ApartFigures) -> ApartView:
    """What is off now, and all that is worth doing before it goes back."""
    words = edition.words
    saved = ""
    if apart.saved_hours:
        together, separate = words.hours(apart.together_hours), words.hours(apart.separate_hours)
        saved = f"{words.hours(apart.saved_hours)} saved: {together} of strip-downs in one go, {separate} one by one"
    offs = {item.key: item for item in edition.figures.strip_downs.strip_downs}
    return ApartView(
        openings=tuple(_describe_opening(edition, opening, offs[opening.key]) for opening in apart.openings),
        reach=tuple(_describe_reach(edition, reach) for reach in apart.reach),
        saved=saved,
        missing=tuple(_describe_missing(edition, missing) for missing in apart.missing),
    )


def list_again(edition: Edition) -> Iterator[AgainRow]:
    """Strip-downs that came off more than once."""
    for item in edition.figures.strip_downs.strip_downs:
        if len(item.visits) > 1:
            times = tuple(edition.entry_link(visit.off_in) for visit in item.visits)
            yield AgainRow(name=edition.said(item.name), hours=edition.words.hours(item.again_hours), times=times)


def _describe_opening(edition: Edition, opening: Opening, item: StripDownFigures) -> OpeningRow:
    return OpeningRow(
        name=edition.said(opening.name),
        hours=edition.words.hours(opening.hours),
        since=edition.when(opening.off_since) if opening.off_since else None,
        entry=edition.entry_link(item.off_in) if item.off_in else None,
    )


def _describe_reach(edition: Edition, reach: Reach) -> ReachRow:
    return ReachRow(
        kind=KINDS[reach.kind],
        what=_link_reach(edition, reach),
        note=_say_why(edition, reach),
        hours=edition.words.hours(reach.hours) if reach.hours is not None else "",
    )


def _link_reach(edition: Edition, reach: Reach) -> Link:
    if reach.fault:
        return edition.fault_link(reach.fault, reach.name)
    if reach.kind == "service":
        return edition.item_link(reach.key)
    if reach.kind == "shelf":
        return edition.part_link(reach.key, reach.name)
    return Link(text=edition.said(reach.name), href=edition.entry_link(reach.entry).href if reach.entry else "")


def _say_why(edition: Edition, reach: Reach) -> str:
    day = edition.words.day
    said = (
        edition.said(reach.fault_name),
        f"made on {day(reach.since)}" if reach.kind == "fix" and reach.since else None,
        reach.state,
        f"due on {day(reach.due_on)}" if reach.due_on else None,
        f"since {day(reach.since)}" if reach.kind == "temporary" and reach.since else None,
        f"{edition.quantity(reach.qty)} of them" if reach.qty is not None and reach.qty != 1 else None,
    )
    return ", ".join(filter(None, said))


def _describe_missing(edition: Edition, missing: Missing) -> MissingRow:
    post = f"{edition.quantity(missing.in_the_post)} in the post" if missing.in_the_post else ""
    why = join_words([_say_wanted(edition, reason) for reason in missing.why])
    return MissingRow(
        part=edition.part_link(missing.part, missing.name),
        number=edition.said(missing.number),
        lacks=edition.quantity(missing.lacks),
        note=", ".join(filter(None, [why, post])),
    )


def _say_wanted(edition: Edition, reason: str) -> str:
    """`service KEY`, `cause KEY`, `temporary KEY` or `single use KEY` in readers' words."""
    sort, _, key = reason.rpartition(" ")
    if sort == "service":
        return f"for {edition.item_link(key).text}"
    if sort == "cause":
        return f"in place of {edition.component_name(key)}"
    if sort == "temporary":
        return "in place of what is fitted for now"
    return f"single use, behind {edition.strip_down_name(key)}"
