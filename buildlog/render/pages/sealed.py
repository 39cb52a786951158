"""Whether an entry is sealed, and its proof, on the entry's page."""

from __future__ import annotations

import string
from typing import Literal

from buildlog.frozen import frozen
from buildlog.read.records import Entry
from buildlog.record.published import EntryProof, EntryState
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import Link, When


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


def describe_sealed(context: PageContext, entry: Entry) -> SealedView:
    """Whether the entry is sealed, under which seal, and its proof."""
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


def _show_proof(entry: Entry, proof: EntryProof) -> ProofView:
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
