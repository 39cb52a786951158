"""What surrounds a page: its place in the navigation, its head, and what that says to search engines (schema.org)."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any
from urllib.parse import quote

from buildlog.frozen import frozen, kept, kept_by
from buildlog.photos.card import HEIGHT as CARD_HEIGHT
from buildlog.photos.card import WIDTH as CARD_WIDTH
from buildlog.render.addresses import LISTED, PICTURES, SECTIONS, page_href
from buildlog.render.found import brings_letters
from buildlog.render.language import Words
from buildlog.render.marks import change_owner_text
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.photos import PublishedPhoto, list_told
from buildlog.render.pieces import When
from buildlog.text import shorten
from buildlog.typefaces import ASKS, SHEET

TYPES = {"road vehicle": "Car", "motorcycle": "Motorcycle", "other": "IndividualProduct"}
"schema.org's type for a kind of machine. It has none for boats, tractors, aircraft and trailers: they are `Vehicle`s."
UNIT_CODES = {"km": "KMT", "mi": "SMI"}
"UN/CEFACT codes, which `unitCode` wants; hours are no mileage and are left out."
HARMLESS = {ord(c): f"\\u{ord(c):04x}" for c in "<>&\u2028\u2029"}
"JSON's own escapes for what could end a script element, or a line of script, early."


@frozen
class MachineFacts:
    """What may be said of the machine in public."""

    kind: str
    "as in `log.yaml`"
    name: str
    "the owner's name for it"
    maker: str | None = None
    "None: not stated"
    model: str | None = None
    "None: not stated"
    year: int | None = None
    "of manufacture or model; None: not stated"
    number: str | None = None
    "VIN, or another number that identifies it, masked or whole as readers see it; None when it is hidden"
    reading: tuple[Decimal, str] | None = None
    "true total of the meter and its unit"
    page: str | None = None
    "absolute address of its page"
    picture: str | None = None
    "absolute address of a picture of it"


def describe_machine(facts: MachineFacts) -> dict[str, Any]:
    """The machine as a JSON-LD object, with the properties that schema.org defines for its type."""
    kind = TYPES.get(facts.kind, "Vehicle")
    # None is left out below: an empty text would be a claim of its own.
    found: dict[str, Any] = {
        "@context": "https://schema.org",
        "@type": kind,
        "name": facts.name,
        "manufacturer": {"@type": "Organization", "name": facts.maker} if facts.maker else None,
        "model": facts.model,
        "url": facts.page,
        "image": facts.picture,
    }
    # schema.org defines those of a `Vehicle` for no other product.
    if kind == TYPES["other"]:
        found["serialNumber"] = facts.number
    else:
        found |= {
            "vehicleIdentificationNumber": facts.number,
            "vehicleModelDate": str(facts.year) if facts.year else None,
            "mileageFromOdometer": _describe_mileage(facts.reading),
        }
    return {key: value for key, value in found.items() if value is not None}


def embed_json(found: Mapping[str, Any]) -> str:
    """The object as the inside of a script element of type `application/ld+json`, which nothing in it can end."""
    return json.dumps(found, ensure_ascii=False).translate(HARMLESS)


def _describe_mileage(reading: tuple[Decimal, str] | None) -> dict[str, Any] | None:
    # Hours are no mileage.
    if reading is None or reading[1] not in UNIT_CODES:
        return None
    value, unit = reading
    # `json` writes no `Decimal`. A `float` is written in the fewest digits that mean the same: 87412.5 stays 87412.5.
    number = int(value) if value == value.to_integral_value() else float(value)
    return {"@type": "QuantitativeValue", "value": number, "unitCode": UNIT_CODES[unit]}


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
    media: str = ""
    "`print`; empty: for all. Nothing on the screen waits for one that is for paper alone"


@frozen
class Frame:
    """What surrounds every page."""

    language: str
    "BCP 47 tag of `<html lang>`: of the theme's own words"
    site_title: str
    "the owner's, else the machine's name"
    page_title: str
    "of this page; the front page's is the site's"
    description: str
    "plain text of at most about 160 characters, for the head"
    root: str
    "way back to the top: empty, or `../` once for each folder"
    path: str
    "this page from the top: `entries/2024-05-18-lift-pump.html`"
    sections: tuple[Section, ...]
    "the navigation; empty: none"
    as_of: When | None
    "the day as of which all figures stand; None: the page is the same on every day"
    left_out: str = ""
    "`2 entries of a later day are left out: not counted, and not on any page`; empty: none, or the page names no day"
    address: str | None = None
    "this page's absolute address, where the site's is known"
    feed: str = ""
    "`feed.xml`; empty: no feed"
    links: tuple[HeadLink, ...] = ()
    "style sheets and icons of this page alone"
    first_scripts: tuple[str, ...] = ()
    "from the top of the site; asked for before anything else, and waited for by nothing"
    share: tuple[tuple[str, str], ...] = ()
    'Open Graph: `("og:title", "…")`'
    data: str = ""
    "JSON-LD with `<` written as `\\u003c`, printed as it is"
    author: str = ""
    "empty: not stated"
    unlisted: bool = False
    "whether search engines shall pass the page over: it only leads on, or has nothing to say"


SHARE = "share.jpg"
"""The picture of the site for whoever shares a page of it.

Always at this address, whatever it shows: somebody else's page may ask for it years later, and most pages that name it
do not hang on the day, as the picture does."""
MOST_IN_NAVIGATION = 6
"Standing pages that the navigation names one by one; of more it leads to their list, as it stands on every page."

LEAST_SHARED = 600, 315
"Pixels of a photo that stands beside a shared link: smaller ones are shown as a stamp. Common practice, no source."

# About what search engines show; common practice, no source.
LONGEST_DESCRIPTION = 160
"Characters of a description in the head."


LETTERS = HeadLink(rel="stylesheet", href=SHEET)


def make_frame(context: PageContext, path: str, title: str, description: str, *, dated: bool = False) -> Frame:
    """The frame of the page at `path`; `dated`: its content hangs on the day, so it names it.

    All others are the same bytes on every day on which no entry was added, and need not be sent anew.
    """
    site = context.figures.log.settings.site
    # The front page by the folder's address alone, so that it is one page to search engines.
    address = site.address and site.address + ("" if path == "index.html" else path)
    # Entries and systems are reached from the timeline, so that is where a reader is; the pages of a period, from
    # their overview.
    folder = path.partition("/")[0] if "/" in path else ""
    section = "timeline.html" if folder in ("entries", "systems") else f"{folder}.html" if folder else path
    short = change_owner_text(description, lambda text: shorten(text, LONGEST_DESCRIPTION))
    return Frame(
        language=context.words.catalogue.language if context.words_language else site.language,
        site_title=context.owner_text(context.title),
        page_title=title,
        description=short,
        # Relative, so that the site also works from a folder on a disk and below a path.
        root="../" * path.count("/"),
        path=path,
        sections=_find_sections(context, (section, path if folder == "pages" else "")),
        as_of=context.when(context.figures.as_of) if dated else None,
        left_out=_say_left_out(context.words, len(context.figures.log.entries) - len(context.figures.entries))
        if dated
        else "",
        address=address,
        feed="feed.xml",
        links=(LETTERS,) if brings_letters(context.figures) else (),
        first_scripts=(ASKS,) if brings_letters(context.figures) else (),
        share=(
            ("og:type", "article" if path.startswith("entries/") else "website"),
            ("og:title", title),
            ("og:site_name", context.owner_text(context.title)),
            ("og:description", short),
            # Has to be absolute, so without an address there is none.
            *((("og:url", address),) if address else ()),
            *_list_share_pictures(context, path),
        ),
        # Once: the other pages are not about the machine as a whole.
        data=_describe_machine(context) if path == "index.html" else "",
        author=context.owner_text(site.author),
        unlisted=_has_nothing(context, path),
    )


@kept_by
def list_sections(context: PageContext) -> tuple[tuple[str, str], ...]:
    """Name and path of each page of the site's own that has something to say.

    The others keep their address, as links to them were given away, and say there that they have nothing yet.
    """
    figures = context.figures
    costs, plan, parts = figures.costs, figures.costs.plan, figures.parts
    money = (
        # Then the page has to say so, whatever there is.
        context.prices == "hidden",
        costs.lines or costs.refund_lines or costs.recovered_lines or costs.committed_lines,
        costs.acquired is not None and context.prices == "shown",
        costs.own_hours or costs.gifts or costs.cores_owed or figures.rework.items,
        plan.budget_total or plan.list_open(),
    )
    off = any(item.visits for item in figures.strip_downs.strip_downs)
    there = {
        "costs.html": any(money),
        "parts.html": bool(parts.parts or parts.suppliers or figures.in_the_post),
        "faults.html": bool(figures.faults.faults or figures.temporary or off),
    }
    return tuple((name, href) for name, href in SECTIONS if there.get(href, True))


def _has_nothing(context: PageContext, path: str) -> bool:
    """Whether it is a page of `SECTIONS` that has nothing to say."""
    return any(path == href for _, href in SECTIONS) and all(path != href for _, href in list_sections(context))


@kept  # the same on all pages of a section, but for those of the owner
def _find_sections(context: PageContext, here: tuple[str, str]) -> tuple[Section, ...]:
    return tuple(_list_sections(context, *here))


def _list_sections(context: PageContext, section: str, path: str) -> Iterator[Section]:
    """The navigation: the site's own pages, then the owner's; `path` is that of the page, if it is one of these."""
    say = context.words.say
    yield from (Section(name=say(name), href=href, current=href == section) for name, href in list_sections(context))
    if _has_photos(context):
        yield Section(name=say("Photos"), href=PICTURES, current=section == PICTURES)
    if len(context.figures.pages) > MOST_IN_NAVIGATION:
        yield Section(name=say("Pages"), href=LISTED, current=section == LISTED)
        return
    for page in context.figures.pages:
        href = page_href(page.name)
        yield Section(name=context.owner_text(page.title), href=href, current=href == path)


@kept_by
def _has_photos(context: PageContext) -> bool:
    """Whether anything that is told on the site has a photo."""
    return any(context.figures.log.photos.get(told.name) for told in list_told(context.figures) if told.photos)


def find_cover(context: PageContext) -> PublishedPhoto | None:
    """The photo of the machine that the owner chose; None where none is, or it is not published."""
    cover = context.figures.log.settings.site.cover
    if cover is None:
        return None
    name, file = context.figures.log.name_photo(cover)
    return context.photos.get(name, {}).get(file)


def _list_share_pictures(context: PageContext, path: str) -> Iterator[tuple[str, str]]:
    """What stands beside a link to the page: of an entry its first photo, of all others the site's picture.

    As a JPEG, which every program shows, and by its absolute address. No page waits for a photo that it does not show.
    """
    if not is_shared(context):
        return
    entry = path.removeprefix("entries/").removesuffix(".html") if path.startswith("entries/") else ""
    photo = next(iter(context.photos.get(entry, {}).values()), None)
    plain = next((one for one in photo.variants.variants if one.format == "image/jpeg"), None) if photo else None
    if photo and plain and plain.width >= LEAST_SHARED[0] and plain.height >= LEAST_SHARED[1]:
        src, width, height, alt = quote(plain.path), plain.width, plain.height, photo.says
    else:
        src, width, height = SHARE, CARD_WIDTH, CARD_HEIGHT
        alt = context.owner_text(context.figures.log.settings.machine.name)
    yield "og:image", f"{context.figures.log.settings.site.address}{src}"
    yield "og:image:type", "image/jpeg"
    yield "og:image:width", str(width)
    yield "og:image:height", str(height)
    if alt:
        yield "og:image:alt", alt


def is_shared(context: PageContext) -> bool:
    """Whether the site is for the web and knows where it stands: a picture beside a link needs an absolute address."""
    return context.figures.log.settings.site.address is not None and context.papers is None


def _say_left_out(words: Words, entries: int) -> str:
    """How many entries no figure and no page knows, as their day came later: a reader cannot see what is not there."""
    if not entries:
        return ""
    return words.say_count(
        "%(number)s entry of a later day is left out: not counted, and not on any page",
        "%(number)s entries of a later day are left out: not counted, and not on any page",
        entries,
    )


def _describe_machine(context: PageContext) -> str:
    """What the front page says of the machine to search engines: no more than readers see.

    A masked number is no number, and a mileage that the owner does not stand by would be read without that word.
    """
    figures = context.figures
    machine, identity, latest = figures.log.settings.machine, figures.identity, figures.meter.latest
    public = figures.log.settings.public
    # A search engine would show the bare number, without the warning that stands beside it on the page.
    plain = figures.meter.statement not in ("not actual", "exceeds mechanical limits")
    facts = MachineFacts(
        kind=machine.kind,
        name=machine.name,
        maker=machine.maker,
        model=machine.model,
        year=machine.year,
        number=(identity.public_vin or identity.public_hin) if public.vin == "shown" else None,
        reading=(latest.total, figures.meter.unit) if latest and figures.meter.unit and plain else None,
        page=figures.log.settings.site.address,
        picture=_find_picture(context),
    )
    return embed_json(describe_machine(facts))


def _find_picture(context: PageContext) -> str | None:
    """The absolute address of the cover, where it can be asked for."""
    cover = find_cover(context) if is_shared(context) else None
    return f"{context.figures.log.settings.site.address}{quote(cover.at_top().src)}" if cover else None
