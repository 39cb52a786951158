"""What surrounds a page: its place in the navigation, its head, what it tells machines about itself."""

from __future__ import annotations

from buildlog.site.frame import Frame, Section
from buildlog.site.pages.edition import Edition
from buildlog.site.said import change_said
from buildlog.site.structured import MachineFacts, describe_machine, embed_json

SECTIONS = (
    ("The machine", "index.html"),
    ("Timeline", "timeline.html"),
    ("Costs", "costs.html"),
    ("Parts", "parts.html"),
    ("Faults", "faults.html"),
    ("Service history", "service.html"),
    ("Record", "record.html"),
)
"The navigation, in the order of the pages."

LABELS = "en-GB"
"Language of the theme's own words, where the owner writes in another."

LONGEST_DESCRIPTION = 160
"Characters of a description in the head."


def make_frame(edition: Edition, path: str, title: str, description: str) -> Frame:
    """The frame of the page at `path`."""
    site = edition.figures.log.settings.site
    address = site.address and site.address + ("" if path == "index.html" else path)
    section = "timeline.html" if path.startswith("entries/") else path
    short = change_said(description, lambda text: shorten(text, LONGEST_DESCRIPTION))
    return Frame(
        language=LABELS if edition.words_language else site.language,
        site_title=edition.said(edition.title),
        page_title=title,
        description=short,
        root="../" * path.count("/"),
        path=path,
        sections=tuple(Section(name=name, href=href, current=href == section) for name, href in SECTIONS),
        as_of=edition.when(edition.figures.as_of),
        address=address,
        feed="feed.xml",
        share=(
            ("og:type", "article" if path.startswith("entries/") else "website"),
            ("og:title", title),
            ("og:site_name", edition.said(edition.title)),
            ("og:description", short),
            *((("og:url", address),) if address else ()),
        ),
        data=_describe_machine(edition) if path == "index.html" else "",
        author=edition.said(site.author),
    )


def shorten(text: str, most: int) -> str:
    """A text cut at a word, with an ellipsis where it was cut."""
    return text if len(text) <= most else text[: most - 1].rsplit(" ", 1)[0].rstrip(",;:") + "…"


def _describe_machine(edition: Edition) -> str:
    """What the front page tells machines of the machine: no more than readers see.

    A masked number is no number, and a mileage that the owner does not stand by would be read without that word.
    """
    figures = edition.figures
    machine, identity, latest = figures.log.settings.machine, figures.identity, figures.meter.latest
    public = figures.log.settings.public
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
    )
    return embed_json(describe_machine(facts))
