"""What can be found out about figures and pages without computing the log: by the tool, too, when computing did not do.

Whoever packs a bag can keep its log from being computed again here: by another program's name, a later format, entries
that take too long. So the same is checked then as the page that checks in a browser checks always, in its words
(`check_page/figures.js`, `check_page/proofs.js`): whether totals are the sums of their lines, and whether the proofs on
entries' pages lead to a seal. START-HERE.html,
CHECK.md and check.html follow from list and seals alone: they are always compared.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from html.parser import HTMLParser
from typing import Any

from buildlog.handover.bag import PAYLOAD, START_PAGE
from buildlog.handover.check_page import make_check_page
from buildlog.handover.check_text import summarise_seals, write_check_text
from buildlog.handover.figures_json import FORMAT
from buildlog.handover.findings import Flaw, tell
from buildlog.handover.handed_log import name_maker
from buildlog.handover.hashed_bag import HashedBag
from buildlog.handover.manifest import CHECK_PAGE, CHECK_TEXT, FIGURES, LOG, SEALS, SITE, Handover
from buildlog.handover.start_text import write_start_page
from buildlog.handover.unpack import Refused, tame
from buildlog.record.attest import LARGEST_REPLY
from buildlog.record.hashing import hash_leaf, hash_node
from buildlog.record.rules import LARGEST_FIGURES, LARGEST_PAGE, MOST_FIGURES, say
from buildlog.record.seals import BESIDE_NAME, Seal

# ── START-HERE.html, CHECK.md and check.html ──────────────────────────────────────────────────────────────────────────────────────


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


# ── sums ─────────────────────────────────────────────────────────────────────────────────────────────────────────

FILE = PAYLOAD + FIGURES
WAYS = ("by_month", "by_system", "by_kind", "by_supplier", "by_fault", "by_entry")
DECIMALS = 12
AMOUNT = re.compile(r"(-?)([0-9]{1,30})(?:\.([0-9]{1,12}))?")


class _NoFigures(ValueError):
    """The file does not say what can be added up."""


def check_sums(bag: HashedBag) -> list[Flaw]:
    """Whether the totals in `figures.json` are the sums of its lines; nothing of a later format or a missing file."""
    if FILE not in bag.sizes:
        return [Flaw(rule="missing", message="it is missing", file=FILE)]
    try:
        data = bag.read(FILE, LARGEST_FIGURES)
        # Before anything is built of it: each value takes far more memory than its signs.
        if sum(map(data.count, (b",", b"[", b"{"))) > MOST_FIGURES:
            return []
        figures = json.loads(data)
        if not isinstance(figures, dict) or type(figures.get("format")) is not int or figures["format"] < 1:
            raise _NoFigures(say("figures-unreadable:none"))
        return [] if figures["format"] > FORMAT else [*_SumCheck(figures).list_flaws()]
    except Refused as why:
        return [Flaw(rule=why.rule, message=why.message, file=FILE)]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as why:
        message = str(why) if isinstance(why, _NoFigures) else say("figures-unreadable:none")
        return [Flaw(rule="figures-unreadable", message=tame(message), file=FILE)]


def _to_units(text: Any) -> int:
    """An amount in whole numbers of its smallest decimal: nothing is rounded on the way."""
    match = AMOUNT.fullmatch(text) if isinstance(text, str) else None
    if not match:
        raise _NoFigures(say("figures-unreadable:amount", text=tame(str(text))))
    units = int(match[2] + (match[3] or "").ljust(DECIMALS, "0"))
    return -units if match[1] else units


def _to_text(units: int) -> str:
    digits = str(abs(units)).rjust(DECIMALS + 1, "0")
    text = f"{digits[:-DECIMALS]}.{digits[-DECIMALS:]}".rstrip("0").rstrip(".")
    return f"-{text}" if units < 0 else text


class _SumCheck:
    def __init__(self, figures: Mapping[str, Any]) -> None:
        self._costs: Mapping[str, Any] = figures["costs"]
        self._shelf: Mapping[str, Any] | None = figures.get("shelf")
        self._lines = [(line["sort"], _to_units(line["landed"])) for line in figures["lines"]]

    def list_flaws(self) -> Iterator[Flaw]:
        """Where a total is not the sum of its parts."""
        for name, written, made in self._list_sums():
            if _to_units(written) != made:
                yield tell("sum-wrong", FILE, name=tame(name), written=tame(written), made=_to_text(made))
        for way in WAYS:
            # Each line once: the amounts could add up with one counted twice and another left out.
            numbers = sorted(number for total in self._costs[way] for number in total["lines"])
            if numbers != sorted(self._costs["lines"]):
                yield tell("sum-wrong:lines", FILE, way=way)

    def _pick(self, numbers: Iterable[int], *sorts: str) -> int:
        found = [*numbers]
        # By the type, as `true` would pick line 1, and within the list, as -1 would pick the last line.
        if not all(type(number) is int and 0 <= number < len(self._lines) for number in found):
            raise _NoFigures(say("figures-unreadable:line"))
        lines = [self._lines[number] for number in found]
        return sum(landed for sort, landed in lines if not sorts or sort in sorts)

    def _list_sums(self) -> Iterator[tuple[str, str, int]]:
        """The name of each total, what is written for it, and what its parts make."""
        costs = self._costs
        yield "costs.spent", costs["spent"], self._pick(costs["lines"])
        yield "costs.paid", costs["paid"], self._pick(costs["lines"], "paid")
        yield "costs.refunded", costs["refunded"], -self._pick(costs["lines"], "refund")
        yield "costs.committed", costs["committed"], self._pick(costs["committed_lines"])
        yield "costs.recovered", costs["recovered"], self._pick(costs["recovered_lines"])
        yield "costs.net", costs["net"], _to_units(costs["spent"]) - _to_units(costs["recovered"])
        for way in WAYS:
            for total in costs[way]:
                yield f"costs.{way}: {total['name']}", total["amount"], self._pick(total["lines"])
            yield f"costs.{way}", costs["spent"], sum(_to_units(total["amount"]) for total in costs[way])
        yield from self._list_months()
        for row in costs["budget"]:
            bound = _to_units(row["spent"]) + _to_units(row["committed"])
            # Records of an earlier format know of nothing that is wanted.
            forecast = bound + _to_units(row.get("wanted", "0"))
            yield f"budget {row['system']}: forecast", row["forecast"], forecast
            yield f"budget {row['system']}: left", row["left"], _to_units(row["budget"]) - bound
        yield from self._list_later_sums()

    def _list_later_sums(self) -> Iterator[tuple[str, str, int]]:
        """What is in files since format 3: payments that make what an order cost, the shelf's worth by part."""
        for number, order in enumerate(self._costs["purchases"]):
            if "shares" in order and order["paid"] is not None:
                paid = sum(_to_units(amount) for share in order["shares"] for amount in share["lines"])
                yield f"costs.purchases[{number}]: shares", order["landed"]["landed"], paid
        if self._shelf is not None:
            yield "shelf.worth", self._shelf["worth"], sum(_to_units(item["worth"]) for item in self._shelf["items"])

    def _list_months(self) -> Iterator[tuple[str, str, int]]:
        running = 0
        for month in self._costs["months"]:
            name = month["month"]
            yield f"{name}: spent", month["spent"], self._pick(month["lines"], "paid", "refund")
            yield f"{name}: recovered", month["recovered"], self._pick(month["lines"], "sold")
            yield f"{name}: net", month["net"], _to_units(month["spent"]) - _to_units(month["recovered"])
            running += _to_units(month["net"])
            yield f"{name}: running", month["running"], running
        yield "the last month: running", self._costs["net"], running


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
