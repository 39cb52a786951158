"""How a claim is backed, as pages show it, and how far the log is backed, kind by kind of claim."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildlog.compute.evidence.claims import LEVEL_WORDS, ClaimKind
from buildlog.compute.evidence.claims import Level as ClaimLevel
from buildlog.compute.evidence.coverage import Coverage
from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import Evidence, Level


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
    return show_level(context, claim.level, claim.paper) if claim else None


def show_level(context: PageContext, level: ClaimLevel, paper: str | None = None) -> Evidence:
    """A level in words, leading to the paper where papers are published."""
    link = context.paper_link(paper)
    name = LEVELS[level]
    return Evidence(level=name, letter=LETTERS[name], text=LEVEL_WORDS[level], href=link.href if link else "")


def list_legend(context: PageContext, shown: Iterable[Evidence | None]) -> tuple[Evidence, ...]:
    """What the letters of a page mean, each once, strongest first."""
    levels = {evidence.level for evidence in shown if evidence}
    return tuple(show_level(context, level) for level in LEVELS if LEVELS[level] in levels)


CLAIM_NAMES: dict[ClaimKind, str] = {
    "money": "Money",
    "fitting": "Parts fitted",
    "service": "Service done",
    "reading": "Meter readings",
    "fix": "Faults fixed",
    "history": "Handed-down history",
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
    yield _describe(context, "All claims", evidence.coverage)
    for kind, coverage in evidence.by_kind.items():
        yield _describe(context, CLAIM_NAMES[kind], coverage)
    money = evidence.by_kind.get("money")
    if money and context.prices != "hidden":
        yield CoverageRow(
            claims="Money, by amount",
            total=context.money(evidence.money),
            **{
                level: f"{context.money(row.money)} ({context.words.number(row.money_percent)} %)"
                for level, row in zip(("paper", "pictures", "stated", "handed"), money, strict=True)
            },
        )


def _describe(context: PageContext, name: str, coverage: tuple[Coverage, ...]) -> CoverageRow:
    paper, pictures, stated, handed = (
        f"{row.claims} ({context.words.number(row.claims_percent)} %)" if row.claims else "0" for row in coverage
    )
    total = str(sum(row.claims for row in coverage))
    return CoverageRow(claims=name, total=total, paper=paper, pictures=pictures, stated=stated, handed=handed)
