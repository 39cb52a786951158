"""Figures → the book as one page of HTML, with the pictures that it shows. What is made of that is decided elsewhere.

The theme is `themes/book`; a log's own theme may replace files of it by their names. Nothing in the page leads to
anything but its own anchors and to the web addresses that the owner wrote into a story, which nobody follows while the
book is made.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import Literal

from buildlog.compute.figures import Figures
from buildlog.frozen import frozen
from buildlog.photos.recipe import PhotoSet, Variant
from buildlog.problems import Problem
from buildlog.record.published import PublishedRecord
from buildlog.render.found import brings_letters, list_paper_files, name_papers
from buildlog.render.markdown import ShowPhoto, Story
from buildlog.render.marks import remove_marks, show_language
from buildlog.render.pages.book import BookContext, find_anchor, list_anchors, make_book
from buildlog.render.pages.photos import LazyMapping, Photos, list_told, view_photos
from buildlog.render.render import make_words
from buildlog.render.stories import StoryLinks, list_problems, tell_story
from buildlog.render.theme import Theme, squeeze_sheet
from buildlog.text import to_say
from buildlog.typefaces import FACES, WHOLE, make_typefaces, read_whole_faces

THEME = "book"
"The theme that books are made with."
Paper = Literal["A4", "letter"]
"The sheet, by the name that CSS has for it (CSS Paged Media Level 3, section 7.1)."
COVERS: Mapping[Paper, str] = {"A4": "263mm", "letter": "245mm"}
"How high the frame of the cover is: the sheet less its margins, 297 mm and 11 inches less twice 16 mm, and its lines."
SHEETS = {True: ("book.css", "pages.css"), False: ("book.css", "screen.css")}
"The style sheets of the theme that go into the page: where pages are numbered and named, and for a browser."
POLICY = (
    "default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
)
"Of a book for a browser: all that it shows is inside it, and it fetches nothing, runs nothing and sends nothing."

NAMELESS = to_say("A photo without words")
"What is read out in place of one that the owner wrote nothing about: in a PDF every picture has to have a text."


@frozen
class BookForm:
    """In which form a book is wanted."""

    paged: bool
    "for a program that numbers pages and can say on which one something stands; else for a browser"
    paper: Paper = "A4"
    "the sheet that it is set for"
    attached: bool = False
    "whether the papers go along inside"


@frozen
class Book:
    """The whole book, ready to be set."""

    html: str
    "the page; a picture stands in it by its path in the site"
    pictures: Mapping[str, Variant]
    "each picture that it shows, by that path"
    statics: Mapping[str, bytes]
    "the theme's other files, by `theme/NAME`"
    papers: Mapping[str, Path]
    "the papers that may be published, by path in the log"
    seed: str
    "what is the same for every book of the same log and day, and for no other"


def render_book(
    figures: Figures,
    theme: Theme,
    find_photo: Callable[[str], PhotoSet | None],
    *,
    record: PublishedRecord,
    form: BookForm,
) -> tuple[Book, tuple[Problem, ...]]:
    """The book, and what in the stories cannot be shown as it was written. Raises what a template raises."""
    shown: dict[str, Variant] = {}
    context = _make_context(figures, theme, partial(_note_variants, find_photo, shown), record)
    view = make_book(context)
    letters = _find_letters(figures, form)
    values = {
        "view": view,
        "frame": view.frame,
        "paged": form.paged,
        "attached": form.attached,
        "policy": "" if form.paged else POLICY,
        "sheet": _join_sheets(theme, form, letters),
        "at": partial(find_anchor, context, list_anchors(context)),
        "shift": shift_headings,
        "nameless": theme.catalogue.say(NAMELESS),
    }
    page = show_language(theme.render(view.TEMPLATE, values), context.words_language)
    book = Book(
        html=page,
        pictures={path: shown[path] for path in dict.fromkeys(PICTURE.findall(page)) if path in shown},
        statics={**letters, **theme.read_statics()},
        papers=list_paper_files(figures, name_papers(figures)),
        seed=f"{remove_marks(view.machine)}\n{figures.as_of}\n{view.seal.code if view.seal else ''}",
    )
    return book, list_problems(context.stories)


PICTURE = re.compile(r'<img [^>]*?\bsrc="([^"]*)"')
"Where a picture stands. Text cannot look like one: a quote in it is written as a reference."


def _make_context(
    figures: Figures, theme: Theme, find_photo: Callable[[str], PhotoSet | None], record: PublishedRecord
) -> BookContext:
    told = {each.name: each for each in list_told(figures)}
    photos, links = view_photos(figures, find_photo, theme.catalogue), _list_links(figures)

    def tell(name: str) -> Story:
        return tell_story(told[name], _show_photos(photos, theme, name), links)

    return BookContext(
        figures=figures, words=make_words(figures, theme), stories=LazyMapping(told, tell), photos=photos, record=record
    )


def _note_variants(
    find_photo: Callable[[str], PhotoSet | None], shown: dict[str, Variant], name: str
) -> PhotoSet | None:
    """What is found, each picture of it noted by the address that pages have for it."""
    found = find_photo(name)
    for variant in found.variants if found else ():
        # Entries' own views stand one folder down on the site, and a cover on top of it.
        shown[variant.path] = shown[f"../{variant.path}"] = variant
    return found


def _show_photos(photos: Photos, theme: Theme, name: str) -> Mapping[str, ShowPhoto]:
    nameless = theme.catalogue.say(NAMELESS)

    # A function, as a lambda made in a loop would show the last photo for each.
    def show(file: str) -> ShowPhoto:
        photo = photos[name][file].below()
        return lambda alt: theme.render("book_photo.html", {"photo": photo, "alt": alt, "nameless": nameless})

    return {file: show(file) for file in photos.get(name, {})}


def _list_links(figures: Figures) -> StoryLinks:
    """Where a link from one story to another leads, by any name that an entry ever had."""
    leads: dict[str, str] = {}
    for n, entry in enumerate(figures.entries, 1):
        leads |= dict.fromkeys((*entry.was, entry.name), f"#entry-{n}")
    leads |= {page.name: f"#page-{n}" for n, page in enumerate(figures.pages, 1)}
    return {"entry": leads, "page": leads}


def shift_headings(story: str) -> str:
    """A story with its headings two ranks lower: on its own page the entry's title stands above it, here the chapter
    and the book as well."""
    return re.sub(r"<(/?)h([2-6])>", lambda tag: f"<{tag[1]}h{min(6, int(tag[2]) + 2)}>", story)


def _find_letters(figures: Figures, form: BookForm) -> dict[str, bytes]:
    """The fonts that the book brings, by their path: whole ones for a PDF, which takes of them what it needs, and for a
    browser those of the site; none where the site brings none."""
    if not brings_letters(figures):
        return {}
    if form.paged:
        return read_whole_faces()
    language = figures.log.settings.site.language
    return {path: data for path, data in make_typefaces(language).items() if path.endswith(".woff2")}


def _write_faces(form: BookForm, letters: Mapping[str, bytes]) -> Iterator[str]:
    """A rule for each font: a PDF is given it by its address, and a page for a browser has it inside."""
    for face in WHOLE if form.paged else FACES:
        path = f"theme/{face.file}"
        if path in letters:
            source = path if form.paged else f"data:font/woff2;base64,{base64.b64encode(letters[path]).decode()}"
            adjust = f"size-adjust:{face.scale}%;" if face.scale != 100 else ""  # nothing but browsers knows it
            named = f'font-family:"{face.family}";font-style:{face.style};font-weight:{face.weights}'
            yield f'@font-face{{{named};{adjust}src:url("{source}")}}'


def _join_sheets(theme: Theme, form: BookForm, letters: Mapping[str, bytes]) -> str:
    """The style sheet of the page, with the size of its paper and its fonts."""
    found = theme.read_statics()
    sheets = [found[f"theme/{name}"] for name in SHEETS[form.paged]]
    size = f"@page{{size:{form.paper}}}:root{{--cover:{COVERS[form.paper]}}}"
    faces = "\n".join(_write_faces(form, letters))
    sheet = b"\n".join([size.encode(), faces.encode(), *map(squeeze_sheet, sheets)]).decode()
    # The one thing in a style sheet by which its element could end (HTML, 13.1.2.1): a log may have a sheet of its own.
    return sheet.replace("</", "<\\/")
