"""What START-HERE.html and CHECK.md tell whoever was handed a bag: what it is, how to look, and how to check it.

START-HERE.html is for who has never seen a bag: it has words of every day alone, needs no script, and its policy lets
it load nothing. CHECK.md has the technical ones: how to check with stock tools, what that proves and what is only said.
Every command in it is meant to be run as it stands, in the bag's top folder. Both follow from the list and the seals
alone, which are read without any tool: the same seals give the same words everywhere, so whoever checks makes both
again and compares.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from html import escape

from buildlog.frozen import frozen
from buildlog.handover.bag import MANIFEST, PAYLOAD, TAG_MANIFEST
from buildlog.handover.check_page import HERE, name_source
from buildlog.handover.manifest import CHECK_PAGE, FIGURES, LIST, LOG, SEALS, SIGNERS, SITE, Handover, find_day
from buildlog.record.attest import NAMESPACE
from buildlog.record.attestation_metadata import read_key, read_key_blob, read_stamp_words
from buildlog.record.rules import MOST_SHOWN, say, say_day
from buildlog.record.seals import BESIDE, LEAVES_FILE, Seal, name_beside
from buildlog.text import replace_unprintable

MARK = re.compile(r"\{\{([A-Z]+)\}\}")


def write_start_page(handover: Handover, seals: Sequence[Seal], *, paths: Iterable[str]) -> bytes:
    """The file START-HERE.html; `paths` are those of the log's files that go along, by path in the log."""
    style = (HERE / "style.css").read_text(encoding="utf-8")
    values = {
        # By its sum: of words out of a log that became markup after all, nothing would be shown or run.
        "POLICY": f"default-src 'none'; style-src '{name_source(style)}'; base-uri 'none'; form-action 'none'",
        "STYLE": style,
        "MACHINE": _escape_plain(handover.machine),
        "DAY": say_day(handover.as_of),
        "SEALED": "\n".join(f"<p>{words}</p>" for words in _tell_sealed(seals)),
        "FACTS": "\n".join(
            f"<div><dt>{escape(term)}</dt><dd>{words}</dd></div>" for term, words in _tell_facts(handover, seals, paths)
        ),
    }
    return _fill((HERE / "start.html").read_text(encoding="utf-8"), values).encode()


def _fill(text: str, values: Mapping[str, str]) -> str:
    # In one pass: a machine may be called like one of the marks.
    return MARK.sub(lambda mark: values[mark[1]], text)


def _escape_plain(text: str) -> str:
    return escape(replace_unprintable(text, " "))


def _tell_sealed(seals: Sequence[Seal]) -> Iterator[str]:
    if not seals:
        yield escape(say("start unsealed"))
        return
    yield escape(say("start sealed", day=say_day(seals[-1].date)))
    yield escape(say("start dates"))


def _tell_facts(handover: Handover, seals: Sequence[Seal], paths: Iterable[str]) -> Iterator[tuple[str, str]]:
    """What is printed of this one package, each with its name; the words are ready for the page."""
    if seals:
        yield "Sealed", escape(say("start seals", seals=len(seals), day=say_day(seals[-1].date)))
        yield "Short code", f"<code>{seals[-1].code}</code><br>{escape(say('start code'))}"
    held = len(handover.withheld)
    yield "Held back", escape(say("start held", files=held) if held else say("start all"))
    later = [path for path in paths if (day := find_day(path)) and day > handover.as_of]
    if later:
        yield "Not counted", escape(say("start left out", entries=len(later), day=say_day(handover.as_of)))


def summarise_seals(seals: Iterable[Seal], files: Mapping[str, bytes]) -> tuple[SealSummary, ...]:
    """Each seal with what lies beside it; `files` are those of `seals/` by name."""
    return tuple(
        SealSummary(
            seal=seal,
            signed=name_beside(seal.number, "signature") in files,
            stamped_at=_read_time(files.get(name_beside(seal.number, "stamp"))),
            has_authority=name_beside(seal.number, "authority") in files,
            key=read_key(files.get(name_beside(seal.number, "signature"), b"")),
        )
        for seal in seals
    )


def _read_time(reply: bytes | None) -> int | None:
    time = read_stamp_words(reply)[0] if reply is not None else None
    return None if time is None else int(time.timestamp())


def list_signers(files: Mapping[str, bytes]) -> bytes:
    """The keys of all signatures in `files`, each once, as `ssh-keygen -Y verify` reads them; nothing without one."""
    # Each key once, in the order of the seals: the page that checks writes the same file and compares.
    found = {read_key_blob(data): None for name, data in sorted(files.items()) if name.endswith(BESIDE["signature"])}
    return b"".join(_write_signer(blob) for blob in found if blob)


def _write_signer(blob: bytes) -> bytes:
    """One line (ssh-keygen(1), ALLOWED SIGNERS); the blob begins with its kind as a string (RFC 4253, section 6.6)."""
    kind = blob[4 : 4 + int.from_bytes(blob[:4], "big")]
    # The kind comes out of a signature, which may be made up: nothing in it may end the line, or begin another.
    if not kind.isascii() or not all(chr(byte).isalnum() or chr(byte) in "-@." for byte in kind):
        return b""
    return b'%s namespaces="%s" %s %s\n' % (SIGNER.encode(), NAMESPACE.encode(), kind, base64.b64encode(blob))


SIGNER = "owner"
"Under which name the keys stand in `allowed_signers`: the bag cannot say whose they are."


@frozen
class SealSummary:
    """One seal with what lies beside it, as CHECK.md tells it."""

    seal: Seal
    "as its file says"
    signed: bool
    "whether a signature lies beside it; nobody has checked it"
    stamped_at: int | None
    "when the authority says that it saw the seal, in seconds since 1970; None: no stamp, or one that cannot be read"
    has_authority: bool
    "whether the authority's certificates lie beside the stamp"
    key: str = ""
    "fingerprint of the key that the signature names, `SHA256:…`"


def write_check_text(
    handover: Handover, seals: Sequence[SealSummary], *, paths: Iterable[str], with_page: bool
) -> bytes:
    """The file CHECK.md; `paths` are those of the log's files that go along, by path in the log."""
    parts = (
        _tell_start(handover),
        _tell_left_out(handover, paths),
        _tell_ways(with_page),
        _tell_files(),
        _tell_seals(seals),
        _tell_stamps(seals),
        _tell_signatures(seals),
        _tell_rest(),
        _tell_withheld(handover),
        WORTH,
        CAUTIONS,
    )
    told = filter(None, ("".join(part).strip() for part in parts))
    return ("\n\n".join(told) + "\n").encode()


def _tell_start(handover: Handover) -> str:
    return f"""# How to check this record

This is the record of **{_plain(handover.machine)}**, with all figures as of {handover.as_of}. You have been given
all of it, so that you can check it instead of trusting it. Nothing here needs an account or a connection.

- `{PAYLOAD}{SITE}index.html`: open it in a browser to read the record. You can print its service history. It
  shows prices, numbers and places that the public site may hide, so do not put it on the internet.
- `{PAYLOAD}{LOG}`: what the owner wrote, the photos as the camera took them, and the papers.
- `{PAYLOAD}{FIGURES}`: every figure, with the amounts that make it up.
- `{PAYLOAD}{SEALS}`: what was sealed, and when.
"""


def _tell_left_out(handover: Handover, paths: Iterable[str]) -> Iterator[str]:
    """Entries of later days than the figures: by the days that they are named after, as no entry is read for this."""
    days = {path: day for path in paths if (day := find_day(path)) and day > handover.as_of}
    if days:
        names = ", ".join(f"`{_plain(path.removeprefix('entries/'))}`" for path in sorted(days)[:MOST_SHOWN])
        if len(days) > MOST_SHOWN:
            names = say("names", names=names, more=len(days) - MOST_SHOWN)
        values = {"entries": len(days), "day": handover.as_of, "last": max(days.values()), "names": names}
        yield f"**Read this first:** {say('entries-left-out', **values)}.\n"


def _tell_ways(with_page: bool) -> Iterator[str]:
    page = f"""
- **Open `{PAYLOAD}{CHECK_PAGE}`** in a browser and drop this folder onto it. If you do not trust whoever gave you
  this, get that page from a place that you do trust instead: a page can be made to say anything."""
    yield f"""## Ways to check

- **With tools that your system has**, as shown below. They do not come from the maker of this record.{
        page if with_page else ""
    }
- **With the tool that made it**: `buildlog verify` and the path of this folder or zip. Only this recalculates every
  figure.
"""


def _tell_files() -> str:
    return f"""## Are the files complete and unchanged?

Run these in the folder that contains `{MANIFEST}`. Each prints nothing if all is well. If there is no
`sha256sum`, as on macOS, `shasum -a 256` does the same:

    sha256sum --quiet -c {TAG_MANIFEST}
    sha256sum --quiet -c {MANIFEST}

These two do not notice a file that was added. The next line prints anything that is not both there and in a list, so
nothing if all is well. The one after it prints links, and names that no file of a record has:

    (cut -c67- {MANIFEST} {TAG_MANIFEST}; echo {TAG_MANIFEST}; find . ! -type d | cut -c3-) | sort | uniq -u
    LC_ALL=C find . -name '*[!A-Za-z0-9._-]*' -o ! -type d ! -type f

This shows that the files are as they were when they were packed. Whoever packed them could have packed anything: the
seals show what was there *before*.
"""


def _tell_seals(seals: Sequence[SealSummary]) -> Iterator[str]:
    yield "## The seals\n\n"
    if not seals:
        yield "The log was never sealed. Nothing here shows that anything was written when it says it was.\n"
        return
    last = seals[-1].seal
    yield f"""Each seal is a small file that fixes every file of the log as it was that day. The last one is dated
{last.date} and covers {last.leaves} lines of `{PAYLOAD}{SEALS}{LEAVES_FILE}`, one for each version of each file.
Its code is **{last.code}**; compare it with what you noted when you first saw the public
site. If you noted the code of another seal, check it with `buildlog verify --code`, or on the page. If this prints more
than {last.leaves}, a later seal has been removed:

    wc -l < {PAYLOAD}{SEALS}{LEAVES_FILE}
"""
    if len(seals) > 1:
        yield f"""
Each seal gives the SHA-256 of the one before as `previous`, so that none can be swapped on its own:

    sha256sum {PAYLOAD}{SEALS}[0-9][0-9][0-9][0-9].json
    grep -o '"previous":"[0-9a-f]*"' {PAYLOAD}{SEALS}[0-9][0-9][0-9][0-9].json
"""
    yield f"""
Any file of the log can be looked up by its checksum, which is in a line of the list:

    grep -c "$(sha256sum {PAYLOAD}{LOG}log.yaml | cut -c1-64)" {PAYLOAD}{SEALS}{LEAVES_FILE}

Checking that the list gives the root in the seal (RFC 9162) takes a program: `buildlog verify`, or the page.
"""


def _tell_stamps(seals: Sequence[SealSummary]) -> Iterator[str]:
    yield "## The time stamps\n\n"
    stamped = [told for told in seals if told.stamped_at is not None]
    yield from _tell_last(seals, "last-not-stamped", lambda told: told.stamped_at is not None)
    if not stamped:
        yield "There are none (RFC 3161). The dates of the seals are the owner's word.\n"
        return
    yield "An authority chosen by the owner saw these seals at the times it gives (RFC 3161):\n\n"
    for told in stamped:
        seal, stamp = f"{PAYLOAD}{SEALS}{told.seal.name}", f"{PAYLOAD}{SEALS}{name_beside(told.seal.number, 'stamp')}"
        # Without a certificate nothing can be verified; the stamp can only be read.
        if told.has_authority:
            authority = f"{PAYLOAD}{SEALS}{name_beside(told.seal.number, 'authority')}"
            yield f"    openssl ts -verify -data {seal} -in {stamp} -CAfile {authority} -attime {told.stamped_at}\n"
        else:
            yield f"    openssl ts -reply -in {stamp} -text\n"
    yield f"""
The first form prints `Verification: OK`. It judges the authority's certificate as of the time of the stamp. Whether
that certificate belongs to somebody who tells the truth about time is for you to judge: anybody can make one with any
name. Ask the authority for its own, and compare the fingerprints (`openssl x509 -noout -fingerprint -sha256 -in FILE`).
The second form, used if there is no certificate, only prints what the stamp says. {LIBRESSL}
"""


LIBRESSL = """The `openssl` that comes
with macOS and OpenBSD is LibreSSL, which has no `-attime`: install OpenSSL."""


def _tell_signatures(seals: Sequence[SealSummary]) -> Iterator[str]:
    yield "## The signatures\n\n"
    signed = [told.seal for told in seals if told.signed]
    keys = {told.key: None for told in seals if told.signed}
    yield from _tell_last(seals, "last-not-signed", lambda told: told.signed)
    if not signed:
        yield "There are none. Nothing here shows who made the seals.\n"
        return
    yield f"Whoever made these seals holds the keys listed in `{PAYLOAD}{SIGNERS}`:\n\n"
    for seal in signed:
        path = f"{PAYLOAD}{SEALS}{seal.name}"
        beside = f"{PAYLOAD}{SEALS}{name_beside(seal.number, 'signature')}"
        signers = f"{PAYLOAD}{SIGNERS}"
        yield f"    ssh-keygen -Y verify -f {signers} -I {SIGNER} -n {NAMESPACE} -s {beside} < {path}\n"
    yield '\nEach prints `Good "buildlog" signature`. '
    if len(keys) == 1:
        yield f"""All of them were made with one key, {next(iter(keys))}. It came with
this bag, so this shows that whoever holds that key signed each of them, but not who that is: ask the owner to show you
the public key by some other route, and compare.
"""
    else:
        yield f"""They were made with {len(keys)} keys, so
nothing here shows that the same person made these seals. Ask the owner why, and to show you each public key by some
other route:

"""
        yield from (f"- seal {told.seal.number}: {told.key or 'no key'}\n" for told in seals if told.signed)
    yield "\nSeals that are not signed, after others that are, could have been made by anybody.\n"


def _tell_last(seals: Sequence[SealSummary], words: str, has: Callable[[SealSummary], bool]) -> Iterator[str]:
    """A last seal that lacks what earlier ones have."""
    if seals and any(map(has, seals)) and not has(seals[-1]):
        last = seals[-1].seal
        yield f"**Read this first:** {say(words, number=last.number, date=last.date)}.\n\n"


def _tell_rest() -> str:
    return """## The figures and the pages

Does every total add up, is what is due really due, does the meter never fall, do the pages show what the entries say?
`buildlog verify` reads the entries, works everything out again and compares. It makes the pictures on the pages again
from the photos, too. Without it, look at the photos in `data/log/photos/`, not just at the pages.
"""


def _tell_withheld(handover: Handover) -> Iterator[str]:
    yield "## What is withheld\n\n"
    if not handover.withheld:
        yield "Nothing: all the files that the seals cover are here.\n"
        return
    yield "The owner held these files back. Ask why, and ask to see them: a sealed one can be shown later and its\n"
    yield f"checksum compared. They are listed in `{PAYLOAD}{LIST}` too.\n\n"
    for held in handover.withheld:
        sealed = f"sealed, line {held.leaf + 1} of the list" if held.leaf is not None else "never sealed"
        yield f"- `{_plain(held.path)}` ({held.digest.size} bytes, SHA-256 {held.digest.sha256}; {sealed})\n"


def _plain(text: str) -> str:
    """An owner's words without what Markdown would obey."""
    # CHECK.md is opened in whatever shows Markdown: a name in it shall be no link, no picture and no markup.
    return re.sub(r"[`*<>\[\]|]", " ", replace_unprintable(text, " "))


WORTH = """## What this proves, what it only says, what it cannot show

**It proves** that the files agree with their lists, so no accident has changed one; if there are seals, that the log's
files are those that were sealed, that nothing sealed was rewritten without a trace, and that later changes are marked
as such, with a reason. It proves that the figures and pages follow from the entries.

**No tool can spot a record that was made up from scratch.** Anybody who sets out to can write a log, with all its
seals, figures and pages, in one evening; everything in it will agree, and every check here will hold. The only remedy
is something from outside this record, from earlier: the code of a seal that you noted months ago, a copy, a time stamp
from an authority you trust, or a key that you know to be the owner's. Compare what you have with what is above. If no
seal here has the code you kept, this is not the record that you saw.

**It only says** what the owner wrote: that a part was fitted, a job done, a reading taken, a price paid. If a paper or
a picture backs it up, the record says so: look at it. A seal without a time stamp has the date that the owner gave it.

**It cannot show** what was left out. Nobody can find entries that were never written, or that were dropped before the
first seal. A log that was first sealed last week says nothing about the years before.
"""
CAUTIONS = """## Cautions

This records claims and evidence. It is not an inspection, a warranty or a valuation. Have the machine looked at by
somebody qualified, before you pay and before you use it.

Torques, fluids, checks and intervals in it are this owner's record, not instructions: follow the maker's manual and
local law. Leave brakes, airbags, fuel, high voltage, lifting and structural welding to people qualified for them.
"""
