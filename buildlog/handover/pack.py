"""The way from a log to the bag that a buyer gets: the stages, with other ends.

    read      the log's files, hashed and held against its seals; what goes along → records
    compute, photos, render   as for a site on the web, see buildlog/stages.py
    output    files → bag

What the figures are computed from, what is hashed and what is packed are the same bytes, or there is no bag.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.frozen import frozen
from buildlog.handover.bag import BagRefused, BagWriter, write_bag
from buildlog.handover.bag_texts import list_signers, summarise_seals, write_check_text, write_start_page
from buildlog.handover.check_page import make_check_page
from buildlog.handover.figures_json import write_figures
from buildlog.handover.handed_log import link_papers, list_pictures, name_machine, name_maker, read_open
from buildlog.handover.manifest import (
    CHECK_PAGE,
    CHECK_TEXT,
    FIGURES,
    LIST,
    LOG,
    OWN_THEME,
    SEALS,
    SIGNERS,
    SITE,
    Handover,
    Withheld,
    is_text,
    name_log_files,
    write_list,
)
from buildlog.output.write import find_site, make_content
from buildlog.paths import compose
from buildlog.problems import Place, Problem, sort_problems, suggest
from buildlog.record.log_disk import COVERED, hash_files, list_files, read_seal_folder
from buildlog.record.seal_check import SealReport, check_seals
from buildlog.record.seals import FOLDER, Digest, find_latest
from buildlog.runs import Watch
from buildlog.stages import Run, Site, keep_reading, run_stages
from buildlog.text import agree, count, name_some

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures


@frozen
class HandedOver:
    """What became of handing over a log."""

    problems: tuple[Problem, ...]
    "why there is no bag, or what to know about it"
    texts: Mapping[str, str]
    "every text by its path in the log, for quoting"
    handover: Handover | None = None
    "what went along; None: nothing was written"
    files: int = 0
    "how many files went along"
    uncovered: int = 0
    "photos with hidden spots whose originals went along"

    def __str__(self) -> str:
        rows = [f"files: {self.files}, withheld: {len(self.handover.withheld) if self.handover else 0}"]
        rows.append("everything in it can be read, whatever `public:` hides: hand it over, but do not publish it")
        if self.uncovered:
            rows.append(
                f"photos whose `hide` areas can be seen in the originals: {self.uncovered}; --withhold leaves one out"
            )
        return "\n".join(rows)


@frozen
class _Log:
    """The log's files on disk."""

    folder: Path
    "the log's own"
    paths: Mapping[str, str]
    "the path on disk by that in form NFC, of all files that seals speak of"
    digests: Mapping[str, Digest]
    "of the same files, by path in the log"
    seals: SealReport
    "what the log's seals say of them"
    withheld: frozenset[str]
    "paths of what stays out"
    kept: Mapping[str, Path]
    "where each file stands that goes along, by path in the log: those of its own theme too, of which no seal speaks"


@frozen
class Packing(Run):
    """A run that ends in a bag."""

    withhold: tuple[str, ...] = ()
    "files or folders of the log that stay out, as paths from it"
    files: _Log | None = None
    "the log's files on disk, looked at by read"
    handover: Handover | None = None
    "what went along, packed by output"
    count: int = 0
    "how many files went along"


def hand_over(
    folder: Path, out: Path, *, as_of: datetime.date, withhold: tuple[str, ...] = (), watch: Watch | None = None
) -> HandedOver:
    """Write the bag, or say why not. `withhold` are files or folders of the log, as paths from it.

    Raises `BagRefused` where the bag cannot stand at `out`, and `OSError` when the disk fails.
    """
    _check_place(folder, out)
    asked = Packing(folder=folder, out=out, as_of=as_of, withhold=withhold, watch=watch or Watch())
    run = run_stages(asked, instead=PACKING)
    if run.handover is None or run.files is None or run.figures is None:
        return HandedOver(problems=run.problems, texts=run.texts)
    entries = run.figures.entries
    hidden = {f"photos/{entry.name}/{photo.file}" for entry in entries for photo in entry.photos if photo.hide}
    return HandedOver(
        problems=run.problems,
        texts=run.texts,
        handover=run.handover,
        files=run.count,
        uncovered=len(hidden & run.files.kept.keys()),
    )


def _read(run: Packing) -> Packing:
    """The files that go along, read from the bytes that are packed; nothing is read of a log that may not be packed."""
    if run.folder is None:
        return run
    # Hashed before it is read, and hashed again as it is packed: a file that is written meanwhile ends the run.
    log, problems = _look_at(run.folder, run.withhold)
    run = replace(run, files=log, problems=problems)
    if run.refused:
        return run
    # The log is read from these bytes, and not from the disk again, as the buyer's program will read it.
    texts = {path: at.read_bytes() for path, at in log.kept.items() if is_text(path)}
    reading = read_open(texts, {*log.kept, *log.withheld})
    if reading.log is not None:
        spelt = {path: at for path, at in log.paths.items() if path != at}
        reading = replace(reading, log=replace(reading.log, folder=run.folder, spelt=spelt))
    return replace(keep_reading(run, reading), papers=link_papers(name_log_files(log.kept)))


def _pack(run: Packing) -> Packing:
    """The bag on the disk, or nothing where an error is left."""
    log, figures, site = run.files, run.figures, run.site
    if log is None or figures is None or site is None or run.out is None or run.refused:
        return run
    names = name_log_files(log.kept)
    handover = _describe(log, figures, names, site)
    with write_bag(run.out, top=_name_top(handover), day=run.as_of, info=_list_info(handover)) as bag:
        changed = [problem for path, at in log.kept.items() for problem in _add(bag, log, path, LOG + names[path], at)]
        # The bag is given up: what was computed, what was sealed and what is packed would be three things.
        if changed:
            raise LogChanged(changed[0].message)
        number = len(log.kept) + _add_rest(bag, handover, figures=figures, site=site, log=log)
    run.watch.note("output", f"{count(number, 'file')} packed")
    return replace(run, handover=handover, count=number)


PACKING: dict[str, Callable[[Packing], Packing]] = {"read": _read, "output": _pack}
"By name of the stage."


class LogChanged(OSError):
    """A file of the log was written while it was being handed over."""


def _check_place(folder: Path, out: Path) -> None:
    """Refuse a bag among the files that the next one would hold."""
    place, log = Path(os.path.realpath(out)), Path(os.path.realpath(folder))
    inside = place.relative_to(log).parts if place.is_relative_to(log) else ()
    if site := find_site(place.parent):
        message = f"`{out}` is in the published site `{site}`, and the handover shows all that is closed there"
        raise BagRefused(message, "choose a place that is not put on the internet")
    if inside[:1] in {(name,) for name in (*COVERED, FOLDER, OWN_THEME.rstrip("/"))}:
        raise BagRefused(f"`{out}` is where the log keeps its own files", "choose a place outside the log")


# ── what is there ────────────────────────────────────────────────────────────────────────────────────────────────


def _look_at(folder: Path, withhold: Sequence[str]) -> tuple[_Log, tuple[Problem, ...]]:
    """The log's files, hashed and held against its seals, and what forbids handing them over."""
    paths, problems = list_files(folder)
    digests, unread = hash_files(folder, paths)
    seals = check_seals(read_seal_folder(folder), digests)
    withheld, unknown = _choose_withheld(paths, withhold)
    withheld |= _find_companions(folder, paths, withheld)
    kept = {path: folder / at for path, at in paths.items() if path not in withheld} | _list_own_theme(folder)
    log = _Log(folder=folder, paths=paths, digests=digests, seals=seals, withheld=withheld, kept=kept)
    return log, sort_problems((*problems, *unread, *unknown, *_check_sealed(seals)))


def _list_own_theme(folder: Path) -> dict[str, Path]:
    """The files of the log's own theme by path in the log, hidden ones left out."""
    theme = folder / OWN_THEME
    # It goes along as files, for whoever wants the look: no checker runs it, and no seal speaks of it.
    own = sorted(path for path in theme.rglob("*") if path.is_file()) if theme.is_dir() else []
    plain = {path.relative_to(folder).as_posix(): path for path in own}
    return {name: path for name, path in plain.items() if not any(p.startswith(".") for p in name.split("/"))}


def _choose_withheld(paths: Iterable[str], wanted: Sequence[str]) -> tuple[frozenset[str], list[Problem]]:
    known = [*paths]
    chosen: set[str] = set()
    problems = []
    for name in wanted:
        plain = compose(Path(name).as_posix().rstrip("/"))
        found = {path for path in known if path == plain or path.startswith(f"{plain}/")}
        if not found:
            message, help = f"there is no file `{plain}` in the log to withhold", suggest(plain, known)
            problems.append(Problem(rule="unknown-file", message=message, place=Place(plain), help=help))
        chosen |= found
    if "log.yaml" in chosen:
        message = "without `log.yaml` nothing in the handover can be worked out or checked"
        help = "remove from it whatever must not be seen, and seal that change with a reason"
        problems.append(Problem(rule="needed-file", message=message, place=Place("log.yaml"), help=help))
    return frozenset(chosen), problems


def _find_companions(folder: Path, paths: Mapping[str, str], withheld: frozenset[str]) -> frozenset[str]:
    """The photos of withheld entries and pages, and papers that these alone name: they show what nobody shall see."""
    texts = {path for path in withheld if is_text(path)}
    photos = tuple(f"photos/{path.partition('/')[2].removesuffix('.md')}/" for path in texts)
    if not texts:
        return frozenset()
    told = {path: compose((folder / paths[path]).read_text("utf-8", "replace")) for path in paths if is_text(path)}
    papers = [path for path in paths if path.startswith("papers/")]
    named = {paper for paper in papers if any(paper in told[path] for path in texts)}
    kept = {paper for paper in named if any(paper in told[path] for path in told.keys() - texts)}
    return frozenset(path for path in paths if path in named - kept or path.startswith(photos))


def _check_sealed(seals: SealReport) -> Iterator[Problem]:
    """A sealed log is handed over as it was sealed; one that never was is handed over with a warning."""
    if seals.failures:
        for failure in seals.failures:
            message, help = f"`{failure.file}`: {failure.message}", "restore `seals/` from a backup"
            yield Problem(rule=failure.rule, message=message, place=Place(failure.file), help=help)
    elif seals.last is None:
        message = "this log was never sealed: a buyer can check that it agrees with itself, but nothing about when"
        help = "`buildlog seal` first, better today than on the day of sale"
        yield Problem(rule="never-sealed", message=message, place=Place(FOLDER), help=help, severity="warning")
    elif seals.files.differs:
        files = seals.files
        paths = (*files.changed, *files.missing, *files.returned, *files.unsealed)
        named, are = name_some([f"`{path}`" for path in paths], 1), agree(len(paths), "is", "are")
        message = f"{named} {are} not as sealed: the handover would fail its own check"
        yield Problem(rule="not-sealed", message=message, place=Place(paths[0]), help="`buildlog seal` first")


# ── what goes into the bag ───────────────────────────────────────────────────────────────────────────────────────


def _describe(log: _Log, figures: Figures, names: Mapping[str, str], site: Site) -> Handover:
    latest = find_latest(log.seals.leaves)
    return Handover(
        made_by=name_maker(),
        as_of=figures.as_of,
        machine=name_machine(figures),
        # Only where they differ: most bags then have a list that a person can read.
        names={name: path for path, name in names.items() if name != path},
        withheld=tuple(
            Withheld(path=path, digest=log.digests[path], leaf=latest.get(path)) for path in sorted(log.withheld)
        ),
        pictures=list_pictures(site.photos),
    )


def _name_top(handover: Handover) -> str:
    """The folder inside a zip: the machine and the day."""
    [name] = name_log_files([handover.machine.replace("/", "-")]).values()
    return f"{name}-{handover.as_of}"


def _list_info(handover: Handover) -> dict[str, str]:
    """Lines of bag-info.txt, with names that RFC 8493, section 2.2.2 reserves for it."""
    description = "A machine's project log with its site, figures and seals; START-HERE.html says how to look"
    return {
        "External-Identifier": handover.machine,
        "External-Description": description,
        "Bag-Software-Agent": f"buildlog {handover.made_by}",
    }


def _add(bag: BagWriter, log: _Log, path: str, name: str, at: Path) -> Iterator[Problem]:
    """Copy one file of the log; a problem where it is no longer what was computed with."""
    # Hashed again as it is copied: these are the bytes that the buyer gets, and they have to be those that were sealed.
    found = bag.add(name, at)
    if path in log.digests and found != log.digests[path]:
        message = f"`{path}` was changed while it was being handed over: run it again"
        yield Problem(rule="changed-meanwhile", message=message, place=Place(path))


def _add_rest(bag: BagWriter, handover: Handover, *, figures: Figures, site: Site, log: _Log) -> int:
    """Everything but the log's own files; how many files that were."""
    seals = _list_seal_files(log.folder)
    files = {SITE + path: make_content(content) for path, content in site.files.items()}
    files |= {SEALS + name: content for name, content in seals.items()}
    files[FIGURES] = write_figures(figures)
    files[LIST] = write_list(handover)
    files[CHECK_TEXT] = write_check_text(
        handover, summarise_seals(log.seals.seals, seals), paths=log.kept, with_page=True
    )
    if signers := list_signers(seals):
        files[SIGNERS] = signers
    # Of this program and not of the log: a buyer who mistrusts the giver takes it from elsewhere all the same.
    files[CHECK_PAGE] = make_check_page()
    for name in sorted(files):
        bag.add(name, files[name])
    bag.add_start(write_start_page(handover, log.seals.seals, paths=log.kept))
    return len(files)


def _list_seal_files(folder: Path) -> dict[str, bytes]:
    """What lies in `seals/`, by name; the seals were found to hold, so that nothing else is there."""
    seals = folder / FOLDER
    files = sorted(seals.iterdir()) if seals.is_dir() else []
    return {path.name: path.read_bytes() for path in files if path.is_file() and not path.name.startswith(".")}
