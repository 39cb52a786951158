"""Whether the photos were taken when their entries say that the work was done."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.photos.taken import read_taken
from buildlog.problems import Problem
from buildlog.source.records import Log

MOST_DAYS = 3
"Days between a photo and its entry that need no word: an evening's work is often written up at the weekend."


def find_stray_dates(log: Log) -> Iterator[Problem]:
    """A doubt for each listed photo whose camera tells another day, unless the entry says when it was taken.

    A camera's clock is often wrong, so this is evidence for the owner to look at and no error. A file that is not
    there, or tells no date, is passed over.
    """
    if log.folder is None:
        return
    for entry in log.entries:
        for photo in entry.photos:
            taken = None if photo.taken else read_taken(log.locate(f"photos/{entry.name}/{photo.file}"))
            if taken and abs((taken.date() - entry.date).days) > MOST_DAYS:
                day = taken.date().isoformat()
                yield Problem(
                    rule="stray-photo-date",
                    message=f"the camera says that `{photo.file}` was taken on {day}, the entry is of {entry.date}",
                    place=photo.place,
                    help=f"say so with `taken: {day}`, or with the true day where the camera's clock was wrong",
                    severity="doubt",
                )
