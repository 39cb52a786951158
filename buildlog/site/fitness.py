"""What in a log cannot go onto a site as it is: names of papers, and a language that nobody can write in."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.problems import Problem
from buildlog.reckon.figures import Figures
from buildlog.site.output import is_plain
from buildlog.site.words import FALLBACK, is_known


def check_fitness(figures: Figures) -> tuple[Problem, ...]:
    """An error for each paper that a site cannot hold, and a doubt about an unknown language."""
    return (*_check_papers(figures), *_check_language(figures))


def _check_papers(figures: Figures) -> Iterator[Problem]:
    """Papers that are published keep their names, so that the names must do on every host."""
    if figures.log.settings.public.papers != "shown":
        return
    told: set[str] = set()
    for claim in figures.evidence.claims:
        paper = claim.paper
        if paper and paper in figures.log.papers and not is_plain(paper) and paper not in told:
            told.add(paper)
            yield Problem(
                rule="paper-name",
                message=f"`{paper}` is to be published, and not every system can have a file of that name",
                place=claim.place,
                help="rename the file, here too: letters, digits, dots and dashes will do",
            )


def _check_language(figures: Figures) -> Iterator[Problem]:
    site = figures.log.settings.site
    if not is_known(site.language):
        yield Problem(
            rule="unknown-language",
            message=f"there is no language `{site.language}`, so that dates and amounts are written as in {FALLBACK}",
            place=site.spot("language"),
            help="write it as in `en-GB`, `de-DE` or `nl`",
            severity="doubt",
        )
