"""What cannot go onto a site, told before any page is made: papers' names, an unknown language, a missing id."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

from buildlog.paths import is_portable
from buildlog.problems import Place, Problem
from buildlog.read.records import Settings
from buildlog.render.addresses import LISTED, PICTURES, SECTIONS, TO_DO, TORQUES
from buildlog.render.catalogue import ENGLISH
from buildlog.typefaces import find_missing

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures


def check_fitness(figures: Figures) -> tuple[Problem, ...]:
    """An error for each paper and page that a site cannot hold; warnings about an unknown language and a missing id."""
    return (
        *_check_papers(figures),
        *_check_page_names(figures),
        *_check_language(figures),
        *_check_id(figures),
        *_check_letters(figures),
    )


def _check_papers(figures: Figures) -> Iterator[Problem]:
    """Papers that are published keep their names, so that the names must do on every host."""
    # Looked at first, as which of them are named is a figure, and most often nothing is wrong with any.
    if figures.log.settings.public.papers != "shown" or all(map(is_portable, figures.log.papers)):
        return
    # One invoice may back many claims, and is reported once.
    reported: set[str] = set()
    for claim in figures.evidence.claims:
        paper = claim.paper
        if paper and paper in figures.log.papers and not is_portable(paper) and paper not in reported:
            reported.add(paper)
            yield Problem(
                rule="paper-name",
                message=f"`{paper}` is to be published, but some systems cannot have a file of that name",
                place=claim.place,
                help="rename the file, and change its name here too: letters, digits, dots and dashes will do",
            )


def _check_language(figures: Figures) -> Iterator[Problem]:
    site = figures.log.settings.site
    if site.language == ENGLISH:
        return
    from buildlog.render.language import is_known  # only now, as Babel takes a while to load

    if not is_known(site.language):
        yield Problem(
            rule="unknown-language",
            message=f"there is no language `{site.language}`, so dates and amounts are shown as in {ENGLISH}",
            place=site.field_place("language"),
            help="write it as in `en-GB`, `de-DE` or `nl`",
            severity="warning",
        )


def _check_id(figures: Figures) -> Iterator[Problem]:
    """RFC 4287, section 4.2.6: an id is universally unique, and kept whatever else is changed.

    Asked for once the site has an address: nobody follows the feed of a log that is in no place on the web.
    """
    settings = figures.log.settings
    # The proposed id is the one in use: with any other, readers of the feed would see every entry as new again.
    if settings.site.id is None and settings.site.address:
        quoted = json.dumps(make_fallback_id(settings), ensure_ascii=False)
        yield Problem(
            rule="no-id",
            message="the log has no id of its own, so the ids in its feed would change with the machine's name",
            place=settings.machine.field_place("name"),
            help=f"add `id: {quoted}` under `site:`, which keeps them as they are",
            severity="warning",
        )


def _check_letters(figures: Figures) -> Iterator[Problem]:
    """Pages can be read without; they only look like those of each system."""
    site, missing = figures.log.settings.site, find_missing()
    if missing and site.type == "bundled":
        yield Problem(
            rule="no-letters",
            message=f"the package `{missing}` is not installed, so pages are in the letters of each reader's system",
            place=site.field_place("type"),
            help=f"install `{missing}`, or write `type: system` under `site:`",
            severity="warning",
        )


def _check_page_names(figures: Figures) -> Iterator[Problem]:
    """An error for each standing page that is named like one of the site's own, whose place readers know."""
    others = {"Photos": PICTURES, "the list of pages": LISTED, "Still to do": TO_DO, "Tightening sheet": TORQUES}
    ours = {path.removesuffix(".html"): name for name, path in (*SECTIONS, *others.items())}
    for page in figures.log.pages:
        if page.name in ours:
            yield Problem(
                rule="page-name",
                message=f"`{page.name}` is the name of one of the site's own pages: {ours[page.name]}",
                place=Place(page.place.file),
                help=f"rename it, as in `pages/our-{page.name}.md`",
            )


def make_fallback_id(settings: Settings) -> str:
    """What ids are made from where a log has none: its machine's name and the day that it was acquired."""
    # Changed here, it would change every id in the feed of every log that has none of its own.
    acquired = settings.acquired.date.isoformat() if settings.acquired else ""
    return f"{settings.machine.name} {acquired}".strip()
