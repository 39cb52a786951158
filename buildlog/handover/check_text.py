"""What CHECK.md tells whoever was handed a bag: how to check it with stock tools, what it proves and what it only says.

Every command in it is meant to be run as it stands, in the bag's top folder. What it says of seals is read from their
files without any tool, so that the same seals give the same words everywhere.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from buildlog.frozen import frozen
from buildlog.handover.bag import MANIFEST, PAYLOAD, TAG_MANIFEST
from buildlog.handover.manifest import CHECK_PAGE, FIGURES, LIST, LOG, SEALS, SIGNERS, SITE, Handover
from buildlog.record.attest import NAMESPACE
from buildlog.record.attestation_metadata import read_key_blob, read_stamp_words
from buildlog.record.seals import BESIDE, LEAVES_FILE, Seal, name_beside
from buildlog.text import replace_unprintable


def summarise_seals(seals: Iterable[Seal], files: Mapping[str, bytes]) -> tuple[SealSummary, ...]:
    """Each seal with what lies beside it; `files` are those of `seals/` by name."""
    return tuple(
        SealSummary(
            seal=seal,
            signed=name_beside(seal.number, "signature") in files,
            stamped_at=_read_time(files.get(name_beside(seal.number, "stamp"))),
            has_authority=name_beside(seal.number, "authority") in files,
        )
        for seal in seals
    )


def _read_time(reply: bytes | None) -> int | None:
    time = read_stamp_words(reply)[0] if reply is not None else None
    return None if time is None else int(time.timestamp())


def list_signers(files: Mapping[str, bytes]) -> bytes:
    """The keys of all signatures in `files`, each once, as `ssh-keygen -Y verify` reads them; nothing without one."""
    found = {read_key_blob(data): None for name, data in sorted(files.items()) if name.endswith(BESIDE["signature"])}
    return b"".join(_write_signer(blob) for blob in found if blob)


def _write_signer(blob: bytes) -> bytes:
    """One line (ssh-keygen(1), ALLOWED SIGNERS); the blob begins with its kind as a string (RFC 4253, section 6.6)."""
    kind = blob[4 : 4 + int.from_bytes(blob[:4], "big")]
    if not kind.isascii() or not all(chr(byte).isalnum() or chr(byte) in "-@." for byte in kind):
        return b""
    return b'%s namespaces="%s" %s %s\n' % (SIGNER.encode(), NAMESPACE.encode(), kind, base64.b64encode(blob))


SIGNER = "owner"
"Under which name the keys stand in `allowed_signers`: the bag cannot say whose they are."


@frozen
class SealSummary:
    """One seal with what lies beside it, as CHECK.md tells it."""

    seal: Seal
    signed: bool
    stamped_at: int | None
    "when the authority says that it saw the seal, in seconds since 1970; None: no stamp, or one that cannot be read"
    has_authority: bool
    "whether the authority's certificates lie beside the stamp"


def write_check_text(handover: Handover, seals: Sequence[SealSummary], *, with_page: bool) -> bytes:
    """The file CHECK.md."""
    parts = (
        _tell_start(handover),
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
    return ("\n".join(part.strip() + "\n" for part in map("".join, parts))).encode()


def _tell_start(handover: Handover) -> str:
    return f"""# How to check this record

This is the record of **{_plain(handover.machine)}**, with all figures as of {handover.as_of}. You were handed all of
it, so that you can check it instead of trusting it. Nothing here needs an account or a connection.

- `{PAYLOAD}{SITE}index.html`: open it in a browser to read the record. Its service history prints. It shows prices,
  numbers and places that the public site may hide: do not put it on the internet.
- `{PAYLOAD}{LOG}`: what the owner wrote, the photos as the camera made them, the papers.
- `{PAYLOAD}{FIGURES}`: every figure that was computed, with the lines that make it.
- `{PAYLOAD}{SEALS}`: what was committed to, and when.
"""


def _tell_ways(with_page: bool) -> Iterator[str]:
    page = f"""
- **Open `{PAYLOAD}{CHECK_PAGE}`** in a browser and drop this folder on it. If you doubt whoever handed you this, take
  that page from a place that you trust instead: a page can be made to say anything."""
    yield f"""## Ways to check

- **With tools that your system has**, as told below. They come from others than the maker of this record.{
        page if with_page else ""
    }
- **With the tool that made it**: `buildlog verify` and the path of this folder or zip. It alone computes every figure
  again.
"""


def _tell_files() -> str:
    return f"""## The files are whole

Run these in the folder that holds `{MANIFEST}`. Each prints nothing when all is well. Where there is no
`sha256sum`, as on macOS, `shasum -a 256` does the same:

    sha256sum --quiet -c {TAG_MANIFEST}
    sha256sum --quiet -c {MANIFEST}

These two do not notice a file that was added. The next line prints what is not both there and in the list, so nothing
when all is well:

    (cut -c67- {MANIFEST}; find data -type f) | sort | uniq -u

This shows that the files are as they were when they were packed. Whoever packs can pack anything: what was there
*before* is for the seals.
"""


def _tell_seals(seals: Sequence[SealSummary]) -> Iterator[str]:
    yield "## The seals\n\n"
    if not seals:
        yield "The log was never sealed. Nothing here shows that anything was written when it says it was.\n"
        return
    last = seals[-1].seal
    yield f"""Each seal is a small file that commits to every file of the log at its day. The last one is of {last.date}
and counts {last.leaves} lines of `{PAYLOAD}{SEALS}{LEAVES_FILE}`, one for each file at one time. Its code is
**{last.code}**; compare it with what you noted when you first saw the public site. A code of another
seal that you noted is checked by `buildlog verify --code`, or by the page.
"""
    if len(seals) > 1:
        yield f"""
Each seal names the SHA-256 of the one before as `previous`, so that none can be exchanged alone:

    sha256sum {PAYLOAD}{SEALS}[0-9][0-9][0-9][0-9].json
    grep -o '"previous":"[0-9a-f]*"' {PAYLOAD}{SEALS}[0-9][0-9][0-9][0-9].json
"""
    yield f"""
Any file of the log can be looked up by its sum, which stands in a line of the list:

    grep -c "$(sha256sum {PAYLOAD}{LOG}log.yaml | cut -c1-64)" {PAYLOAD}{SEALS}{LEAVES_FILE}

That the list makes the root in the seal (RFC 9162) takes a program: `buildlog verify`, or the page.
"""


def _tell_stamps(seals: Sequence[SealSummary]) -> Iterator[str]:
    yield "## The time stamps\n\n"
    stamped = [told for told in seals if told.stamped_at is not None]
    if not stamped:
        yield "There is none (RFC 3161). The dates of the seals are the owner's word.\n"
        return
    yield "An authority of the owner's choice saw these seals at the times that it says (RFC 3161):\n\n"
    for told in stamped:
        seal, stamp = f"{PAYLOAD}{SEALS}{told.seal.name}", f"{PAYLOAD}{SEALS}{name_beside(told.seal.number, 'stamp')}"
        if told.has_authority:
            authority = f"{PAYLOAD}{SEALS}{name_beside(told.seal.number, 'authority')}"
            yield f"    openssl ts -verify -data {seal} -in {stamp} -CAfile {authority} -attime {told.stamped_at}\n"
        else:
            yield f"    openssl ts -reply -in {stamp} -text\n"
    yield f"""
The first form prints `Verification: OK`. It judges the authority's certificate as of the time of the stamp. That the
certificate belongs to somebody who tells the truth about time, you must judge; ask the authority for it yourself. The
second form, where no certificate was given, only prints what the stamp says. {LIBRESSL}
"""


LIBRESSL = """The `openssl` that macOS and OpenBSD
bring is LibreSSL, which has no `-attime`: install OpenSSL."""


def _tell_signatures(seals: Sequence[SealSummary]) -> Iterator[str]:
    yield "## The signatures\n\n"
    signed = [told.seal for told in seals if told.signed]
    if not signed:
        yield "There is none. Nothing here shows who made the seals.\n"
        return
    yield f"Whoever made these seals holds the keys that stand in `{PAYLOAD}{SIGNERS}`:\n\n"
    for seal in signed:
        path = f"{PAYLOAD}{SEALS}{seal.name}"
        beside = f"{PAYLOAD}{SEALS}{name_beside(seal.number, 'signature')}"
        signers = f"{PAYLOAD}{SIGNERS}"
        yield f"    ssh-keygen -Y verify -f {signers} -I {SIGNER} -n {NAMESPACE} -s {beside} < {path}\n"
    yield """
Each prints `Good "buildlog" signature`. The keys came with this bag, so this shows that one and the same holder signed,
and not who that is: let the owner show you the public key by another way, and compare. Seals that are not signed, after
others that are, can have been made by anybody.
"""


def _tell_rest() -> str:
    return """## The figures and the pages

That every total is the sum of its lines, that what is due is due, that the meter never falls, and that the pages print
what the entries say: `buildlog verify` reads the entries, computes everything again and compares. It makes the pictures
of the pages again from the photos, too. Without it, look at the photos in `data/log/photos/`, not at the pages alone.
"""


def _tell_withheld(handover: Handover) -> Iterator[str]:
    yield "## What is withheld\n\n"
    if not handover.withheld:
        yield "Nothing: all files that seals speak of are here.\n"
        return
    yield "The owner kept these files back. Ask why, and ask to see them: a sealed one can be shown later and its sum\n"
    yield f"compared. They stand in `{PAYLOAD}{LIST}` too.\n\n"
    for held in handover.withheld:
        sealed = f"sealed, line {held.leaf + 1} of the list" if held.leaf is not None else "never sealed"
        yield f"- `{_plain(held.path)}` ({held.digest.size} bytes, SHA-256 {held.digest.sha256}; {sealed})\n"


def _plain(text: str) -> str:
    """An owner's words without what Markdown would obey."""
    return re.sub(r"[`*<>\[\]|]", " ", replace_unprintable(text, " "))


WORTH = """## What this proves, what it only says, what is missing

**It proves** that the files agree with their lists, so that no accident has changed one; where there are seals, that
the log's files are those that were sealed, that nothing sealed was rewritten without a trace, and that later changes
stand as such with their reason. It proves that the figures and pages follow from the entries.

**No tool can find a record that was made anew as a whole.** Whoever wants to can write a log, with all its seals,
figures and pages, in one evening; everything in it agrees, and everything here holds. The one remedy is something from
outside of this record, from before: the code of a seal that you noted when you saw it months ago, a copy of it, a time
stamp of an authority that you trust, or a key that you know to be the owner's. Compare what you have with what stands
above. If no seal here has the code that you kept, this is not the record that you saw.

**It only says** what the owner wrote: that a part was fitted, a job done, a reading read, a price paid. Where a paper
or a picture backs it, the record says so: look at it. A seal without a time stamp carries the date that the owner gave
it.

**It cannot show** what was left out. Entries that were never written, or that were dropped before the first seal,
cannot be found out by anybody. A log that was sealed for the first time last week says nothing about the years before.
"""
CAUTIONS = """## Cautions

This records claims and evidence. It is no inspection, warranty or valuation. Have the machine looked at by somebody
who is qualified, before you pay and before you use it.

Torques, fluids, checks and intervals in it are this owner's record, not instructions: follow the maker's manual and
local law. Leave brakes, airbags, fuel, high voltage, lifting and structural welding to people qualified for them.
"""
