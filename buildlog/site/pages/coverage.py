"""How far the log is backed, kind by kind of claim, as the service history and the record page show it."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.reckon.evidence.claims import ClaimKind
from buildlog.reckon.evidence.coverage import Coverage
from buildlog.site.pages.edition import Edition
from buildlog.site.view_service import CoverageRow

CLAIM_NAMES: dict[ClaimKind, str] = {
    "money": "Money",
    "fitting": "Parts fitted",
    "service": "Service done",
    "reading": "Meter readings",
    "fix": "Faults fixed",
    "history": "Handed-down history",
}


def list_coverage(edition: Edition) -> tuple[CoverageRow, ...]:
    """All claims, each kind of claim, and the money by amount; nothing where nothing is claimed."""
    return tuple(_list_rows(edition))


def _list_rows(edition: Edition) -> Iterator[CoverageRow]:
    evidence = edition.figures.evidence
    if not evidence.claims:
        return
    yield _describe(edition, "All claims", evidence.coverage)
    for kind, coverage in evidence.by_kind.items():
        yield _describe(edition, CLAIM_NAMES[kind], coverage)
    money = evidence.by_kind.get("money")
    if money and edition.prices != "hidden":
        yield CoverageRow(
            claims="Money, by amount",
            total=edition.money(evidence.money),
            **{
                level: f"{edition.money(row.money)} ({edition.words.number(row.money_percent)} %)"
                for level, row in zip(("paper", "pictures", "stated", "handed"), money, strict=True)
            },
        )


def _describe(edition: Edition, name: str, coverage: tuple[Coverage, ...]) -> CoverageRow:
    paper, pictures, stated, handed = (
        f"{row.claims} ({edition.words.number(row.claims_percent)} %)" if row.claims else "0" for row in coverage
    )
    total = str(sum(row.claims for row in coverage))
    return CoverageRow(claims=name, total=total, paper=paper, pictures=pictures, stated=stated, handed=handed)
