"""What can be found out about figures and pages without computing the log: by the tool, too, when computing did not do.

Whoever packs a bag can keep its log from being computed again here: by another program's name, a later format, entries
that take too long. So the same is checked then as the page that checks in a browser checks always, in its words:
whether figures agree with themselves (`figure_sums.py`), and whether the proofs on entries' pages lead to a seal
(`check_page/proofs.js`). START-HERE.html,
CHECK.md and check.html follow from list and seals alone: they are always compared.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from html.parser import HTMLParser

from buildlog.handover.bag import PAYLOAD, START_PAGE
from buildlog.handover.bag_texts import summarise_seals, write_check_text, write_start_page
from buildlog.handover.check_page import make_check_page
from buildlog.handover.findings import Flaw
from buildlog.handover.handed_log import name_maker
from buildlog.handover.hashed_bag import HashedBag
from buildlog.handover.manifest import CHECK_PAGE, CHECK_TEXT, LOG, SEALS, SITE, Handover
from buildlog.handover.unpack import Refused
from buildlog.record.attest import LARGEST_REPLY
from buildlog.record.hashing import hash_leaf, hash_node
from buildlog.record.rules import LARGEST_PAGE, say
from buildlog.record.seals import BESIDE_NAME, Seal

# ── START-HERE.html, CHECK.md and check.html ─────────────────────────────────────────────────────────────────────────


def check_aids(bag: HashedBag, handover: Handover, seals: Sequence[Seal]) -> tuple[list[Flaw], list[Flaw]]:
    """Flaws and notes about the files that tell a buyer how to check: a liar's would lead the buyer astray.

    Another version of the program may word them otherwise, so of a bag that one made a difference is a note.
    """
    made = {PAYLOAD + CHECK_TEXT: _write_text(bag, handover, seals)}
    # Bags of earlier versions have none; of what this very program packed, none may be missing.
    if START_PAGE in bag.sizes or handover.made_by == name_maker():
        made[START_PAGE] = write_start_page(handover, seals, paths=_list_paths(bag, handover))
    if PAYLOAD + CHECK_PAGE in bag.sizes:
        made[PAYLOAD + CHECK_PAGE] = make_check_page()
    missing = [name for name in made if name not in bag.sizes]
    told = [
        Flaw(rule="page-missing", message="the entries make this file, but it is not here", file=n) for n in missing
    ]
    # By checksum: neither file is read again.
    differ = [name for name, content in made.items() if name in bag.sizes and not bag.has(name, content)]
    # Only the very program that is named has no excuse for other words.
    if handover.made_by == name_maker():
        told += [Flaw(rule="page-differs", message="it is not what the entries make", file=name) for name in differ]
        return told, []
    message = "it is not the one that this program makes: check by one that comes from elsewhere"
    return told, [Flaw(rule="pages-say-other", message=message, file=name) for name in differ]


def _write_text(bag: HashedBag, handover: Handover, seals: Sequence[Seal]) -> bytes:
    start = PAYLOAD + SEALS
    names = [name for name in sorted(bag.sizes) if name.startswith(start) and BESIDE_NAME.fullmatch(name[len(start) :])]
    beside = {name[len(start) :]: bag.read_start(name, LARGEST_REPLY) for name in names if name not in bag.damaged}
    told = summarise_seals(seals, beside)
    paths = _list_paths(bag, handover)
    return write_check_text(handover, told, paths=paths, with_page=PAYLOAD + CHECK_PAGE in bag.sizes)


def _list_paths(bag: HashedBag, handover: Handover) -> list[str]:
    log = PAYLOAD + LOG
    return [handover.owner_path(name.removeprefix(log)) for name in bag.sizes if name.startswith(log)]


# ── proofs ───────────────────────────────────────────────────────────────────────────────────────────────────────

ENTRY_PAGE = re.compile(rf"{PAYLOAD}{SITE}(?:entries|pages)/[^/]+\.html")
HASH = re.compile(r"[0-9a-f]{64}")
COUNT = re.compile(r"[0-9]{1,15}")


def check_proofs(bag: HashedBag, seals: Sequence[Seal]) -> Iterator[Flaw]:
    """Whether the proof that each entry's page carries leads from its leaf to the root of a seal that is here."""
    roots = {f"{seal.root} {seal.leaves}": seal for seal in seals}
    for name in sorted(filter(ENTRY_PAGE.fullmatch, bag.sizes)):
        try:
            why = _explain(_read_proof(bag.read(name, LARGEST_PAGE)), roots)
        except Refused as refused:
            yield Flaw(rule="unreadable", message=refused.message, file=name)
            continue
        if why:
            yield Flaw(rule="proof-wrong", message=why, file=name)


def _explain(proof: _Proof, roots: Mapping[str, Seal]) -> str:
    """Why a proof does not hold; nothing where it does, or where there is none."""
    if "proof-leaf" not in proof.texts:
        return ""
    texts = {name: "".join(parts) for name, parts in proof.texts.items()}
    index, size, root = (texts.get(f"proof-{name}", "").strip() for name in ("index", "size", "root"))
    # A root of the bag's seals, and not just the one that the page tells: any page can lead to a root of its own.
    seal = roots.get(f"{root} {size}")
    if seal is None:
        return say("proof-wrong")
    path = ["".join(parts).strip() for parts in proof.path]
    if not all(map(HASH.fullmatch, path)):
        return say("proof-wrong:path")
    steps = [bytes.fromhex(one) for one in path]
    start = hash_leaf(texts["proof-leaf"].encode("utf-8", "replace"))
    # Digits alone, and not too many: `int` also takes signs, blanks and `1_000`.
    climbed = climb(start, int(index), int(size), steps) if COUNT.fullmatch(index) and COUNT.fullmatch(size) else None
    return "" if climbed and climbed.hex() == root else say("proof-wrong:root", seal=seal.name)


def climb(start: bytes, index: int, size: int, path: Iterable[bytes]) -> bytes | None:
    """The root that a path leads to from a leaf's hash; None where it is none for that place (RFC 9162, s. 2.1.3.2)."""
    if not 0 <= index < size:
        return None
    at, last, found = index, size - 1, start
    for other in path:
        if not last:
            return None
        if at & 1 or at == last:
            found = hash_node(other, found)
            while at and not at & 1:
                at, last = at >> 1, last >> 1
        else:
            found = hash_node(found, other)
        at, last = at >> 1, last >> 1
    return found if not last else None


class _Proof(HTMLParser):
    """The texts of the elements of a page that make a proof."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: dict[str, list[str]] = {}
        self.path: list[list[str]] = []
        self._open: list[tuple[str, list[str]]] = []
        self._in_path = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Elements are known by their id, steps of the path by the list that they stand in."""
        id = dict(attrs).get("id") or ""
        self._in_path |= id == "proof-path"
        if id.startswith("proof-") and id not in self.texts:
            self.texts[id] = []
            self._open.append((tag, self.texts[id]))
        elif self._in_path and tag == "code":
            self.path.append([])
            self._open.append((tag, self.path[-1]))

    def handle_endtag(self, tag: str) -> None:
        """None of the elements has another of its kind inside."""
        self._in_path &= tag != "ol"
        self._open = [one for one in self._open if one[0] != tag]

    def handle_data(self, data: str) -> None:
        """Words belong to each element that is open."""
        for _, parts in self._open:
            parts.append(data)


def _read_proof(page: bytes) -> _Proof:
    proof = _Proof()
    proof.feed(page.decode("utf-8", "replace"))
    proof.close()
    return proof
