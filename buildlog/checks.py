"""What `check` does under the names of the stages: it looks at what publishing would stop at, and makes nothing.

Whatever is found, each one goes on, so that all problems of a log are told at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from buildlog.compute.follow_ons import drop_follow_ons
from buildlog.problems import Problem
from buildlog.stages import Run, Stage, compute, load_site_theme, read_record
from buildlog.text import count


def compute_whole(run: Run) -> Run:
    """Figures as of the last entry where that is later than the day: every entry is looked at, whatever the day."""
    log = run.reading.log if run.reading else None
    if log is None:
        return run
    # Problems are of the whole log whatever the day, so no problem differs; but the stages behind this one look at the
    # entries of the figures, and would not see a later one.
    return compute(replace(run, as_of=max([run.as_of, *(entry.date for entry in log.entries)])))


def check_photos(run: Run) -> Run:
    """No photo is made, but each that was not made before is looked at: whether it is whole, and when it was taken."""
    from buildlog.photos.cache import find_cache
    from buildlog.photos.dates import find_stray_dates
    from buildlog.photos.publish import find_broken
    from buildlog.render.pages.photos import request_photos

    if run.figures is None:
        return run
    requests = request_photos(run.figures)
    run.watch.note("photos", count(len(requests), "photo"))
    return _add_found(run, (*find_broken(requests, find_cache()), *find_stray_dates(run.figures.log)))


def check_pages(run: Run) -> Run:
    """No page is made, but its theme, its stories and what it tells of seals are tried."""
    from buildlog.render.render import check_fitness, render_stories

    if run.figures is None:
        return run
    figures = run.figures
    # A story is asked only whether the photo that it shows is there: markup that says nothing will do.
    shows = {entry: dict.fromkeys(files, lambda alt: "") for entry, files in figures.log.photos.items()}
    stories, problems = render_stories(figures, shows)
    run.watch.note("render", count(len(stories), "story", "stories"))
    found = (*load_site_theme(figures)[1], *read_record(figures)[1], *check_fitness(figures), *problems)
    return _add_found(run, found)


CHECKS: Mapping[str, Stage] = {"compute": compute_whole, "photos": check_photos, "render": check_pages}
"By name; whatever is found, each goes on, so that all problems of a log are told at once."


def _add_found(run: Run, found: Iterable[Problem]) -> Run:
    """The run with what was found wrong with its site, but for what follows from what could not be read."""
    assert run.reading is not None and run.figures is not None
    # Names that lead nowhere hold nothing back here: what is wrong with a site never hangs on what they may have meant.
    left = drop_follow_ons(found, run.figures.log, read=(), holes=run.reading.holes)
    return replace(run, problems=run.join(left))
