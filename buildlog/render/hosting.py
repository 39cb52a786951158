"""What stands beside the pages for hosts and programs: feed, sitemap, robots.txt, the page for a wrong address.

The picture for whoever shares the site is one of them. A handover is put on no host, so its site has of all these the
feed and the sitemap alone.
"""

from __future__ import annotations

import base64
import datetime
import hashlib
import re
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from urllib.parse import quote, urlsplit

from buildlog.photos.card import Card
from buildlog.read.records import Settings
from buildlog.render.feed import MOST_ENTRIES, Feed, FeedEntry, FeedPicture, write_feed, write_sitemap
from buildlog.render.language import remove_marks, show_language
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import LABELS, SECTIONS, SHARE, is_shared
from buildlog.render.pages.leads import list_lead_makers
from buildlog.render.pages.opening import find_plate, say_condition
from buildlog.render.pages.whereabouts import entry_href
from buildlog.render.theme import Theme
from buildlog.text import shorten

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
        "language": LABELS if context.words_language else site.language,
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


def make_fallback_id(settings: Settings) -> str:
    """What ids are made from where a log has none: its machine's name and the day that it was acquired."""
    # Changed here, it would change every id in the feed of every log that has none of its own.
    acquired = settings.acquired.date.isoformat() if settings.acquired else ""
    return f"{settings.machine.name} {acquired}".strip()


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
    sections, leads = [href for _, href in SECTIONS[1:]], list_lead_makers(context)
    others = [path for path in pages if path not in sections and not path.startswith(("entries/", "index."))]
    others = [path for path in others if path not in leads]
    # The front page has the folder's address, as in its own head: `index.html` would be a second one for it.
    return {"": last, **dict.fromkeys([*sections, *others], last), **entries}
