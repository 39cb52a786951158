"""What is sealed and what that proves, on the record page and on an entry's own; and what is closed to readers."""

from __future__ import annotations

import string
from collections.abc import Iterator
from dataclasses import replace
from typing import ClassVar, Literal

from buildlog.frozen import frozen
from buildlog.read.records import Entry, StandingPage
from buildlog.record.published import EntryProof, EntryState, PublishedSeal, PublishedStamp
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import CoverageRow, list_coverage, list_levels
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.service import LINK
from buildlog.render.pieces import Evidence, Fact, Link, When
from buildlog.text import count, join_words


@frozen
class SealRow:
    """One seal."""

    number: str
    "its anchor is `seal-NUMBER`"
    when: When
    "the seal's own date"
    holds: str
    "`240 files in all: 12 new, 2 amended`"
    code: str
    "`3f2a-…`, four groups"
    root: str
    "64 hexadecimal digits"
    attestation: tuple[str, ...]
    "whose word the date is; signature and time stamp, a sentence each"
    reasons: tuple[str, ...] = ()
    "why files were amended, in the owner's words"


@frozen
class Closed:
    """One thing that readers of the site see in part or not at all."""

    what: str
    "`VIN`, `Supplier names and order numbers`"
    how: str
    "`masked`, `not published`"
    why: str = ""
    "where it can be seen all the same"


@frozen
class RecordView:
    """How far can this record be checked, and how?"""

    TEMPLATE: ClassVar[str] = "record.html"
    frame: Frame
    "what surrounds the page"
    verdict: str
    "what is sealed and whether that holds, in one sentence"
    failures: tuple[str, ...] = ()
    "where the seals do not hold"
    seals: tuple[SealRow, ...] = ()
    "newest first"
    sealed: tuple[Fact, ...] = ()
    "files that stand sealed: log, entries, photos, papers"
    changed: tuple[Link, ...] = ()
    "entries that are not as they were sealed"
    unsealed: tuple[Link, ...] = ()
    "entries that were never sealed"
    coverage: tuple[CoverageRow, ...] = ()
    "how claims are backed, kind by kind; empty: nothing is claimed"
    legend: tuple[Evidence, ...] = ()
    "every level of evidence, as the columns of the coverage"
    closed: tuple[Closed, ...] = ()
    "never empty: original photos are never published"
    latest_code: str = ""
    "of the latest seal; empty: nothing is sealed"


FILE_NAMES = {"log.yaml": "Settings", "entries": "Entries", "pages": "Pages", "photos": "Photos", "papers": "Papers"}
"What is sealed, by the first part of its path."


def make_record(context: PageContext) -> RecordView:
    """The finished page."""
    record = context.record
    description = f"The record of {context.title}: its seals, how well it is backed up, how to check it."
    # Adds the sheet that prints the seal at the foot of each page.
    frame = make_frame(context, "record.html", "Record", description, dated=True)
    return RecordView(
        frame=replace(frame, links=(*frame.links, LINK)),
        verdict=_say_verdict(context),
        failures=record.failures,
        # Newest first: it covers all the others, and its code is the one to note.
        seals=tuple(_describe_seal(context, seal) for seal in reversed(record.seals)),
        sealed=tuple(
            Fact(name=FILE_NAMES.get(part, part), value=context.words.number(files))
            for part, files in record.sealed.items()
        ),
        changed=tuple(_list_entries(context, "changed")),
        # Without any seal that would be all of them, which the verdict says already.
        unsealed=tuple(_list_entries(context, "not sealed")) if record.seals else (),
        coverage=list_coverage(context),
        legend=list_levels(context),
        closed=tuple(_list_closed(context)),
        latest_code=record.seals[-1].code if record.seals else "",
    )


def _say_verdict(context: PageContext) -> str:
    record = context.record
    # Before anything else: where one seal fails, the others are worth nothing.
    if record.failures:
        return "The seals of this log do not hold. Do not rely on any of them until that is explained."
    if not record.seals:
        return "Nothing in this log is sealed: it is the owner’s word, and could be changed without a trace."
    last = record.seals[-1]
    seals, files = count(len(record.seals), "seal"), count(sum(record.sealed.values()), "file")
    return f"{seals}, the latest dated {context.words.day(last.date)}, covering {files} in their present state."


def _describe_seal(context: PageContext, seal: PublishedSeal) -> SealRow:
    counts = ((seal.new, "new"), (seal.amended, "amended"), (seal.gone, "gone"))
    added = join_words([f"{context.words.number(number)} {word}" for number, word in counts if number])
    return SealRow(
        number=str(seal.number),
        when=context.when(seal.date),
        holds=f"{context.words.number(seal.leaves)} files listed; {added} with this seal",
        code=seal.code,
        root=seal.root,
        attestation=tuple(_list_attestation(context, seal)),
        reasons=tuple(map(context.owner_text, seal.reasons)),
    )


def _list_attestation(context: PageContext, seal: PublishedSeal) -> Iterator[str]:
    """Whose word the date is, and who signed."""
    # Stamps and signatures are shown, not checked: that takes tools that not every machine has, and the same log has to
    # make the same pages everywhere.
    if seal.stamp is None:
        yield "The date is the owner’s word: no time stamp confirms it."
    else:
        yield _say_stamp(context, seal.stamp)
    if seal.key is None:
        yield "Not signed."
    else:
        # No name beside the key: whose it is, nobody can tell from the record.
        key = f"the SSH key {seal.key}" if seal.key else "an SSH key that cannot be read here"
        yield f"Signed with {key}; ask the owner whose key that is."


def _say_stamp(context: PageContext, stamp: PublishedStamp) -> str:
    if stamp.time is None:
        return "There is a file that should be a time stamp, but it cannot be read."
    by = f"by {stamp.authority}" if stamp.authority else "by an unnamed authority"
    when = f"{context.words.day(stamp.time.date())}, {stamp.time:%H:%M:%S} UTC"
    trust = "its certificates are with it" if stamp.certificates else "its certificate is not included"
    return f"Time stamp of {when}, {by}; {trust}. This page does not check it; the handover explains how."


def _list_entries(context: PageContext, state: EntryState) -> Iterator[Link]:
    for entry in context.entries.values():
        # An entry that no seal knows was written since the last one.
        found = context.sealed_entry(entry)
        if (found.state if found else "not sealed") == state:
            yield context.entry_link(entry.name)


HANDED_OVER = "in full in the owner’s handover"


def _list_closed(context: PageContext) -> Iterator[Closed]:
    """What `public:` closes, of what there is."""
    settings, identity = context.figures.log.settings, context.figures.identity
    public, machine = settings.public, settings.machine
    # A buyer has to know that there is more than the site shows, and where to get it.
    if context.prices != "shown":
        how = "totals only" if context.prices == "totals" else "not shown"
        yield Closed(what="Money", how=how, why=HANDED_OVER)
    for number in identity.list_numbers():
        # By what is shown, not by the setting: some numbers have no part that can be shown.
        if number.public != number.whole:
            yield Closed(what=number.name, how="shown in part" if number.in_part else "not shown", why=HANDED_OVER)
    if public.suppliers != "shown":
        yield Closed(what="Supplier names and order numbers", how="not shown", why=HANDED_OVER)
    if machine.area and public.area != "shown":
        yield Closed(what="Where the machine is kept", how="not shown", why=HANDED_OVER)
    if public.papers != "shown":
        yield Closed(what="Invoices, certificates and other papers", how="not published", why=HANDED_OVER)
    yield Closed(what="Original photos", how="not published", why="they carry the place, the time and the camera")


@frozen
class ProofView:
    """The proof that an entry's leaf is under a seal, in a form that can be worked out again."""

    leaf: str
    "the line of JSON that was hashed, to the byte"
    index: str
    "the leaf's number, from 0"
    size: str
    "leaves under the seal"
    path: tuple[tuple[str, str], ...]
    "side (`left`, `right`) and hash, from the leaf up"
    root: str
    "64 hexadecimal digits, as the seal has them"
    seal: Link
    "`seal 3`, leading to the record page"
    file: str
    "`entries/2024-05-18-lift-pump.md`"
    sha256: str
    "of that file as it was sealed"
    lines: str
    "the same worked out by standard tools: lines for a shell, the last of which prints the root"


@frozen
class SealedView:
    """Whether an entry is as it was sealed."""

    state: Literal["whole", "changed", "unsealed"]
    "`whole`: as it was sealed"
    says: str
    "one sentence"
    when: When | None = None
    "of the seal"
    code: str = ""
    "of that seal; empty where there is no proof"
    reason: str = ""
    "why it was amended, in the owner's words"
    proof: ProofView | None = None
    "None: not sealed, or the seals do not hold"


STATES: dict[EntryState, Literal["whole", "changed", "unsealed"]] = {
    "as sealed": "whole",
    "changed": "changed",
    "not sealed": "unsealed",
}
"The theme's names of the states."

# Left out: the quote that would end the text, `\` and `%`, which `printf` obeys, and `!`, which some shells obey there.
PLAIN = frozenset(string.ascii_letters + string.digits + ' "#()*+,-./:;<=>?@[]^_{|}~')
"Signs that no shell and no `printf` obeys between single quotes, whoever types or pastes them."


def describe_sealed(context: PageContext, entry: Entry | StandingPage) -> SealedView:
    """Whether the entry or standing page is sealed, under which seal, and its proof."""
    found = context.sealed_entry(entry)
    proof = found.proof if found else None
    if found is None or found.state == "not sealed":
        return SealedView(state="unsealed", says="Not sealed yet: only the owner’s word says when it was written.")
    # In a record that fails elsewhere, this entry's proof might well hold, and would mislead.
    if proof is None:
        return SealedView(state=STATES[found.state], says="The seals of this log do not hold, so there is no proof.")
    when = context.when(proof.date)
    says = f"As it was sealed on {when.text}."
    # The proof is kept: it still proves what was sealed, though not the words above.
    if found.state == "changed":
        says = f"Changed since it was sealed on {when.text}; the proof covers the entry as it was then."
    return SealedView(
        state=STATES[found.state],
        says=says,
        when=when,
        code=proof.code,
        reason=context.owner_text(proof.reason),
        proof=_show_proof(entry, proof),
    )


def _show_proof(entry: Entry | StandingPage, proof: EntryProof) -> ProofView:
    return ProofView(
        leaf=proof.leaf,
        index=str(proof.index),
        size=str(proof.size),
        path=tuple((step.side, step.hash) for step in proof.path),
        root=proof.root,
        seal=Link(text=f"seal {proof.seal}", href=f"record.html#seal-{proof.seal}"),
        file=entry.place.file,
        sha256=proof.sha256,
        lines=_write_lines(proof),
    )


def _write_lines(proof: EntryProof) -> str:
    """Lines for any shell that work out the root: SHA-256 over 00 and the leaf, then over 01 and both hashes."""
    # POSIX `printf` knows bytes by their octal numbers alone. Hashes go through `perl`, which nearly every system has
    # that has a shell; `xxd` is often missing.
    begin = f"h=$(printf '\\000{_write_octal(proof.leaf)}' | sha256sum | cut -c 1-64)"
    pairs = [f"{step.hash}${{h}}" if step.side == "left" else f"${{h}}{step.hash}" for step in proof.path]
    steps = [f"h=$(perl -e 'print pack(\"H*\", shift)' 01{pair} | sha256sum | cut -c 1-64)" for pair in pairs]
    return "\n".join([begin, *steps, "echo $h"])


def _write_octal(text: str) -> str:
    """A text as POSIX `printf` takes it between single quotes, in signs that can be seen, typed and pasted as they are.

    A path and a reason are the owner's words: what is no letter, digit or plain sign of ASCII stands by the number of
    each of its bytes.
    """
    return "".join(chr(byte) if chr(byte) in PLAIN else f"\\{byte:03o}" for byte in text.encode())
