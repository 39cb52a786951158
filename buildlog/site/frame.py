"""What surrounds every page: its head, its navigation, its foot."""

from __future__ import annotations

from buildlog.frozen import frozen
from buildlog.site.pieces import When


@frozen
class Section:
    """One place in the navigation."""

    name: str
    "`Costs`"
    href: str
    "`costs.html`"
    current: bool = False
    "whether this page is it, or below it"


@frozen
class HeadLink:
    """One `<link>` of the head besides the theme's own."""

    rel: str
    "`alternate`, `icon`"
    href: str
    "from the top of the site"


@frozen
class Frame:
    """What surrounds every page."""

    language: str
    "BCP 47 tag of `<html lang>`: of the theme's own words"
    site_title: str
    page_title: str
    "of this page; the front page's is the site's"
    description: str
    "plain text of at most about 160 characters, for the head"
    root: str
    "way back to the top: empty, or `../` once for each folder"
    path: str
    "this page from the top: `entries/2024-05-18-lift-pump.html`"
    sections: tuple[Section, ...]
    as_of: When
    "the day as of which all figures stand"
    address: str | None = None
    "this page's absolute address, where the site's is known"
    feed: str = ""
    "`feed.xml`; empty: no feed"
    links: tuple[HeadLink, ...] = ()
    share: tuple[tuple[str, str], ...] = ()
    'Open Graph: `("og:title", "…")`'
    data: str = ""
    "JSON-LD with `<` written as `\\u003c`, printed as it is"
    author: str = ""
