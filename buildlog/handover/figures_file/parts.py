"""What is on the machine, on the shelf and in the post, and the life of each part."""

from __future__ import annotations

from buildlog.compute.parts.fittings import Fitting, SystemFittings
from buildlog.compute.parts.part_history import LifeEvent, PartFigures, PartsFigures
from buildlog.compute.parts.suppliers import InThePost, SupplierFigures
from buildlog.handover.figures_file import Json


def write_parts(parts: PartsFigures) -> Json:
    return {"parts": [*map(_write_part, parts.parts)], "suppliers": [*map(_write_supplier, parts.suppliers)]}


def _write_part(part: PartFigures) -> Json:
    return {
        "key": part.key,
        "aliases": part.aliases,
        "name": part.name,
        "numbers": part.numbers,
        "maker": part.maker,
        "system": part.system,
        "unit": part.unit,
        "spec": part.spec,
        "single_use": part.single_use,
        "original": part.original,
        "bought": part.bought,
        "came_with": part.came_with,
        "cancelled": part.cancelled,
        "arrived": part.arrived,
        "fitted": part.fitted,
        "removed": part.removed,
        "kept": part.kept,
        "returned": part.returned,
        "sold": part.sold,
        "scrapped": part.scrapped,
        "gone": part.gone,
        "on_machine": part.on_machine,
        "shelf": part.shelf,
        "in_the_post": part.in_the_post,
        "life": [*map(_write_life_event, part.life)],
    }


def _write_life_event(life_event: LifeEvent) -> Json:
    return {
        "kind": life_event.kind,
        "date": life_event.date,
        "qty": life_event.qty,
        "entry": life_event.entry,
        "place": life_event.place,
        "reading": life_event.reading,
        "supplier": life_event.supplier,
        "ref": life_event.ref,
        "at": life_event.at,
        "instead_of": life_event.instead_of,
        "why": life_event.why,
        "fate": life_event.fate,
    }


def _write_supplier(supplier: SupplierFigures) -> Json:
    return {
        "name": supplier.name,
        "orders": supplier.orders,
        "arrived": supplier.arrived,
        "median_days": supplier.median_days,
        "longest_days": supplier.longest_days,
        "returns": supplier.returns,
    }


def write_system_fittings(system_fittings: SystemFittings) -> Json:
    return {"system": system_fittings.system, "fittings": [*map(_write_fitting, system_fittings.fittings)]}


def _write_fitting(fitting: Fitting) -> Json:
    return {
        "key": fitting.key,
        "name": fitting.name,
        "at": fitting.at,
        "qty": fitting.qty,
        "since": fitting.since,
        "until": fitting.until,
        "fitted_in": fitting.fitted_in,
        "removed_in": fitting.removed_in,
        "ended": fitting.ended,
        "why": fitting.why,
        "fate": fitting.fate,
        "replaces": fitting.replaces,
        "earlier": fitting.earlier,
        "planned": fitting.planned,
        "system": fitting.system,
        "spec": fitting.spec,
        "paper": fitting.paper,
        "note": fitting.note,
        "start_reading": fitting.start_reading,
        "end_reading": fitting.end_reading,
        "age_days": fitting.age_days,
        "distance": fitting.distance,
        "place": fitting.place,
    }


def write_in_the_post(in_the_post: InThePost) -> Json:
    return {
        "key": in_the_post.key,
        "name": in_the_post.name,
        "qty": in_the_post.qty,
        "unit": in_the_post.unit,
        "supplier": in_the_post.supplier,
        "ref": in_the_post.ref,
        "ordered": in_the_post.ordered,
        "days": in_the_post.days,
        "entry": in_the_post.entry,
        "landed": in_the_post.landed,
        "paid": in_the_post.paid,
    }
