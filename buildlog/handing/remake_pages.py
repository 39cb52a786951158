"""Whether the pages in a bag are what its entries make: the site rendered again and compared, byte for byte.

Pictures are not made again: a page needs their sizes alone, which the bag's list tells. A log's own theme is a
stranger's code and is not run.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from buildlog.handing.handed_log import link_papers, recall_photos
from buildlog.handing.maker import name_maker
from buildlog.reckon.figures import Figures
from buildlog.record.bag import PAYLOAD
from buildlog.record.check_page import make_check_page
from buildlog.record.check_text import write_check_text
from buildlog.record.findings import Finding, Flaw, judge, leave_open
from buildlog.record.handover import (
    CHECK_PAGE,
    CHECK_TEXT,
    LOG,
    OWN_THEME,
    SEALS,
    SITE,
    Handover,
)
from buildlog.record.leaves import Digest
from buildlog.record.publishing import publish_record
from buildlog.record.seal_check import check_seals
from buildlog.record.seals import BESIDE_NAME
from buildlog.record.stamp import LARGEST_REPLY
from buildlog.record.told_seals import tell_seals
from buildlog.record.unpack import Bag, Refused, read_file, sum_file
from buildlog.record.verify import read_seals


def answer_pages(bag: Bag, handover: Handover, figures: Figures) -> Finding:
    """Question 11: everything in the site that is made from the entries, and CHECK.md, byte for byte."""
    if handover.made_by != (here := name_maker()):
        return leave_open("pages", f"buildlog {handover.made_by} made them, and this is {here}")
    if any(name.startswith(f"{PAYLOAD}{LOG}{OWN_THEME}") for name in bag.sizes):
        return leave_open("pages", "the log has a theme of its own, and a stranger's templates are not run")
    try:
        made = make_pages(bag, handover, figures)
    except Refused as why:
        return judge("pages", [Flaw(rule=why.rule, message=why.message, file=why.file)], "")
    if made is None:
        return leave_open("pages", f"there is no theme `{figures.log.settings.site.theme}` here")
    flaws = list(_compare_pages(bag, made))
    count = sum(content is not None for content in made.values())
    return judge("pages", flaws, f"{count} files are what the entries make; pictures are not made again")


def make_pages(bag: Bag, handover: Handover, figures: Figures) -> dict[str, bytes | None] | None:
    """The site, CHECK.md and the page that checks, made again, by name in the bag; None where the theme is missing.

    A picture, which is not made again, stands as None. Raises `Refused` where the seals cannot be read.
    """
    from buildlog.site.pages.photos import list_photo_files
    from buildlog.site.render import render_site
    from buildlog.site.theme import load_theme

    site = figures.log.settings.site
    theme, _ = load_theme(site.theme, place=site.spot("theme"))
    if theme is None:
        return None
    start = PAYLOAD + LOG
    names = {
        handover.owner_path(n.removeprefix(start)): n.removeprefix(start) for n in bag.sizes if n.startswith(start)
    }
    photos = recall_photos(handover)
    seals, beside = read_seals(bag), _read_beside(bag)
    record = publish_record(seals, _sum_entries(bag, names), beside)
    files, _ = render_site(figures, theme, photos.get, papers=link_papers(names), record=record)
    made = {SITE + path: content for path, content in (files | list_photo_files(photos)).items()}
    pages = {PAYLOAD + name: content if isinstance(content, bytes) else None for name, content in made.items()}
    told = tell_seals(check_seals(seals, {}).seals, beside)
    pages[PAYLOAD + CHECK_TEXT] = write_check_text(handover, told, with_page=PAYLOAD + CHECK_PAGE in bag.sizes)
    if PAYLOAD + CHECK_PAGE in bag.sizes:
        pages[PAYLOAD + CHECK_PAGE] = make_check_page()
    return pages


def _read_beside(bag: Bag) -> dict[str, bytes]:
    """What lies beside the seals, by name; none larger than it can be."""
    start = PAYLOAD + SEALS
    names = [name for name in sorted(bag.sizes) if name.startswith(start) and BESIDE_NAME.fullmatch(name[len(start) :])]
    return {name[len(start) :]: read_file(bag, name, LARGEST_REPLY) for name in names}


def _sum_entries(bag: Bag, names: Mapping[str, str]) -> dict[str, Digest]:
    """What the pages say of entries is about their files."""
    return {path: sum_file(bag, PAYLOAD + LOG + name) for path, name in names.items() if path.startswith("entries/")}


def _compare_pages(bag: Bag, made: Mapping[str, bytes | None]) -> Iterator[Flaw]:
    here = {name for name in bag.sizes if name.startswith(PAYLOAD + SITE)}
    for name in sorted(here - made.keys()):
        yield Flaw(rule="page-added", message="the entries make no such file", file=name)
    for name, content in sorted(made.items()):
        if name not in bag.sizes:
            yield Flaw(rule="page-missing", message="the entries make this file, and it is not here", file=name)
        elif content is not None and bag.sizes[name] == len(content) and read_file(bag, name, len(content)) == content:
            continue
        elif content is not None:
            yield Flaw(rule="page-differs", message="it is not what the entries make", file=name)
