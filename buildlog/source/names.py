"""Whether every name in the log leads somewhere: systems, service items, components, strip-downs, papers, photos.

Parts, orders, faults and temporary measures are made known by entries in the order of time, so they are followed
where their story is reckoned.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from buildlog.problems import Place, Problem, suggest, tell_some
from buildlog.source.records import Entry, Fitted, Log, Record, Removed, Settings, Sold


def check_names(log: Log, files: Collection[str]) -> list[Problem]:
    """A problem for each name that leads nowhere, with the nearest that would.

    `files` are the names of all entries on disk, those that could not be read included.
    """
    problems = list(tell_some(_check_settings(log.settings)))
    for entry in log.entries:
        problems += tell_some(_check_entry(entry, log.settings))
        problems += tell_some(_check_photos(entry, log.photos.get(entry.name, ())))
    problems += _check_photo_folders(log, files)
    problems += _check_papers(log)
    return problems


def _check_settings(settings: Settings) -> Iterator[Problem]:
    known = settings.systems
    for component in settings.components.values():
        yield from _check(component, "system", [component.system], known, "system")
        yield from _check(component, "driven_by", [component.driven_by], settings.components, "component")
        yield from _check(component, "reached_by", [component.reached_by], settings.strip_downs, "strip-down")
    for strip_down in settings.strip_downs.values():
        yield from _check(strip_down, "after", strip_down.after, settings.strip_downs, "strip-down")
    for item in settings.service.values():
        yield from _check(item, "system", [item.system], known, "system")
        yield from _check(item, "covers", item.covers, settings.components, "component")
    yield from _check(settings.money, "budget", settings.money.budget, known, "system")
    for event in settings.history:
        yield from _check(event, "serviced", event.serviced, settings.service, "service item")


def _check_entry(entry: Entry, settings: Settings) -> Iterator[Problem]:
    systems = settings.systems
    yield from _check(entry, "systems", entry.systems, systems, "system")
    for order in entry.bought:
        for line in order.lines:
            yield from _check(line, "system", [line.system], systems, "system")
    movers: tuple[Fitted | Removed | Sold, ...] = (*entry.fitted, *entry.removed, *entry.sold)
    for record in movers:
        yield from _check(record, "system", [record.system], systems, "system")
    for done in entry.serviced:
        yield from _check(done, "item", [done.item], settings.service, "service item")
        yield from _check(done, "looked_at", done.looked_at, settings.components, "component")
    yield from _check(entry, "stripped", entry.stripped, settings.strip_downs, "strip-down")
    yield from _check(entry, "refitted", entry.refitted, settings.strip_downs, "strip-down")
    for measure in entry.temporary:
        yield from _check(measure, "behind", [measure.behind], settings.strip_downs, "strip-down")
    groups = {component.driven_by for component in settings.components.values() if component.driven_by}
    suspects = set(settings.components) | groups
    for fault in entry.faults:
        yield from _check(fault, "suspects", fault.suspects, suspects, "component")
    for check in entry.checks:
        yield from _check(check, "clears", check.clears, suspects, "component")
        yield from _check(check, "cause", [check.cause], suspects, "component")


def _check(
    record: Record, field: str, names: Iterable[str | None], known: Collection[str], what: str
) -> Iterator[Problem]:
    for name in names:
        if name is not None and name not in known:
            help = suggest(name, known) or "add it to `log.yaml`, or correct it here"
            yield Problem(
                rule=f"unknown-{what.replace(' ', '-')}",
                message=f"there is no {what} `{name}` in `log.yaml`",
                place=record.spot(field, name),
                help=help,
            )


def _check_photos(entry: Entry, present: Collection[str]) -> Iterator[Problem]:
    for photo in entry.photos:
        if photo.file not in present:
            help = suggest(photo.file, present) or f"put it into `photos/{entry.name}/`"
            message = f"there is no picture `{photo.file}` in `photos/{entry.name}/`"
            yield Problem(rule="missing-photo", message=message, place=photo.spot("file"), help=help, severity="doubt")
        elif not photo.says:
            message = f"the picture `{photo.file}` has no words for those who cannot see it"
            yield Problem(
                rule="photo-says-nothing", message=message, place=photo.place, help="add `says: …`", severity="doubt"
            )
    left = sorted(set(present) - {photo.file for photo in entry.photos})
    if left:
        message = (
            f"{_count(left, 'picture')} in `photos/{entry.name}/` not listed, so not published: {_name_some(left)}"
        )
        help = f"write `- {{file: {left[0]}, says: …}}` under `photos:`"
        yield Problem(rule="unlisted-photo", message=message, place=entry.place, help=help, severity="doubt")


def _check_photo_folders(log: Log, files: Collection[str]) -> Iterator[Problem]:
    for name in sorted(set(log.photos) - set(files)):
        message = f"there is no entry for the folder `photos/{name}/`, so its pictures are not published"
        near = suggest(name, files)
        help = near if near.startswith("did") else f"name it as its entry is, or write `entries/{name}.md`"
        place = Place(f"photos/{name}")
        yield Problem(rule="stray-photos", message=message, place=place, help=help, severity="doubt")


def _count(names: Sequence[str], what: str) -> str:
    return f"{len(names)} {what}{'s' if len(names) > 1 else ''}"


MOST_NAMED = 5
"Names that one message lists."


def _name_some(names: Sequence[str]) -> str:
    shown = ", ".join(f"`{name}`" for name in names[:MOST_NAMED])
    return shown + (f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else "")


def _check_papers(log: Log) -> Iterator[Problem]:
    for record in _list_paper_holders(log):
        paper = getattr(record, "paper", None)
        if paper is not None and paper not in log.papers:
            help = suggest(paper, log.papers)
            home = "there" if paper.startswith("papers/") else "into `papers/`"
            help = help if help.startswith("did") else f"put the scan {home}, or take `paper:` out until you have it"
            yield Problem(
                rule="missing-paper",
                message=f"there is no file `{paper}` among the papers",
                place=record.spot("paper"),
                help=help,
            )


def _list_paper_holders(log: Log) -> Iterator[Record]:
    if log.settings.acquired:
        yield log.settings.acquired
    yield from log.settings.history
    yield from (event.meter_changed for event in log.settings.history if event.meter_changed)
    for entry in log.entries:
        yield from (*entry.bought, *entry.returned, *entry.sold, *entry.fitted, *entry.serviced)
        if entry.meter_changed:
            yield entry.meter_changed
