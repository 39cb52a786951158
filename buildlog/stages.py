"""The way from a folder to a site: the stages, in their order.

    read      disk → records        buildlog/read
    compute   records → figures     buildlog/compute
    photos    originals → variants  buildlog/photos
    render    figures → pages       buildlog/render
    output    pages → disk          buildlog/output

Nothing is written before everything is read, checked and computed.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.compute.figures import Figures, compute_figures
from buildlog.compute.follow_ons import drop_follow_ons
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, has_errors, sort_problems
from buildlog.read.reader import Reading, read_log

if TYPE_CHECKING:
    from buildlog.output.write import Content, WriteReport
    from buildlog.photos.intake import IntakePlan
    from buildlog.photos.recipe import PhotoSet
    from buildlog.record.published import PublishedRecord
    from buildlog.render.theme import Theme


@frozen
class Checked:
    """A log that was read and computed."""

    figures: Figures | None
    "None when an error is left"
    problems: tuple[Problem, ...]
    texts: Mapping[str, str]
    "every text by its path in the log, for quoting"


@frozen
class Published:
    """What became of publishing."""

    report: WriteReport | None
    "None when an error was left: then nothing was written"
    problems: tuple[Problem, ...]
    "those of stories, photos and the theme"


@frozen
class MadeSite:
    """A site in memory, ready to be written or handed over."""

    files: Mapping[str, Content]
    "what each file holds, or where it lies ready, by path in the site"
    photos: Mapping[str, PhotoSet]
    "the published photos, by the names of their requests"
    problems: tuple[Problem, ...]
    "those of stories, photos and the theme"


@frozen
class Draft:
    """The next entry, not written yet."""

    texts: Mapping[str, str]
    "its file, by the path in the log"
    intake: IntakePlan | None
    "the photos to copy before it is written; None when none were asked for"


def check_log(folder: Path, as_of: datetime.date, *, strict: bool = False, site: bool = False) -> Checked:
    """Read and compute: figures when nothing forbids them, and every problem of both stages; of the site too, if asked.

    With an error left the figures rest on stand-ins: what is wrong is found with them, and they are not given out.
    """
    reading = read_log(folder)
    if reading.log is None:
        return Checked(figures=None, problems=reading.problems, texts=reading.texts)
    figures = compute_figures(reading.log, as_of)
    problems = sort_problems((*join_problems(reading, figures), *_find_ahead(figures)))
    if site:
        found = drop_follow_ons(check_site(figures), reading.log, read=(), holes=reading.holes)
        problems = sort_problems((*problems, *found))
    refused = has_errors(problems, strict=strict)
    return Checked(figures=None if refused else figures, problems=problems, texts=reading.texts)


def join_problems(reading: Reading, figures: Figures) -> tuple[Problem, ...]:
    """The problems of reading and of computing, without what only follows from something that could not be read."""
    found = drop_follow_ons(figures.problems, figures.log, read=reading.problems, holes=reading.holes)
    return sort_problems((*reading.problems, *found))


def _find_ahead(figures: Figures) -> Iterator[Problem]:
    """A warning for each entry that is left out because its day has not come: a wrong year would lose it in silence."""
    for entry in figures.log.entries:
        if entry.date > figures.as_of:
            yield Problem(
                rule=AHEAD,
                message=f"this entry is dated `{entry.date}`, after `{figures.as_of}`, so it is left out",
                place=entry.field_place("date"),
                help=f"correct its `date:`, or use `--as-of {entry.date}`",
                severity="warning",
            )


AHEAD = "entry-ahead"
"The rule that tells of entries which are left out; every command names them."


def check_site(figures: Figures) -> tuple[Problem, ...]:
    """What would be wrong with the site: its theme, its seals, what the stories show, and its photos.

    Entries written after the day are looked at as well. No photo is made for it, but each that was not made before is
    looked at: when it was taken, and whether it is whole.
    """
    from buildlog.photos.cache import find_cache
    from buildlog.photos.dates import find_stray_dates
    from buildlog.photos.publish import find_broken
    from buildlog.render.pages.photos import request_photos
    from buildlog.render.render import check_fitness, render_stories

    last = max((entry.date for entry in figures.log.entries), default=figures.as_of)
    figures = figures if last <= figures.as_of else compute_figures(figures.log, last)
    _, problems = _load_theme(figures)
    shows = {entry: dict.fromkeys(files, lambda alt: "") for entry, files in figures.log.photos.items()}
    stories = render_stories(figures, shows)[1]
    photos = (*find_broken(request_photos(figures), find_cache()), *find_stray_dates(figures.log))
    return (*problems, *_read_record(figures)[1], *check_fitness(figures), *stories, *photos)


def publish_site(
    figures: Figures, out: Path, *, strict: bool = False, tell: Callable[[int, int], None] | None = None
) -> Published:
    """Make the photos, render the pages and write the site, or write nothing where an error is left.

    `tell` is called with the photos made and the number that there are to make. Raises what `write_site` raises.
    """
    from buildlog.output.write import write_site
    from buildlog.render.render import check_fitness

    made = make_site(figures, tell=tell)
    problems = sort_problems((*check_fitness(figures), *made.problems))
    if has_errors(problems, strict=strict):
        return Published(report=None, problems=problems)
    return Published(report=write_site(out, made.files, log=figures.log.folder), problems=problems)


def make_site(
    figures: Figures, *, papers: Mapping[str, str] | None = None, tell: Callable[[int, int], None] | None = None
) -> MadeSite:
    """Make the photos and render the pages, without writing them; no page is made where the theme will not do.

    The photos are begun first, and text is rendered while they are made. `papers` says where papers stand that are kept
    outside the site, see `Edition.papers`.
    """
    from buildlog.photos.cache import find_cache
    from buildlog.photos.publish import PhotoWork
    from buildlog.render.pages.photos import list_photo_files, request_photos
    from buildlog.render.render import render_site

    theme, theme_problems = _load_theme(figures)
    record, seal_problems = _read_record(figures)
    if theme is None:
        return MadeSite(files={}, photos={}, problems=theme_problems)
    with PhotoWork(request_photos(figures), find_cache(), tell=tell) as work:
        files, story_problems = render_site(figures, theme, work.wait_for, papers=papers, record=record)
        photos, photo_problems = work.finish()
    problems = sort_problems((*theme_problems, *seal_problems, *photo_problems, *story_problems))
    return MadeSite(files=files | list_photo_files(photos), photos=photos, problems=problems)


def draft_next(figures: Figures, title: str, date: datetime.date, *, photos: Path | None = None) -> Draft:
    """The next entry's file: last reading, shelf, post, open faults, and that day's photos of a folder.

    Nothing is written for it. Raises OSError when the folder cannot be listed.
    """
    from buildlog.drafts import Known, draft_entry, name_entry

    intake = None
    if photos is not None:
        from buildlog.photos.intake import plan_intake

        intake = plan_intake(photos, day=date, log=figures.log, entry=name_entry(figures.log, title, date))
    shelf = [(part.key, part.name) for part in figures.parts.parts if part.shelf > 0 and not part.original]
    post = {item.ref: item.supplier for item in figures.in_the_post if item.ref}
    taken = [take.name for take in intake.takes] if intake else []
    known = Known(
        shelf=shelf,
        post=tuple(post.items()),
        to_check=_list_faults(figures, "open", "narrowed"),
        to_fix=_list_faults(figures, "cause known"),
        to_prove=_list_faults(figures, "fixed, not proved"),
        photos=taken,
    )
    name, text = draft_entry(figures.log, title, date=date, known=known)
    return Draft(texts={f"entries/{name}": text}, intake=intake)


def _list_faults(figures: Figures, *states: str) -> list[tuple[str, str]]:
    """The faults in some states, by key, each with its name and, while no cause is known, the suspects left."""
    faults = [fault for fault in figures.faults.faults if fault.state in states]
    left = {fault.key: ", ".join(fault.left) for fault in faults if fault.key in figures.next_checks}
    return [(fault.key, "; left: ".join(filter(None, [fault.name, left.get(fault.key)]))) for fault in faults]


def _read_record(figures: Figures) -> tuple[PublishedRecord, tuple[Problem, ...]]:
    """What the site tells of the log's seals; a warning where they do not hold, an error where they cannot be read."""
    from buildlog.record.published import PublishedRecord

    folder = figures.log.folder
    if folder is None or not (folder / "seals").exists():
        return PublishedRecord(), ()
    from buildlog.record.publishing import read_published

    place, help = Place("seals"), "put back `seals/` as it was, from a backup or from what was handed over"
    try:
        record = read_published(folder, [entry.place.file for entry in figures.log.entries])
    except OSError as error:
        message = f"the seals cannot be read: {error.strerror}"
        return PublishedRecord(), (Problem(rule="seals-unreadable", message=message, place=place, help=help),)
    return record, tuple(
        Problem(rule="seals-do-not-hold", message=failure, place=place, help=help, severity="warning")
        for failure in record.failures
    )


def _load_theme(figures: Figures) -> tuple[Theme | None, tuple[Problem, ...]]:
    from buildlog.render.theme import load_theme

    site = figures.log.settings.site
    return load_theme(site.theme, place=site.field_place("theme"), log=figures.log.folder)
