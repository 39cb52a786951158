"""The records of a standing page: what is looked up again and again and belongs to no day, as a wiring table does."""

from __future__ import annotations

import datetime
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.read import kinds, numbers
from buildlog.read.fields import LogRecord, list_of, optional, required
from buildlog.read.numbers import Box


@frozen
class PagePhoto(LogRecord):
    """One picture of a standing page."""

    SHORT: ClassVar[str | None] = "file"
    file: str = required(kinds.FILE_NAME, "file name in the page's photo folder")
    says: str | None = optional(
        kinds.TEXT, "what it shows: its caption, and what is read out to people who cannot see it"
    )
    hide: tuple[Box, ...] = list_of(numbers.BOX, "areas to cover up: [left, top, right, bottom] as fractions")


@frozen
class StandingPage(LogRecord):
    """A page that stands beside the entries: its front matter, and its text."""

    # these three come from the file around the front matter, so no key reads them
    name: str = ""
    "the file's name without `.md`: no entry has the same, as both have their photos in a folder of that name"
    body: str = ""
    "the text, Markdown"
    body_line: int = 1
    "the line of the file at which the text starts"
    title: str = optional(
        kinds.TEXT, "as the navigation shows it; can be a `# Title` above the text instead", default=""
    )
    order: int | None = optional(
        numbers.COUNT, "its place among these pages; those without one follow, by their file names"
    )
    # no figure hangs on it; but a site as of an earlier day must not show what was not known then
    date: datetime.date | None = optional(
        kinds.DATE, "the day from which it holds, shown beside the title; a site as of an earlier day is without it"
    )
    photos: tuple[PagePhoto, ...] = list_of(PagePhoto, "pictures to publish")
    papers: tuple[str, ...] = list_of(kinds.PATH, "papers that it goes with", to="paper")
