"""The sitemap: every page of the site for search engines, by the protocol of sitemaps.org, version 0.9.

It needs the site's absolute address; a site without one has no sitemap. Which pages there are is decided elsewhere.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from html import escape

MOST_PAGES = 50_000
LONGEST_ADDRESS = 2048
"Limits of the protocol: `url` elements in a file, characters of a `loc`."


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
