"""What in a log cannot go onto a site as it is: papers' names, a language nobody can write in, a log without an id."""

from __future__ import annotations

import json
from collections.abc import Iterator

from buildlog.compute.figures import Figures
from buildlog.output.write import is_plain
from buildlog.problems import Problem
from buildlog.read.records import Settings
from buildlog.render.words import FALLBACK, is_known


def check_fitness(figures: Figures) -> tuple[Problem, ...]:
    """An error for each paper that a site cannot hold; warnings about an unknown language and a missing id."""
    return (*_check_papers(figures), *_check_language(figures), *_check_id(figures))


def tell_old_id(settings: Settings) -> str:
    """What ids are made from where a log has none: its machine's name and the day that it was acquired."""
    acquired = settings.acquired.date.isoformat() if settings.acquired else ""
    return f"{settings.machine.name} {acquired}".strip()


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
            place=site.field_place("language"),
            help="write it as in `en-GB`, `de-DE` or `nl`",
            severity="warning",
        )


def _check_id(figures: Figures) -> Iterator[Problem]:
    """RFC 4287, section 4.2.6: an id is universally unique, and kept whatever else is changed.

    Asked for once the site has an address: nobody follows the feed of a log that is in no place on the web.
    """
    settings = figures.log.settings
    if settings.site.id is None and settings.site.address:
        quoted = json.dumps(tell_old_id(settings), ensure_ascii=False)
        yield Problem(
            rule="no-id",
            message="the log has no id of its own, and ids in its feed would change with the machine's name",
            place=settings.machine.field_place("name"),
            help=f"add `id: {quoted}` under `site:`, which keeps them as they are",
            severity="warning",
        )
