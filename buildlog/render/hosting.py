"""What stands beside the pages for hosts and programs: feed, sitemap, robots.txt, the page for a wrong address.

The picture for whoever shares the site is one of them. A handover is put on no host, so its site has of all these the
feed and the sitemap alone.

The feed of the latest entries is Atom (RFC 4287), written with and without an absolute address: links are absolute
where the address is known and relative to the feed itself where it is not. Ids never depend on the address, since
RFC 4287, section 4.2.6 wants them kept when a site moves. It carries each entry's lead and not the whole story, whose
pictures and links a reader program could not be sure to find. A feed with an absolute address shows the first photo of
each entry, in escaped HTML, which every reader program knows (section 4.1.3.1); without one no program could find it,
and there is the lead alone.

The sitemap follows the protocol of sitemaps.org, version 0.9; it needs the site's absolute address, and a site without
one has none.
"""

from __future__ import annotations

import base64
import datetime
import hashlib
import re
import uuid
from collections.abc import Callable, Iterable, Mapping
from functools import partial
from html import escape
from pathlib import Path
from urllib.parse import quote, urlsplit

from buildlog.frozen import frozen
from buildlog.photos.card import Card
from buildlog.render.addresses import SECTIONS, entry_href
from buildlog.render.fitness import make_fallback_id
from buildlog.render.marks import remove_marks, show_language
from buildlog.render.pages.condition import say_condition
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import SHARE, is_shared, list_sections
from buildlog.render.pages.front import find_plate
from buildlog.render.pages.leads import find_leads
from buildlog.render.theme import Theme
from buildlog.text import shorten

NAMESPACE = uuid.UUID("7b0c5a0e-9f57-5d0b-8d6e-2f3c9a1e4b60")
"Ours, chosen once for good; every id is a name-based UUID in it (RFC 9562, section 5.5)."
# Reader programs fetch the whole file again and again. Thirty are half a year of weekends to catch up with.
MOST_ENTRIES = 30
"Entries in a feed; older ones are found on the site."
FORBIDDEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
"What is no character of XML 1.0 (section 2.2, Char)."
NO_HTML = re.compile(
    "[\x7f-\x9f\ufdd0-\ufdef"
    + "".join(f"{chr(n + 0xFFFE)}{chr(n + 0xFFFF)}" for n in range(0, 0x110000, 0x10000))
    + "]"
)
"What XML allows and HTML does not: controls and noncharacters (HTML, section 13.2.3.5)."
# More would need an index of sitemaps, and no log is that long: a page a day gets there after 136 years.
MOST_PAGES = 50_000
LONGEST_ADDRESS = 2048
"Limits of the protocol: `url` elements in a file, characters of a `loc`."


@frozen
class FeedPicture:
    """One picture in the feed."""

    path: str
    "in the site, percent-encoded where needed"
    width: int
    "pixels"
    height: int
    "pixels"
    says: str
    "what it shows, as plain text; empty: the owner has not said"


@frozen
class FeedEntry:
    """One entry, as the feed needs it."""

    name: str
    "the entry's name"
    first_name: str
    "what it was called first: its id is made from that, so that it stays when the entry is renamed"
    title: str
    "plain text, as the owner wrote it"
    day: datetime.date
    "the day of the work session; a log has no clock, so the feed says midnight UTC"
    page: str
    "path of its page in the site, percent-encoded where needed"
    lead: str
    "plain text; empty where the entry has no story"
    picture: FeedPicture | None = None
    "its first photo; None: it has none"


@frozen
class Feed:
    """What the feed is made from."""

    title: str
    "of the site"
    language: str
    "BCP 47 tag"
    author: str
    "a name; never empty, since a feed has to have one (RFC 4287, section 4.1.1)"
    address: str | None
    "absolute address of the site, ending in `/`"
    seed: str
    "what is the log's own and never changes; ids are made from it"
    as_of: datetime.date
    "the feed's day while there is no entry"
    entries: tuple[FeedEntry, ...]
    "in any order"


def write_feed(feed: Feed, path: str = "feed.xml") -> bytes:
    """The feed as a file: the newest entries first; `path` is where it stands in the site."""
    # By name within a day, so that the same log always gives the same bytes.
    latest = sorted(feed.entries, key=lambda entry: (entry.day, entry.name), reverse=True)[:MOST_ENTRIES]
    base = feed.address or ""
    lines = [
        '<?xml version="1.0" encoding="utf-8"?>',
        f'<feed xmlns="http://www.w3.org/2005/Atom" xml:lang={_quote(feed.language)}>',
        f"<id>{_make_id(feed.seed)}</id>",
        f"<title>{_text(feed.title)}</title>",
        # Not the day of publishing: with no new entry the feed stays as it was, and nobody is called for nothing.
        f"<updated>{_midnight(latest[0].day if latest else feed.as_of)}</updated>",
        f"<author><name>{_text(feed.author)}</name></author>",
        f'<link rel="self" type="application/atom+xml" href={_quote(base + path)}/>',
        f'<link rel="alternate" type="text/html" href={_quote(base + "index.html")}/>',
        *(line for entry in latest for line in _write_entry(entry, feed.seed, base)),
        "</feed>\n",
    ]
    return "\n".join(lines).encode()


def _write_entry(entry: FeedEntry, seed: str, base: str) -> Iterable[str]:
    yield "<entry>"
    yield f"<id>{_make_id(seed, entry.first_name)}</id>"
    yield f"<title>{_text(entry.title)}</title>"
    yield f"<updated>{_midnight(entry.day)}</updated>"
    yield f'<link rel="alternate" type="text/html" href={_quote(base + entry.page)}/>'
    # Either of them: a summary should not say what the content says (section 4.2.13).
    if entry.picture and base:
        yield f'<content type="html">{_text(_write_content(entry.picture, entry.lead, base))}</content>'
    elif entry.lead:
        yield f"<summary>{_text(entry.lead)}</summary>"
    yield "</entry>"


def _write_content(picture: FeedPicture, lead: str, base: str) -> str:
    """The picture and the lead as HTML, which the feed holds escaped (section 3.1.1.2)."""
    lead, says = (NO_HTML.sub("\ufffd", words) for words in (lead, picture.says))
    sides = f'width="{picture.width}" height="{picture.height}"'
    shown = f"<p><img src={_quote(base + picture.path)} alt={_quote(says)} {sides}></p>"
    return f"{shown}<p>{_text(lead)}</p>" if lead else shown


def _make_id(*names: str) -> str:
    """A URN that stays the same for the same names, whenever and wherever the log is published."""
    # No name holds a line end, so two different lists are never joined to one text.
    return uuid.uuid5(NAMESPACE, "\n".join(names)).urn


def _midnight(day: datetime.date) -> str:
    """RFC 3339, upper-case `T` and `Z` (RFC 4287, section 3.3)."""
    return f"{day.isoformat()}T00:00:00Z"


def _text(text: str) -> str:
    # One such character, and a reader program refuses the whole feed (XML 1.0, section 1.2: a fatal error).
    return escape(FORBIDDEN.sub("\ufffd", text), quote=False)


def _quote(text: str) -> str:
    # Quotes too, as it stands in an attribute.
    quoted = escape(FORBIDDEN.sub("\ufffd", text))
    return f'"{quoted}"'


def write_sitemap(address: str, pages: Mapping[str, datetime.date | None]) -> bytes:
    """The sitemap as a file, in the order given; pages by path, percent-encoded, with the day they last changed.

    `address` is absolute and ends in `/`. Raises `ValueError` beyond the protocol's limits, which no log comes near.
    """
    lines = [_write_page(address + path, changed) for path, changed in pages.items()]
    if len(lines) > MOST_PAGES:
        raise ValueError(f"{len(lines)} pages are more than one sitemap holds")
    head = '<?xml version="1.0" encoding="utf-8"?>\n<urlset xmlns="http://www.sitemaps.org/schemas/sitemap/0.9">\n'
    return (head + "".join(lines) + "</urlset>\n").encode()


def _write_page(address: str, changed: datetime.date | None) -> str:
    if len(address) > LONGEST_ADDRESS:
        raise ValueError(f"`{address}` is longer than a sitemap allows")
    day = f"<lastmod>{changed.isoformat()}</lastmod>" if changed else ""
    return f"<url><loc>{escape(address)}</loc>{day}</url>\n"


MOST_LETTERS = 300
"Of the name and of the state each, on the picture for whoever shares the site."
MISSING = "404.html"
"The page that hosts show for an address at which there is none."
STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
STYLE_HASH = "sha256-of-the-style"
"Stands in the template for the hash of its own style (CSP Level 3, section 2.3.1), which is known once it is rendered."


def list_host_makers(context: PageContext, theme: Theme, pages: Iterable[str]) -> dict[str, Callable[[], bytes]]:
    """What makes each of these files, by its path in the site; `pages` are the paths of all pages."""
    files: dict[str, Callable[[], bytes]] = {"feed.xml": lambda: write_feed(describe_feed(context))}
    # The protocol allows absolute addresses only, and one cannot be guessed.
    address = context.figures.log.settings.site.address
    if address:
        files["sitemap.xml"] = lambda: write_sitemap(address, _list_pages(context, pages))
    if context.papers is None:
        files[MISSING] = partial(_render_missing, context, theme)
    if is_shared(context):
        files[SHARE] = lambda: context.draw(_describe_card(context))
    # Anywhere else than at the top of its host nobody asks for it (RFC 9309, section 2.3).
    if address and context.papers is None and urlsplit(address).path == "/":
        files["robots.txt"] = lambda: write_robots(address)
    return files


def write_robots(address: str) -> bytes:
    """Leave for all programs to read all there is, and where they find it (RFC 9309).

    Nothing private is named: whoever is asked not to look there would know where to look, and it is not on the site.
    """
    return f"User-agent: *\nAllow: /\n\nSitemap: {address}sitemap.xml\n".encode()


def _render_missing(context: PageContext, theme: Theme) -> bytes:
    """The page for a wrong address.

    A host shows it at whatever address was asked for, so that nothing relative can lead from it: it carries its style
    in itself, allowed by its hash and by nothing else, and its one link is absolute, or there is none.
    """
    site = context.figures.log.settings.site
    values = {
        "language": context.words.catalogue.language if context.words_language else site.language,
        "title": context.owner_text(context.title),
        "address": site.address,
        "style_hash": STYLE_HASH,
    }
    page = show_language(theme.render(MISSING, values), context.words_language)
    style = STYLE.search(page)
    digest = hashlib.sha256((style[1] if style else "").encode()).digest()
    return page.replace(STYLE_HASH, f"sha256-{base64.b64encode(digest).decode()}").encode()


def _describe_card(context: PageContext) -> Card:
    plate = find_plate(context)
    return Card(
        name=_tame(context.figures.log.settings.machine.name),
        state=_tame("".join(piece.text for piece in say_condition(context))),
        # The widest, as the card is cut out of it.
        picture=plate.variants.variants[0] if plate else None,
        font=_find_letters(),
    )


def _tame(words: str) -> str:
    """On one line, without marks, and no longer than could ever be shown."""
    return shorten(" ".join(remove_marks(words).split()), MOST_LETTERS)


def _find_letters() -> Path | None:
    """The file of the letters; None where its package is not installed."""
    try:
        import font_source_serif_pro
    except ImportError:
        return None
    # Of its two kinds the one whose widths are right at every size: in the other, quotation marks run into their words.
    return Path(font_source_serif_pro.font_directory, "SourceSerifPro-Semibold.otf")


def describe_feed(context: PageContext) -> Feed:
    """What the feed is made from."""
    settings = context.figures.log.settings
    # No other is looked at: what the feed looks at decides when it is made again, and photos have to be waited for.
    latest = sorted(context.entries.values(), key=lambda entry: (entry.date, entry.name), reverse=True)[:MOST_ENTRIES]
    return Feed(
        title=context.title,
        language=settings.site.language,
        author=settings.site.author or context.title,
        address=settings.site.address,
        seed=settings.site.id or make_fallback_id(settings),
        as_of=context.figures.as_of,
        entries=tuple(
            FeedEntry(
                name=entry.name,
                first_name=next(iter(entry.was), entry.name),
                title=entry.title,
                day=entry.date,
                page=quote(entry_href(entry.name)),
                lead=context.stories[entry.name].lead,
                picture=_find_picture(context, entry.name),
            )
            for entry in latest
        ),
    )


def _find_picture(context: PageContext, entry: str) -> FeedPicture | None:
    """The first photo of an entry, as a JPEG, which every program shows."""
    photo = next(iter(context.photos.get(entry, {}).values()), None)
    if photo is None:
        return None
    plain = next(one for one in photo.variants.variants if one.format == "image/jpeg")
    return FeedPicture(path=quote(plain.path), width=plain.width, height=plain.height, says=remove_marks(photo.says))


def _list_pages(context: PageContext, pages: Iterable[str]) -> dict[str, datetime.date | None]:
    """Every page with the day of the last entry that is on it; `pages` are the paths of all."""
    entries = {quote(entry_href(entry.name)): entry.date for entry in context.entries.values()}
    last = max(entries.values(), default=None)
    sections, leads = [href for _, href in list_sections(context)[1:]], find_leads(context)
    # A page of ours that has nothing to say is in neither.
    ours = [href for _, href in SECTIONS]
    others = [path for path in pages if path not in ours and not path.startswith("entries/")]
    others = [path for path in others if path not in leads]
    # The front page has the folder's address, as in its own head: `index.html` would be a second one for it.
    return {"": last, **dict.fromkeys([*sections, *others], last), **entries}
