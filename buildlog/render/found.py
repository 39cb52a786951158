"""Which files of a site are there already: its theme's, its letters, and the papers that are published."""

from __future__ import annotations

import os
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.output.write import Content
from buildlog.typefaces import find_missing, make_typefaces

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.render.theme import Theme


def list_found(theme: Theme, figures: Figures, named: Collection[str]) -> dict[str, Content]:
    """All of them; `named` are the papers that records name."""
    return {**read_statics(theme, figures), **list_paper_files(figures, named)}


def read_statics(theme: Theme, figures: Figures) -> dict[str, bytes]:
    """The letters of the site and the theme's files, which hang on nothing that the log tells of its machine."""
    letters = make_typefaces(figures.log.settings.site.language) if brings_letters(figures) else {}
    return letters | theme.read_statics()


def brings_letters(figures: Figures) -> bool:
    """Whether pages have the letters of the site, and not those of a reader's system."""
    return figures.log.settings.site.type == "bundled" and not find_missing()


def name_papers(figures: Figures) -> frozenset[str]:
    """The papers that records name, where papers are published."""
    if figures.log.folder is None or figures.log.settings.public.papers != "shown":
        return frozenset()
    claimed = {claim.paper for claim in figures.evidence.claims if claim.paper}
    return frozenset(claimed.union(*(page.papers for page in figures.pages)))


def list_paper_files(figures: Figures, named: Collection[str]) -> dict[str, Path]:
    """Where each of these papers lies, by its path in the log; none that is not there or lies outside it."""
    folder = figures.log.folder
    if folder is None:
        return {}
    root = os.path.realpath(folder)
    # A link may lead out of the log, to a file that nobody meant to publish.
    here = {paper: figures.log.locate(paper) for paper in sorted(figures.log.papers.intersection(named))}
    return {paper: path for paper, path in here.items() if Path(os.path.realpath(path)).is_relative_to(root)}
