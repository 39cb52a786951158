"""The way from a folder to a site: the stages, in their order.

    read      disk → records        buildlog/read
    compute   records → figures     buildlog/compute
    photos    originals → variants  buildlog/photos
    render    figures → pages       buildlog/render
    output    pages → disk          buildlog/output

`publish` goes all of it, a question on the command line as far as the figures. `check` and `handover` go the same way,
and do something else under some of the names: `CHECKS` below, which looks at what publishing would stop at and makes
nothing, and `PACKING` in `buildlog/handover/pack.py`. Nothing is made while an error is left, and nothing is written
before everything is read, checked and rendered.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from buildlog.compute.as_of import find_ahead
from buildlog.compute.follow_ons import drop_follow_ons
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, has_errors, sort_problems
from buildlog.read.files import TextsOnDisk
from buildlog.read.reader import Reading, read_log
from buildlog.runs import Watch
from buildlog.text import count

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.kept.work import Work
    from buildlog.output.write import Content, WriteReport
    from buildlog.photos.publish import PhotoWork
    from buildlog.photos.recipe import PhotoSet
    from buildlog.record.published import PublishedRecord
    from buildlog.render.theme import Theme


@frozen
class Site:
    """A site in memory, ready to be written or handed over."""

    files: Mapping[str, Content]
    "what each file holds, or where it lies ready, by path in the site; photos included"
    photos: Mapping[str, PhotoSet]
    "the published photos, by the names of their requests"


@frozen
class Run:
    """What a run was asked for, and what its stages have made so far; each stage gives back the next one."""

    as_of: datetime.date
    "the day whose figures are wanted"
    folder: Path | None = None
    "where the log lies; None where its files come from elsewhere, as out of a bag"
    out: Path | None = None
    "where the last stage writes; None: it writes nothing"
    strict: bool = False
    "whether a warning forbids what an error forbids"
    papers: Mapping[str, str] | None = None
    "where papers stand that are kept outside the site, see `PageContext.papers`; None: the site holds them itself"
    work: Work | None = None
    "what earlier runs worked out, and what this one adds to it; None: all is worked out anew"
    anew: bool = False
    "whether nothing at all is believed that was made before, pictures of photos included"
    written: Callable[[Run, WriteReport], None] = lambda run, report: None
    "is told of what output wrote, while no other run can write there"
    watch: Watch = field(default_factory=Watch)
    "who is told how it goes; the one thing in a run that changes, and nothing that is made depends on it"
    done: int = 0
    "how many stages are behind it; a run that is given on goes on from there"
    reading: Reading | None = None
    "made by read"
    figures: Figures | None = None
    "made by compute; with an error left they rest on stand-ins, and nothing but problems is made of them"
    photos: PhotoWork | None = None
    "begun by photos, waited for in render; closed once `run_stages` ends"
    site: Site | None = None
    "made by render; None where the theme will not do"
    report: WriteReport | None = None
    "what output wrote"
    problems: tuple[Problem, ...] = ()
    "what all stages found wrong, sorted"

    @property
    def refused(self) -> bool:
        """Whether anything that was found forbids making something of the log."""
        return has_errors(self.problems, strict=self.strict)

    @property
    def texts(self) -> Mapping[str, str]:
        """Every text that was read by its path in the log, for quoting."""
        return self.reading.texts if self.reading else {}

    def join(self, found: Iterable[Problem]) -> tuple[Problem, ...]:
        """The problems with those that a stage found."""
        return sort_problems((*self.problems, *found))


Value = TypeVar("Value")
AnyRun = TypeVar("AnyRun", bound=Run)
"A run as it came: `handover` has one that knows more."


# ── the stages: a run that lacks what one of them needs is given back as it came ─────────────────────────────────


def read_folder(run: Run) -> Run:
    """The log's files as records."""
    if run.folder is None:
        return run
    reading = read_log(run.folder, run.work.readings if run.work else None)
    run = keep_reading(run, replace(reading, texts=TextsOnDisk(run.folder, reading.texts)))
    ahead = find_ahead(run.reading.log, run.as_of) if run.reading and run.reading.log else ()
    return replace(run, problems=run.join(ahead))


def compute(run: Run) -> Run:
    """Every figure as of the day, and the problems of reading and computing together, whatever the day."""
    if run.reading is None or run.reading.log is None:
        return run
    # An error of reading does not end the run here: what the figures find wrong is told with it, in one go.
    if run.work:
        return keep_figures(run, run.work.compute(run.reading.log, run.as_of))
    from buildlog.compute.figures import compute_figures

    return keep_figures(run, compute_figures(run.reading.log, run.as_of))


def begin_photos(run: Run) -> Run:
    """The photos that were not made before, begun: all processors make them while pages are rendered."""
    from buildlog.photos.cache import find_cache
    from buildlog.photos.publish import begin_work
    from buildlog.render.pages.photos import PassingRequests

    if run.figures is None or run.refused:
        return run
    tell, waiting = partial(run.watch.tell, "photos"), partial(run.watch.spending, "photos")
    cache = None if run.anew else find_cache()
    return replace(run, photos=begin_work(PassingRequests(run.figures), cache, tell=tell, waiting=waiting))


def render_pages(run: Run) -> Run:
    """Every file of the site in memory; each page waits for the photos that it shows, and the run for all of them."""
    from buildlog.photos.cache import find_cache
    from buildlog.photos.card import find_card
    from buildlog.render.fitness import check_fitness
    from buildlog.render.pages.photos import PhotoFiles

    figures, work = run.figures, run.photos
    if figures is None or work is None:
        return run
    # With its papers elsewhere the site goes into a bag, and neither a host nor a feed reader ever sees it.
    fitness = check_fitness(figures) if run.papers is None else ()
    theme, unfit = load_site_theme(figures)
    if theme is None:
        return replace(run, problems=run.join((*fitness, *unfit)))
    record, seals = read_record(figures)
    draw = partial(find_card, cache=None if run.anew else find_cache())
    if run.work:
        files, stories = run.work.render(figures, theme, work.wait_for, record=record, draw=draw, out=run.out)
    else:
        from buildlog.kept.makers import Spool
        from buildlog.render.render import make_context, render_context

        shared = make_context(figures, theme, work.wait_for, papers=run.papers, record=record)
        # Where nobody but the disk wants the pages, they do not wait in memory until the last one is made.
        lay = Spool().lay if run.out else lambda content: content
        files, stories = render_context(replace(shared, draw=draw), theme, lay)
    photos, broken = work.finish()  # those that no page has waited for yet, and what is wrong with any
    run.watch.note("photos", f"{len(photos) - work.kept} made, {work.kept} kept")
    run.watch.note("render", count(sum(path.endswith(".html") for path in files), "page"))
    site = Site(files=Joined(files, PhotoFiles(photos)), photos=photos)
    return replace(run, site=site, problems=run.join((*fitness, *unfit, *seals, *broken, *stories)))


def write_out(run: Run) -> Run:
    """The site on the disk, or nothing where an error is left. Raises what `write_site` raises."""
    from buildlog.output.write import write_site

    if run.out is None or run.site is None or run.refused:
        return run
    report = write_site(run.out, run.site.files, log=run.folder, then=partial(run.written, run))
    run.watch.note("output", f"{count(len(report.written), 'file')} written, {len(report.unchanged)} unchanged")
    return replace(run, report=report)


class Joined(Mapping[str, Value]):
    """Two mappings as one, neither of them copied; a name that both have is the second one's."""

    def __init__(self, first: Mapping[str, Value], second: Mapping[str, Value]) -> None:
        self._first, self._second = first, second

    def __getitem__(self, name: str) -> Value:
        return self._second[name] if name in self._second else self._first[name]

    def __contains__(self, name: object) -> bool:
        return name in self._first or name in self._second  # the library's would ask for the value

    def __iter__(self) -> Iterator[str]:
        yield from (name for name in self._first if name not in self._second)
        yield from self._second

    def __len__(self) -> int:
        return len(self._second) + sum(name not in self._second for name in self._first)


Stage = Callable[[Run], Run]
STAGES: tuple[tuple[str, Stage], ...] = (
    ("read", read_folder),
    ("compute", compute),
    ("photos", begin_photos),
    ("render", render_pages),
    ("output", write_out),
)
"What a run does, in this order; the names are those of the folders, of the progress line and of the log of times."


def run_stages(
    run: AnyRun, *, until: str = "output", instead: Mapping[str, Callable[[AnyRun], AnyRun]] | None = None
) -> AnyRun:
    """The run after its next stages, up to one of them by name, or up to one that could not begin.

    `instead` has what is done under some of the names in place of what stands in `STAGES`.
    """
    # `Any`: a stage gives back the class of run that it was given, as `replace` keeps it, and no type of a table of
    # functions says so.
    doing: dict[str, Callable[[Any], Any]] = {**dict(STAGES), **(instead or {})}
    names = [name for name, _ in STAGES]
    try:
        for name in names[run.done : names.index(until) + 1]:
            with run.watch.stage(name):
                after = doing[name](run)
            if after is run:  # `is`: whatever a stage made, and be it nothing wrong, it gives back another run
                run.watch.note(name, "not begun")
                break
            run = replace(after, done=after.done + 1)
    finally:
        # Begun by one stage and waited for by another, so that no `with` spans both; left open by a fault or by Ctrl-C,
        # the photos that are left would all be made before the program ends.
        if run.photos is not None:
            run.photos.close()
        run.watch.rest()
    return run


# ── pieces of the stages ─────────────────────────────────────────────────────────────────────────────────────────


def keep_reading(run: AnyRun, reading: Reading) -> AnyRun:
    """The run with what was read, and its problems."""
    if reading.log is not None:
        run.watch.note("read", count(len(reading.log.entries), "entry", "entries"))
    return replace(run, reading=reading, problems=run.join(reading.problems))


def keep_figures(run: AnyRun, figures: Figures) -> AnyRun:
    """The run with the figures of what it read, and their problems, but for what follows from what was not read."""
    assert run.reading is not None and run.reading.log is not None
    found = drop_follow_ons(figures.problems, run.reading.log, read=run.reading.problems, holes=run.reading.holes)
    if figures.DEFERRED:
        run.watch.note("compute", "kept")
    else:
        lines, parts = count(len(figures.costs.lines), "cost line"), count(len(figures.parts.parts), "part")
        run.watch.note("compute", f"{lines}, {parts}")
    return replace(run, figures=figures, problems=run.join(found))


def read_record(figures: Figures) -> tuple[PublishedRecord, tuple[Problem, ...]]:
    """What the site tells of the log's seals; a warning where they do not hold, an error where they cannot be read."""
    from buildlog.record.published import PublishedRecord

    folder = figures.log.folder
    if folder is None or not (folder / "seals").exists():
        return PublishedRecord(), ()
    # Only now: a log that was never sealed needs nothing of what reads seals.
    from buildlog.record.publishing import read_published

    place, help = Place("seals"), "restore `seals/` from a backup or from a handover"
    try:
        record = read_published(folder, [told.place.file for told in (*figures.log.entries, *figures.log.pages)])
    except OSError as error:
        message = f"the seals cannot be read: {error.strerror}"
        return PublishedRecord(), (Problem(rule="seals-unreadable", message=message, place=place, help=help),)
    return record, tuple(
        Problem(rule="seals-do-not-hold", message=failure, place=place, help=help, severity="warning")
        for failure in record.failures
    )


def load_site_theme(figures: Figures) -> tuple[Theme | None, tuple[Problem, ...]]:
    """The theme that `log.yaml` names, or None and why it will not do."""
    from buildlog.render.theme import load_theme

    site = figures.log.settings.site
    place = site.field_place("theme")
    theme, unfit = load_theme(site.theme, place=place, log=figures.log.folder, language=site.language)
    if theme is None or theme.makes_sites:
        return theme, unfit
    message = f"the theme `{theme.name}` is for one long document and makes no site"
    help = "leave `theme` out, or name one for sites, as `margin`; `buildlog book` sets the book"
    return None, (*unfit, Problem(rule="no-site-theme", message=message, place=place, help=help))


# ── what `check` does under the same names: whatever is found, each goes on, so that all problems are told at once ─


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
    broken = find_broken(requests, None if run.anew else find_cache())
    return _add_found(run, (*broken, *find_stray_dates(run.figures.log)))


def check_pages(run: Run) -> Run:
    """No page is made, but its theme, its stories and what it tells of seals are tried."""
    from buildlog.render.fitness import check_fitness
    from buildlog.render.stories import list_problems, render_stories

    if run.figures is None:
        return run
    figures = run.figures
    # A story is asked only whether the photo that it shows is there: markup that says nothing will do.
    shows = {entry: dict.fromkeys(files, lambda alt: "") for entry, files in figures.log.photos.items()}
    stories = run.work.check_stories(figures, shows) if run.work else render_stories(figures, shows)
    problems = list_problems(stories)
    run.watch.note("render", count(len(stories), "story", "stories"))
    found = (*load_site_theme(figures)[1], *read_record(figures)[1], *check_fitness(figures), *problems)
    return _add_found(run, found)


CHECKS: Mapping[str, Stage] = {"compute": compute_whole, "photos": check_photos, "render": check_pages}
"By name; those that are not here do what they do for everybody."


def _add_found(run: Run, found: Iterable[Problem]) -> Run:
    """The run with what was found wrong with its site, but for what follows from what could not be read."""
    assert run.reading is not None and run.figures is not None
    # Names that lead nowhere hold nothing back here: what is wrong with a site never hangs on what they may have meant.
    left = drop_follow_ons(found, run.figures.log, read=(), holes=run.reading.holes)
    return replace(run, problems=run.join(left))
