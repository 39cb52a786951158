"""What the numbers on the machine say, as the file of figures holds it."""

from __future__ import annotations

from buildlog.compute.identity.hin import HinReading
from buildlog.compute.identity.identity import IdentityFigures
from buildlog.compute.identity.vin import Finding, VinReading
from buildlog.handover.figures_file.spelling import Json


def write_identity(identity: IdentityFigures) -> Json:
    return {
        "vin": identity.vin and _write_vin_reading(identity.vin),
        "hin": identity.hin and _write_hin_reading(identity.hin),
        "light_year": identity.light_year,
        "chassis_number": identity.chassis_number,
        "engine_number": identity.engine_number,
        "registration": identity.registration,
        "notes": [*map(_write_finding, identity.notes)],
    }


def _write_vin_reading(vin_reading: VinReading) -> Json:
    return {
        "written": vin_reading.written,
        "text": vin_reading.text,
        "well_formed": vin_reading.well_formed,
        "check_digit": vin_reading.check_digit,
        "expected_digit": vin_reading.expected_digit,
        "model_years": vin_reading.model_years,
        "findings": [*map(_write_finding, vin_reading.findings)],
    }


SEVERITIES = {"error": "error", "warning": "doubt", "note": "note"}
"How grave a finding is, as every format so far spells it."


def _write_finding(finding: Finding) -> Json:
    """The finding by its rule: the words in which it is told are no figure."""
    return {"rule": finding.rule, "severity": SEVERITIES[finding.severity]}


def _write_hin_reading(hin_reading: HinReading) -> Json:
    return {
        "written": hin_reading.written,
        "text": hin_reading.text,
        "status": hin_reading.status,
        "format": hin_reading.format,
        "country": hin_reading.country,
        "maker": hin_reading.maker,
        "serial": hin_reading.serial,
        "month": hin_reading.month,
        "year": hin_reading.year,
        "model_year": hin_reading.model_year,
        "findings": [*map(_write_finding, hin_reading.findings)],
    }
