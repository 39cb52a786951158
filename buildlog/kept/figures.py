"""Figures that are computed when somebody asks for one: of what is kept, only their problems are told at once."""

from __future__ import annotations

import datetime
from dataclasses import fields
from typing import Any, cast

from buildlog.compute.figures import Figures, compute_figures, cut_to_day
from buildlog.kept.readings import StoredReadings
from buildlog.kept.store import Store
from buildlog.kept.values import decode, encode
from buildlog.problems import Problem
from buildlog.read.records import Log


class DeferredFigures(Figures):
    """The figures of a log, of which those that take time are computed together when the first is asked for."""

    __slots__ = ()

    # Its other fields are left empty, so that they are asked for below.
    def __new__(cls, log: Log, as_of: datetime.date, problems: tuple[Problem, ...]) -> DeferredFigures:
        self = object.__new__(cls)
        entries, pages = cut_to_day(log, as_of).entries, log.list_pages(as_of)
        known = {"log": log, "as_of": as_of, "entries": entries, "pages": pages, "problems": problems}
        for name, value in known.items():
            object.__setattr__(self, name, value)
        return self

    def __getattr__(self, name: str) -> Any:
        if name not in (each.name for each in fields(Figures)):
            raise AttributeError(name)
        computed = compute_figures(self.log, self.as_of)
        for each in fields(Figures):
            object.__setattr__(self, each.name, getattr(computed, each.name))
        return getattr(self, name)


def find_figures_key(store: Store, readings: StoredReadings, log: Log, as_of: datetime.date) -> bytes:
    """The key of all that is computed from a log as of a day: no story is among it."""
    signs = [part for path, sign in sorted(readings.signs.items()) for part in (path, sign)]
    around = sorted(log.papers), dict(log.photos), dict(log.spelt)
    return store.make_key("figures", as_of.isoformat(), encode(around), *signs)


def find_figures(store: Store, key: bytes, log: Log, as_of: datetime.date) -> Figures:
    """The figures, not computed yet where their problems are known."""
    data = store.find_one(key)
    problems = cast("tuple[Problem, ...] | None", decode(tuple[Problem, ...], data)) if data else None
    if problems is not None:
        return DeferredFigures(log, as_of, problems)
    figures = compute_figures(log, as_of)
    store.keep({key: encode(figures.problems)})
    return figures
