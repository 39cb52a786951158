"""What is sealed and what that proves, on the record page and on an entry's own; and what is closed to readers."""

from __future__ import annotations

import string
from collections.abc import Iterator
from dataclasses import replace
from typing import ClassVar, Literal

from buildlog.frozen import frozen
from buildlog.read.records import Entry, StandingPage
from buildlog.record.published import EntryProof, EntryState, PublishedSeal, PublishedStamp
from buildlog.render.language import Words
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import CoverageRow, list_coverage, list_levels
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.service import LINK
from buildlog.render.pieces import Evidence, Fact, Link, When
from buildlog.text import to_say


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


FILE_NAMES = {
    "log.yaml": to_say("Settings"),
    "entries": to_say("Entries"),
    "pages": to_say("Pages"),
    "photos": to_say("Photos"),
    "papers": to_say("Papers"),
}
"What is sealed, by the first part of its path."


def make_record(context: PageContext) -> RecordView:
    """The finished page."""
    record = context.record
    words = context.words
    description = words.say(
        "The record of %(title)s: its seals, how well it is backed up, how to check it.", title=context.title
    )
    # Adds the sheet that prints the seal at the foot of each page.
    frame = make_frame(context, "record.html", words.say("Record"), description, dated=True)
    return RecordView(
        frame=replace(frame, links=(*frame.links, LINK)),
        verdict=_say_verdict(context),
        failures=record.failures,
        # Newest first: it covers all the others, and its code is the one to note.
        seals=tuple(_describe_seal(context, seal) for seal in reversed(record.seals)),
        sealed=tuple(
            Fact(name=words.say(FILE_NAMES.get(part, part)), value=words.number(files))
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
    record, words = context.record, context.words
    # Before anything else: where one seal fails, the others are worth nothing.
    if record.failures:
        return words.say("The seals of this log do not hold. Do not rely on any of them until that is explained.")
    if not record.seals:
        return words.say("Nothing in this log is sealed: it is the owner’s word, and could be changed without a trace.")
    last = record.seals[-1]
    files = words.say_count("%(number)s file", "%(number)s files", sum(record.sealed.values()))
    return words.say_count(
        "%(number)s seal, the latest dated %(day)s, covering %(files)s in their present state.",
        "%(number)s seals, the latest dated %(day)s, covering %(files)s in their present state.",
        len(record.seals),
        day=words.day(last.date),
        files=files,
    )


def _describe_seal(context: PageContext, seal: PublishedSeal) -> SealRow:
    words = context.words
    holds = words.say_count(
        "%(number)s files listed; %(added)s with this seal",
        "%(number)s files listed; %(added)s with this seal",
        seal.leaves,
        number=words.number(seal.leaves),
        added=_say_added(words, seal),
    )
    return SealRow(
        number=str(seal.number),
        when=context.when(seal.date),
        holds=holds,
        code=seal.code,
        root=seal.root,
        attestation=tuple(_list_attestation(context, seal)),
        reasons=tuple(map(context.owner_text, seal.reasons)),
    )


def _say_added(words: Words, seal: PublishedSeal) -> str:
    """`12 new, 2 amended and 1 gone`"""
    # Each with all its forms: in many languages such a word goes with the number.
    new, amended, gone = (
        # TRANSLATORS: files that a seal lists for the first time
        words.say_count("%(number)s new", "%(number)s new", seal.new, number=words.number(seal.new)),
        # TRANSLATORS: files that had changed since the seal before
        words.say_count("%(number)s amended", "%(number)s amended", seal.amended, number=words.number(seal.amended)),
        # TRANSLATORS: files that were no longer there
        words.say_count("%(number)s gone", "%(number)s gone", seal.gone, number=words.number(seal.gone)),
    )
    told = ((seal.new, new), (seal.amended, amended), (seal.gone, gone))
    return words.join([text for number, text in told if number])


def _list_attestation(context: PageContext, seal: PublishedSeal) -> Iterator[str]:
    """Whose word the date is, and who signed."""
    say = context.words.say
    # Stamps and signatures are shown, not checked: that takes tools that not every machine has, and the same log has to
    # make the same pages everywhere.
    if seal.stamp is None:
        yield say("The date is the owner’s word: no time stamp confirms it.")
    else:
        yield _say_stamp(context, seal.stamp)
    # No name beside the key: whose it is, nobody can tell from the record.
    if seal.key is None:
        yield say("Not signed.")
    elif seal.key:
        yield say("Signed with the SSH key %(key)s; ask the owner whose key that is.", key=seal.key)
    else:
        yield say("Signed with an SSH key that cannot be read here; ask the owner whose key that is.")


def _say_stamp(context: PageContext, stamp: PublishedStamp) -> str:
    say = context.words.say
    if stamp.time is None:
        return say("There is a file that should be a time stamp, but it cannot be read.")
    when = f"{context.words.day(stamp.time.date())}, {stamp.time:%H:%M:%S} UTC"
    trust = say("its certificates are with it") if stamp.certificates else say("its certificate is not included")
    check = say("This page does not check it; the handover explains how.")
    if stamp.authority:
        told = say(
            "Time stamp of %(time)s, by %(authority)s; %(trust)s.", time=when, authority=stamp.authority, trust=trust
        )
    else:
        told = say("Time stamp of %(time)s, by an unnamed authority; %(trust)s.", time=when, trust=trust)
    return f"{told} {check}"


def _list_entries(context: PageContext, state: EntryState) -> Iterator[Link]:
    for entry in context.entries.values():
        # An entry that no seal knows was written since the last one.
        found = context.sealed_entry(entry)
        if (found.state if found else "not sealed") == state:
            yield context.entry_link(entry.name)


def _list_closed(context: PageContext) -> Iterator[Closed]:
    """What `public:` closes, of what there is."""
    settings, identity = context.figures.log.settings, context.figures.identity
    public, machine, say = settings.public, settings.machine, context.words.say
    # A buyer has to know that there is more than the site shows, and where to get it.
    handed_over, not_shown = say("in full in the owner’s handover"), say("not shown")
    not_published = say("not published")
    if context.prices != "shown":
        how = say("totals only") if context.prices == "totals" else not_shown
        yield Closed(what=say("Money"), how=how, why=handed_over)
    for number in identity.list_numbers():
        # By what is shown, not by the setting: some numbers have no part that can be shown.
        if number.public != number.whole:
            how = say("shown in part") if number.in_part else not_shown
            yield Closed(what=say(number.name), how=how, why=handed_over)
    if public.suppliers != "shown":
        yield Closed(what=say("Supplier names and order numbers"), how=not_shown, why=handed_over)
    if machine.area and public.area != "shown":
        yield Closed(what=say("Where the machine is kept"), how=not_shown, why=handed_over)
    if public.papers != "shown":
        yield Closed(what=say("Invoices, certificates and other papers"), how=not_published, why=handed_over)
    why = say("they carry the place, the time and the camera")
    yield Closed(what=say("Original photos"), how=not_published, why=why)


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
    found, say = context.sealed_entry(entry), context.words.say
    proof = found.proof if found else None
    if found is None or found.state == "not sealed":
        return SealedView(state="unsealed", says=say("Not sealed yet: only the owner’s word says when it was written."))
    # In a record that fails elsewhere, this entry's proof might well hold, and would mislead.
    if proof is None:
        says = say("The seals of this log do not hold, so there is no proof.")
        return SealedView(state=STATES[found.state], says=says)
    when = context.when(proof.date)
    # The proof is kept: it still proves what was sealed, though not the words above.
    if found.state == "changed":
        text = to_say("Changed since it was sealed on %(day)s; the proof covers the entry as it was then.")
    else:
        text = to_say("As it was sealed on %(day)s.")
    says = say(text, day=when.text)
    return SealedView(
        state=STATES[found.state],
        says=says,
        when=when,
        code=proof.code,
        reason=context.owner_text(proof.reason),
        proof=_show_proof(context, entry, proof),
    )


def _show_proof(context: PageContext, entry: Entry | StandingPage, proof: EntryProof) -> ProofView:
    seal = context.words.say("seal %(number)s", number=proof.seal)
    return ProofView(
        leaf=proof.leaf,
        index=str(proof.index),
        size=str(proof.size),
        path=tuple((step.side, step.hash) for step in proof.path),
        root=proof.root,
        seal=Link(text=seal, href=f"record.html#seal-{proof.seal}"),
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
