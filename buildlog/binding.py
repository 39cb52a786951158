"""The way from a log to a book: the stages, with other ends.

read, compute, photos   as for a site, see buildlog/stages.py
render                  figures → the book as one page, see buildlog/render/book.py
output                  that page → a PDF, or one file for a browser, see buildlog/output/book.py
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from buildlog.frozen import frozen
from buildlog.stages import Run, read_record
from buildlog.text import count

if TYPE_CHECKING:
    from buildlog.render.book import Book, Paper


@frozen
class Binding(Run):
    """A run that ends in a book."""

    paper: Paper = "A4"
    "the sheet that it is set for"
    attach: bool = False
    "whether the papers that may be published go along inside"
    book: Book | None = None
    "made by render; None where the theme will not do"
    size: int = 0
    "bytes that output wrote; 0: nothing was written"

    @property
    def paged(self) -> bool:
        """Whether a PDF is wanted."""
        return self.out is not None and self.out.suffix.lower() == ".pdf"


def _render(run: Binding) -> Binding:
    """The book as one page, once all photos are there."""
    from buildlog.render.book import THEME, BookForm, render_book
    from buildlog.render.fitness import check_fitness
    from buildlog.render.theme import blame_template, load_theme

    figures, work = run.figures, run.photos
    if figures is None or work is None:
        return run
    site = figures.log.settings.site
    theme, unfit = load_theme(THEME, place=site.field_place("theme"), log=figures.log.folder, language=site.language)
    if theme is None:
        return replace(run, problems=run.join((*check_fitness(figures), *unfit)))
    record, seals = read_record(figures)
    try:
        book, stories = render_book(
            figures,
            theme,
            work.wait_for,
            record=record,
            form=BookForm(paged=run.paged, paper=run.paper, attached=run.attach),
        )
    except Exception as error:  # a template can fail in every way; what is not the owner's is ours and goes on
        return replace(run, problems=run.join((blame_template(error, figures),)))
    photos, broken = work.finish()
    run.watch.note("photos", f"{len(photos) - work.kept} made, {work.kept} kept")
    run.watch.note("render", count(len(book.pictures), "picture"))
    return replace(run, book=book, problems=run.join((*check_fitness(figures), *unfit, *seals, *broken, *stories)))


def _bind(run: Binding) -> Binding:
    """The book on the disk, or nothing where an error is left. Raises `OutputRefused`, and `OSError`."""
    from buildlog.output.book import BookAttachment, make_page, make_pdf, write_book

    book = run.book
    if book is None or run.out is None or run.refused:
        return run
    if run.paged:
        papers = book.papers if run.attach else {}
        data = make_pdf(
            book.html,
            book.pictures,
            book.statics,
            seed=book.seed,
            attachments=tuple(BookAttachment(path=at, name=path.rsplit("/", 1)[-1]) for path, at in papers.items()),
            day=run.as_of,
        )
    else:
        data = make_page(book.html, book.pictures)
    write_book(run.out, data)
    run.watch.note("output", f"{len(data) / 1e6:.1f} MB")
    return replace(run, size=len(data))


BINDING: Mapping[str, Callable[[Any], Any]] = {"render": _render, "output": _bind}
"By name of the stage."
