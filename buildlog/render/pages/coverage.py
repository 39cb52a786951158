"""How a claim is backed, as pages show it; how far the log is backed, kind by kind; which claims nothing backs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildlog.compute.evidence.claims import LEVEL_WORDS, Claim, ClaimKind, show_amount
from buildlog.compute.evidence.claims import Level as ClaimLevel
from buildlog.compute.evidence.coverage import Coverage
from buildlog.frozen import frozen, kept
from buildlog.problems import Place
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import Evidence, Level, Link, When
from buildlog.text import to_say


@frozen
class CoverageRow:
    """How one kind of claim is backed."""

    claims: str
    "`Fittings`, `Money`"
    total: str
    "`26`, or an amount"
    paper: str
    "share on paper: `19 (73 %)`"
    pictures: str
    "share in pictures"
    stated: str
    "share with only the owner's word"
    handed: str
    "share with only an earlier owner's word"


LEVELS: dict[ClaimLevel, Level] = {
    "on paper": "paper",
    "in pictures": "pictures",
    "stated": "stated",
    "handed down": "handed",
}
"The theme's names of the levels."
LETTERS: dict[Level, str] = {"paper": "P", "pictures": "C", "stated": "W", "handed": "E"}
"""Paper, camera, word, earlier owner. Each stands in its level's words, and so is soon known by heart; an O, for owner,
would look like a ring in its box."""


def evidence_of(context: PageContext, place: Place) -> Evidence | None:
    """The evidence of the claim that a record makes, by the record's place; None where it claims nothing."""
    claim = context.claims.get(place)
    return _show_backing(context, (claim.level, claim.paper)) if claim else None


@kept
def _show_backing(context: PageContext, backing: tuple[ClaimLevel, str | None]) -> Evidence:
    return show_level(context, *backing)


def show_level(context: PageContext, level: ClaimLevel, paper: str | None = None) -> Evidence:
    """A level in words, leading to the paper where papers are published."""
    link = context.paper_link(paper)
    name, text = LEVELS[level], context.words.say(LEVEL_WORDS[level])
    return Evidence(level=name, letter=LETTERS[name], text=text, href=link.href if link else "")


def list_legend(context: PageContext, shown: Iterable[Evidence | None]) -> tuple[Evidence, ...]:
    """What the letters of a page mean, each once, strongest first."""
    levels = {evidence.level for evidence in shown if evidence}
    # Only those on the page: with fewer letters there is less to look up.
    return tuple(show_level(context, level) for level in LEVELS if LEVELS[level] in levels)


CLAIM_NAMES: dict[ClaimKind, str] = {
    "money": to_say("Money"),
    "fitting": to_say("Parts fitted"),
    "service": to_say("Service done"),
    "reading": to_say("Meter readings"),
    "fix": to_say("Faults fixed"),
    "history": to_say("Before this log"),
}


def list_levels(context: PageContext) -> tuple[Evidence, ...]:
    """Every level, strongest first, as the columns of the coverage and the legend beside it; nothing where nothing is
    claimed."""
    return tuple(show_level(context, level) for level in LEVELS) if context.figures.evidence.claims else ()


def list_coverage(context: PageContext) -> tuple[CoverageRow, ...]:
    """All claims, each kind of claim, and the money by amount; nothing where nothing is claimed."""
    return tuple(_list_rows(context))


def _list_rows(context: PageContext) -> Iterator[CoverageRow]:
    evidence = context.figures.evidence
    if not evidence.claims:
        return
    yield _describe(context, context.words.say("All claims"), evidence.coverage)
    for kind, coverage in evidence.by_kind.items():
        yield _describe(context, context.words.say(CLAIM_NAMES[kind]), coverage)
    # By amount as well: ten receipts for bolts say little if the engine has none.
    money = evidence.by_kind.get("money")
    if money and context.prices == "shown":
        yield CoverageRow(
            claims=context.words.say("Money, by amount"),
            total=context.line_money(evidence.money),
            **{
                level: f"{context.line_money(row.money)} ({context.words.number(row.money_percent)} %)"
                for level, row in zip(("paper", "pictures", "stated", "handed"), money, strict=True)
            },
        )


def _describe(context: PageContext, name: str, coverage: tuple[Coverage, ...]) -> CoverageRow:
    paper, pictures, stated, handed = (
        # The number first: a percentage of three claims sounds like more than it is.
        f"{row.claims} ({context.words.number(row.claims_percent)} %)" if row.claims else "0"
        for row in coverage
    )
    total = str(sum(row.claims for row in coverage))
    return CoverageRow(claims=name, total=total, paper=paper, pictures=pictures, stated=stated, handed=handed)


@frozen
class EvidenceGap:
    """A claim with nothing but the owner's word behind it."""

    what: str
    "`Lift pump fitted`, `reading 71,000 km`"
    when: When
    "no more exact than it is known"
    amount: str = ""
    "empty unless prices are shown"
    entry: Link
    "the entry that claims it, or `log.yaml`"


# Twelve are read, eighty are skipped. The largest amounts come first, so these are the ones to ask about.
MOST_GAPS = 12
"Claims without backing that the page lists; the coverage counts them all."


def list_evidence_gaps(context: PageContext) -> tuple[EvidenceGap, ...]:
    """The claims that only somebody's word backs, the largest amounts first; where those are closed, the oldest."""
    gaps = context.figures.evidence.gaps
    # Their order would tell which of two closed prices is the greater.
    if context.prices != "shown":
        gaps = tuple(sorted(gaps, key=lambda claim: (claim.amount is None, claim.when, claim.place)))
    return tuple(_describe_gap(context, claim) for claim in gaps[:MOST_GAPS])


def _describe_gap(context: PageContext, claim: Claim) -> EvidenceGap:
    # Claims name most things by their keys.
    what, say = claim.what, context.words.say
    if claim.kind == "fitting":
        what = say("%(part)s fitted", part=context.part_link(what).text)
    elif claim.kind == "service":
        what = say("%(job)s done", job=context.item_link(what).text)
    elif claim.kind == "fix":
        what = say("%(fault)s: fixed", fault=context.fault_name(what))
    elif claim.kind == "reading":
        what = say("reading %(reading)s", reading=_say_reading(context, claim))
    elif claim.kind == "money":
        what = _name_money(context, claim)
    elif claim.kind == "history":
        what = context.owner_text(what)
    return EvidenceGap(
        what=what,
        when=context.partial_text(claim.when),
        amount=context.line_money(claim.amount) if claim.amount is not None else "",
        # `log.yaml` is not part of the site, so there is nothing to lead to.
        entry=context.entry_link(claim.entry) if claim.entry else Link(text="log.yaml"),
    )


def _say_reading(context: PageContext, claim: Claim) -> str:
    """The reading with its unit; a change of meter as it was written."""
    entry = context.entries.get(claim.entry or "")
    change = entry.meter_changed if entry else None
    if change and change.place == claim.place:
        old, new = show_amount(change.old), show_amount(change.new)
        return context.words.say("%(before)s, then %(after)s", before=old, after=new)
    return context.reading_at(claim.place) or claim.what


def _name_money(context: PageContext, claim: Claim) -> str:
    """What a claim about money is called; where suppliers are hidden an order and its number are not."""
    # Money always stands in an entry.
    entry, say = context.entries[claim.entry or ""], context.words.say
    for order in entry.bought:
        if order.place == claim.place:
            names = filter(None, [context.supplier(order.supplier), context.order_ref(order.ref)])
            return ", ".join(names) or say("an order")
    for back in entry.returned:
        if back.place == claim.place:
            ref = context.order_ref(back.ref)
            return say("returned on %(ref)s", ref=ref) if ref else say("money that came back")
    sold = next(sold for sold in entry.sold if sold.place == claim.place)
    what = context.owner_text(sold.what or sold.name) or context.part_link(sold.part or "").text
    return say("sold %(what)s", what=what)
