"""Are the pages in a bag what its entries make? The site is rendered again and compared, byte for byte.

Question 11 of `verify`. Where the bag says that another program made them, or the log has a theme of its own, which is
a stranger's code and is not run, what can still be compared is: which pages there are, what they say, and the pictures
(`remake_pictures`).
Another version of the program may write other markup; it makes no other figures of the same entries. So the words are
what a reader has to know of, and where they first differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from html.parser import HTMLParser
from itertools import zip_longest
from typing import TYPE_CHECKING

from buildlog.compute.figures import Figures
from buildlog.handover.bag import PAYLOAD
from buildlog.handover.bag_texts import summarise_seals, write_check_text
from buildlog.handover.check_page import make_check_page
from buildlog.handover.findings import Finding, Flaw, judge, lack, leave_open, note
from buildlog.handover.handed_log import link_papers, name_maker, recall_photos
from buildlog.handover.hashed_bag import HashedBag
from buildlog.handover.manifest import CHECK_PAGE, CHECK_TEXT, LIST, LOG, OWN_THEME, SEALS, SITE, Handover
from buildlog.handover.unpack import Refused, tame
from buildlog.handover.verify import read_seals
from buildlog.record.attest import LARGEST_REPLY
from buildlog.record.publishing import publish_record
from buildlog.record.rules import LARGEST_PAGE
from buildlog.record.seal_check import check_seals
from buildlog.record.seals import BESIDE_NAME, Digest
from buildlog.render.theme import load_theme

if TYPE_CHECKING:
    from buildlog.handover.remake_pictures import PictureCheck


SHOWN = 60
"Characters of what differs that are told."
UNSEEN = frozenset({"script", "style"})


def find_other_words(here: bytes, made: bytes) -> str:
    """Where a page that is here says something else than the one that was made; empty where they say the same."""
    left, right = (list_shown_words(page) for page in (here, made))
    for at, (one, other) in enumerate(zip_longest(left, right, fillvalue="")):
        if one != other:
            said, wanted = (" ".join(words[at : at + 4])[:SHOWN] for words in (left, right))
            return (
                f"`{said or 'nothing more'}` where this program says `{wanted or 'nothing more'}` for the same entries"
            )
    return ""


def list_shown_words(page: bytes) -> list[str]:
    """The words that a page shows or reads out, in order."""
    reader = _Reader()
    reader.feed(page.decode("utf-8", "replace"))
    reader.close()
    return " ".join(reader.texts).split()


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self._unseen = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Which picture it is, and what is read out in its place, are words too."""
        self._unseen += tag in UNSEEN
        # The source too: one picture shown in the place of another is a lie without a word.
        told = ("alt", "aria-label", "src") if tag == "img" else ("alt", "aria-label")
        self.texts += [value for name, value in attrs if name in told and value]

    def handle_endtag(self, tag: str) -> None:
        """Behind a script there are words again."""
        self._unseen -= tag in UNSEEN

    def handle_data(self, data: str) -> None:
        """Words between tags."""
        if self._unseen <= 0:
            self.texts.append(data)


def answer_pages(bag: HashedBag, handover: Handover, figures: Figures, *, unhurried: bool = False) -> Finding:
    """Question 11: all of the site, and CHECK.md, byte for byte; pictures by likeness where an encoder was another.

    `unhurried` has all pictures compared, however many there are.
    """
    # Late: it loads the libraries that decode photos, which no figure has to wait for.
    from buildlog.handover.remake_pictures import check_pictures

    # Whoever packed the bag can name another program and so switch the byte-for-byte off. What pages say and show is
    # compared all the same, and the note is told before all answers.
    notes = [*_find_obstacles(bag, handover, figures)]
    try:
        made = make_pages(bag, handover, figures)
    except Refused as why:
        return judge("pages", [Flaw(rule=why.rule, message=why.message, file=why.file)], "")
    own = handover.made_by == name_maker()
    pictures = check_pictures(bag, handover, figures, own=own, unhurried=unhurried)
    if notes or made is None:
        return _answer_roughly(bag, notes, made=made or {}, pictures=pictures)
    flaws = [*pictures.flaws, *_compare_pages(bag, made)]
    count = sum(content is not None for content in made.values())
    says = f"{count} files are exactly what the entries make; {pictures}"
    if flaws or pictures.whole:
        return judge("pages", flaws, says)
    # What the owner openly withheld is listed, and told here; it is no alarm. What is too large, nobody owned up to.
    return leave_open("pages", says, part="pictures") if pictures.beyond or pictures.left else lack("pages", says)


def _find_obstacles(bag: HashedBag, handover: Handover, figures: Figures) -> Iterator[Flaw]:
    """Why pages that are made here need not be, byte for byte, those of the bag. Whoever packed it can make it so."""
    if handover.made_by != (here := name_maker()):
        message = f"the pages are said to be made by buildlog {handover.made_by}, but this is {here}"
        yield Flaw(rule="other-program", message=f"{message}: {ONLY_WORDS}", file=PAYLOAD + LIST)
    own = next((name for name in sorted(bag.sizes) if name.startswith(f"{PAYLOAD}{LOG}{OWN_THEME}")), None)
    if own:
        message = f"the log has its own theme, a stranger's templates, which are not run: {ONLY_WORDS}"
        yield Flaw(rule="own-theme", message=message, file=own)
    site = figures.log.settings.site
    if not own and load_theme(site.theme, place=site.field_place("theme"))[0] is None:
        yield Flaw(rule="own-theme", message=f"there is no theme `{tame(site.theme)}` here: {ONLY_WORDS}")


ONLY_WORDS = "only words and pictures are compared, not markup and scripts"


def _answer_roughly(
    bag: HashedBag, notes: list[Flaw], *, made: Mapping[str, bytes | None], pictures: PictureCheck
) -> Finding:
    """What can be said of pages that are compared by their words."""
    pages = {name: content for name, content in made.items() if content and name.endswith(".html")}
    # The page that checks has little to say and much to do: words prove nothing of it.
    pages.pop(PAYLOAD + CHECK_PAGE, None)
    others = [*_compare_words(bag, pages)]
    same = len(pages) - sum(one.file in pages for one in others)
    says = f"not compared byte for byte: {same} of {len(pages)} pages say what the entries make; {pictures}"
    finding = judge("pages", pictures.flaws, says) if pictures.flaws else leave_open("pages", says)
    # One page that says something else sticks out and is told. Where most do, words have changed since then: page
    # by page that would be an alarm over nothing, and a changed one could not be told from the rest.
    if 2 * same < len(pages):
        most = f"{same} of {len(pages)} pages say what it makes, so go by the entries and not by the pages"
        return note(finding, [replace(one, message=f"{one.message}; {most}") for one in notes])
    return note(finding, (*notes, *others))


def _compare_words(bag: HashedBag, pages: Mapping[str, bytes]) -> Iterator[Flaw]:
    """Pages that are missing, that nothing makes, or that say something else."""
    rule = "pages-say-other"
    here = {name for name in bag.sizes if name.startswith(PAYLOAD + SITE) and name.endswith(".html")}
    for name in sorted(pages.keys() - here):
        yield Flaw(rule=rule, message="this program makes this page from the entries, but it is not here", file=name)
    for name in sorted(here - pages.keys()):
        yield Flaw(rule=rule, message="this program makes no such page from the entries", file=name)
    for name in sorted(pages.keys() & here):
        if bag.has(name, pages[name]):
            continue
        try:
            said = find_other_words(bag.read(name, LARGEST_PAGE), pages[name])
        except Refused as why:
            said = why.message
        if said:
            yield Flaw(rule=rule, message=f"it says {tame(said)}", file=name)


def make_pages(bag: HashedBag, handover: Handover, figures: Figures) -> dict[str, bytes | None] | None:
    """The site, CHECK.md and the page that checks, made again, by name in the bag; None where the theme is missing.

    A picture, which is not made again, stands as None. Raises `Refused` where the seals cannot be read.
    """
    from buildlog.render.pages.photos import PhotoFiles
    from buildlog.render.render import render_site

    site = figures.log.settings.site
    theme, _ = load_theme(site.theme, place=site.field_place("theme"), language=site.language)
    if theme is None:
        return None
    start = PAYLOAD + LOG
    names = {
        handover.owner_path(n.removeprefix(start)): n.removeprefix(start) for n in bag.sizes if n.startswith(start)
    }
    # As the bag's list tells them. It need not be believed: `remake_pictures` holds each picture against its photo, and
    # a list that leaves one out against the entries.
    photos = recall_photos(handover)
    seals, beside = read_seals(bag), _read_beside(bag)
    record = publish_record(seals, _list_entries(bag, names), beside)
    files, _ = render_site(figures, theme, photos.get, papers=link_papers(names), record=record)
    made = {SITE + path: content for path, content in ({**PhotoFiles(photos)} | files).items()}
    pages = {PAYLOAD + name: content if isinstance(content, bytes) else None for name, content in made.items()}
    told = summarise_seals(check_seals(seals, {}).seals, beside)
    pages[PAYLOAD + CHECK_TEXT] = write_check_text(
        handover, told, paths=names, with_page=PAYLOAD + CHECK_PAGE in bag.sizes
    )
    if PAYLOAD + CHECK_PAGE in bag.sizes:
        pages[PAYLOAD + CHECK_PAGE] = make_check_page()
    return pages


def _read_beside(bag: HashedBag) -> dict[str, bytes]:
    """What lies beside the seals, by name; none larger than it can be."""
    start = PAYLOAD + SEALS
    names = [name for name in sorted(bag.sizes) if name.startswith(start) and BESIDE_NAME.fullmatch(name[len(start) :])]
    return {name[len(start) :]: bag.read(name, LARGEST_REPLY) for name in names}


def _list_entries(bag: HashedBag, names: Mapping[str, str]) -> dict[str, Digest]:
    """What the pages say of entries, and of themselves, is about their files."""
    told = ("entries/", "pages/")
    return {path: bag.digests[PAYLOAD + LOG + name] for path, name in names.items() if path.startswith(told)}


def _compare_pages(bag: HashedBag, made: Mapping[str, bytes | None]) -> Iterator[Flaw]:
    here = {name for name in bag.sizes if name.startswith(PAYLOAD + SITE)}
    for name in sorted(here - made.keys()):
        yield Flaw(rule="page-added", message="the entries make no such file", file=name)
    for name, content in sorted(made.items()):
        if content is None:
            continue  # a picture
        if name not in bag.sizes:
            yield Flaw(rule="page-missing", message="the entries make this file, but it is not here", file=name)
        elif not bag.has(name, content):
            yield Flaw(rule="page-differs", message="it is not what the entries make", file=name)
