"""How a claim is backed, as pages show it."""

from __future__ import annotations

from buildlog.problems import Place
from buildlog.reckon.evidence.claims import Level as ReckonedLevel
from buildlog.site.pages.edition import Edition
from buildlog.site.pieces import Evidence, Level

LEVELS: dict[ReckonedLevel, Level] = {
    "on paper": "paper",
    "in pictures": "pictures",
    "stated": "stated",
    "handed down": "handed",
}
"The theme's names of the levels."


def evidence_of(edition: Edition, place: Place) -> Evidence | None:
    """The evidence of the claim that a record makes, by the record's place; None where it claims nothing."""
    claim = edition.claims.get(place)
    return show_level(edition, claim.level, claim.paper) if claim else None


def show_level(edition: Edition, level: ReckonedLevel, paper: str | None = None) -> Evidence:
    """A level in words, leading to the paper where papers are published."""
    link = edition.paper_link(paper)
    return Evidence(level=LEVELS[level], text=level, href=link.href if link else "")
