"""Faults for tests: a plan of components and strip-downs as an owner writes it, and entries about what was found."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date

from buildlog.compute.faults.check_order import CheckOrder, find_check_order
from buildlog.compute.faults.faults import FaultFigures, FaultsFigures
from buildlog.compute.figures import compute_figures
from buildlog.read.records import Log
from tests.support import log_of

BASE = "machine: {name: Test machine, meter: {unit: km}}\nmoney: {currency: GBP}\nsystems: {fuel: Fuel}\n"


def figure_faults(*heads: str, plan: str = "", as_of: str = "2025-01-01") -> FaultsFigures:
    """The faults of entries with a plan of components."""
    return faults_of(log_of(*heads, settings=BASE + plan), as_of)


def faults_of(log: Log, as_of: str = "2025-01-01") -> FaultsFigures:
    """The faults of a log."""
    return compute_figures(log, date.fromisoformat(as_of)).faults


def make_fault(suspects: Iterable[str], plan: str) -> tuple[Log, FaultFigures]:
    """A log with one fault, and that fault."""
    head = f"date: 2024-05-01\nfaults: {{fault: f, name: F, suspects: [{', '.join(suspects)}]}}"
    log = log_of(head, settings=BASE + plan)
    (fault,) = faults_of(log).faults
    return log, fault


def find_order(suspects: Iterable[str], plan: str, *, off: Collection[str] = ()) -> CheckOrder:
    """Where to look next among suspects, with some strip-downs off."""
    log, fault = make_fault(suspects, plan)
    return find_check_order(fault, log.settings, off=off)
