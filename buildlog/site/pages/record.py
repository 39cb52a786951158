"""The record page: what is sealed, what that proves, how far claims are backed, what is closed to readers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from buildlog.record.published import EntryState, PublishedSeal, PublishedStamp
from buildlog.site.pages.coverage import list_coverage
from buildlog.site.pages.edition import Edition
from buildlog.site.pages.framing import make_frame
from buildlog.site.pages.seal_sheet import LINK
from buildlog.site.pieces import Fact, Link
from buildlog.site.view_record import Closed, RecordView, SealRow
from buildlog.site.words import count, join_words

FILE_NAMES = {"log.yaml": "Settings", "entries": "Entries", "photos": "Photos", "papers": "Papers"}
"What is sealed, by the first part of its path."


def make_record(edition: Edition) -> RecordView:
    """The finished page."""
    record = edition.record
    description = f"The record of {edition.title}: its seals, how far it is backed, how to check it."
    frame = make_frame(edition, "record.html", "Record", description)
    return RecordView(
        frame=replace(frame, links=(*frame.links, LINK)),
        verdict=_say_verdict(edition),
        failures=record.failures,
        seals=tuple(_describe_seal(edition, seal) for seal in reversed(record.seals)),
        sealed=tuple(
            Fact(name=FILE_NAMES.get(part, part), value=edition.words.number(files))
            for part, files in record.sealed.items()
        ),
        changed=tuple(_list_entries(edition, "changed")),
        unsealed=tuple(_list_entries(edition, "not sealed")) if record.seals else (),
        coverage=list_coverage(edition),
        closed=tuple(_list_closed(edition)),
        latest_code=record.seals[-1].code if record.seals else "",
    )


def _say_verdict(edition: Edition) -> str:
    record = edition.record
    if record.failures:
        return "The seals of this log do not hold. Until that is explained, rely on none of them."
    if not record.seals:
        return "Nothing of this log is sealed: it is the owner’s word, and could be changed without a trace."
    last = record.seals[-1]
    seals, files = count(len(record.seals), "seal"), count(sum(record.sealed.values()), "file")
    return f"{seals}, the latest of {edition.words.day(last.date)}, over {files} as they stand."


def _describe_seal(edition: Edition, seal: PublishedSeal) -> SealRow:
    counts = ((seal.new, "new"), (seal.amended, "amended"), (seal.gone, "gone"))
    added = join_words([f"{edition.words.number(number)} {word}" for number, word in counts if number])
    return SealRow(
        number=str(seal.number),
        when=edition.when(seal.date),
        holds=f"{edition.words.number(seal.leaves)} leaves in all; {added} with this seal",
        code=seal.code,
        root=seal.root,
        said=tuple(_say_beside(edition, seal)),
        reasons=tuple(map(edition.said, seal.reasons)),
    )


def _say_beside(edition: Edition, seal: PublishedSeal) -> Iterator[str]:
    """Whose word the date is, and who signed."""
    if seal.stamp is None:
        yield "The date is the owner’s word: no time stamp confirms it."
    else:
        yield _say_stamp(edition, seal.stamp)
    if seal.key is None:
        yield "Not signed."
    else:
        key = f"the SSH key {seal.key}" if seal.key else "an SSH key that cannot be read here"
        yield f"Signed with {key}; whose key that is, ask the owner."


def _say_stamp(edition: Edition, stamp: PublishedStamp) -> str:
    if stamp.time is None:
        return "A file that should be a time stamp lies beside it, and cannot be read."
    by = f"by {stamp.authority}" if stamp.authority else "by an authority that gives no name"
    when = f"{edition.words.day(stamp.time.date())}, {stamp.time:%H:%M:%S} UTC"
    trust = "its certificates lie beside it" if stamp.certificates else "no certificate of it lies beside the seal"
    return f"Time stamp of {when}, {by}; {trust}. This page does not check it; the handover says how."


def _list_entries(edition: Edition, state: EntryState) -> Iterator[Link]:
    for entry in edition.entries.values():
        found = edition.sealed_entry(entry)
        if (found.state if found else "not sealed") == state:
            yield edition.entry_link(entry.name)


HANDED_OVER = "whole in what the owner hands over"


def _list_closed(edition: Edition) -> Iterator[Closed]:
    """What `public:` closes, of what there is."""
    settings, identity = edition.figures.log.settings, edition.figures.identity
    public, machine = settings.public, settings.machine
    if edition.prices != "shown":
        how = "sums only, not the lines behind them" if edition.prices == "totals" else "not shown"
        yield Closed(what="Money", how=how, why=HANDED_OVER)
    for number in identity.list_numbers():
        if number.public != number.whole:
            yield Closed(what=number.name, how="shown in part" if number.in_part else "not shown", why=HANDED_OVER)
    if public.suppliers != "shown":
        yield Closed(what="Names of suppliers and numbers of orders", how="not shown", why=HANDED_OVER)
    if machine.area and public.area != "shown":
        yield Closed(what="Where the machine stands", how="not shown", why=HANDED_OVER)
    if public.papers != "shown":
        yield Closed(what="Invoices, certificates and other papers", how="not published", why=HANDED_OVER)
    yield Closed(what="Originals of photos", how="not published", why="their place, time and camera stay private")
