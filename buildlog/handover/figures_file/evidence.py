"""What the log claims, and what backs each claim."""

from __future__ import annotations

from buildlog.compute.evidence.claims import Claim
from buildlog.compute.evidence.coverage import Coverage, EvidenceFigures
from buildlog.handover.figures_file.spelling import Json


def write_evidence(evidence: EvidenceFigures) -> Json:
    return {
        "claims": [*map(_write_claim, evidence.claims)],
        "coverage": [*map(_write_coverage, evidence.coverage)],
        "by_kind": {key: [*map(_write_coverage, found)] for key, found in evidence.by_kind.items()},
        "money": evidence.money,
        "gaps": [*map(_write_claim, evidence.gaps)],
    }


def _write_claim(claim: Claim) -> Json:
    return {
        "kind": claim.kind,
        "date": claim.date,
        "when": claim.when,
        "what": claim.what,
        "level": claim.level,
        "paper": claim.paper,
        "entry": claim.entry,
        "place": claim.place,
        "amount": claim.amount,
    }


def _write_coverage(coverage: Coverage) -> Json:
    return {
        "level": coverage.level,
        "claims": coverage.claims,
        "claims_percent": coverage.claims_percent,
        "money": coverage.money,
        "money_percent": coverage.money_percent,
    }
