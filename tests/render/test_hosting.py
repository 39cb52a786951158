"""What stands beside the pages for hosts and programs: the page for a wrong address, robots.txt, shares, icons."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from urllib.robotparser import RobotFileParser

import pytest
from lxml import html
from PIL import Image

from buildlog.compute.figures import Figures, compute_figures
from buildlog.photos import card
from buildlog.photos.card import Card
from buildlog.photos.recipe import PhotoSet, Variant
from buildlog.render.hosting import write_robots
from buildlog.render.pages.context import PageContext
from buildlog.render.render import list_makers, make_context
from buildlog.render.theme import find_themes, load_theme
from tests.make_icon import draw_icon
from tests.render.test_render import DAY, HEADS
from tests.support import SETTINGS, log_of
from tests.test_cli import ENTRY, make_log, run

PUMP = "date: 2024-05-22\ntitle: Pump\nphotos: [{file: small.jpg}, {file: whole.jpg, says: The pump}]"
WHEEL = "date: 2024-05-24\ntitle: Wheel\nphotos: [{file: whole.jpg, says: The wheel & hub}]"
AT_TOP, BELOW = "https://example.org/", "https://example.org/sedge/"


def figures_of(site: str, *heads: str) -> Figures:
    log = log_of(*HEADS, *heads, settings=f"{SETTINGS}site: {{id: x, {site}}}")
    photos = {entry.name: frozenset(photo.file for photo in entry.photos) for entry in log.entries if entry.photos}
    return compute_figures(replace(log, photos=photos), DAY)


def find_photo(name: str) -> PhotoSet:
    """A photo of every name: `small.jpg` is one that was small to begin with."""
    width, height = (400, 300) if name.endswith("small.jpg") else (960, 640)
    made = tuple(
        Variant(f"photos/{name[:2]}/0-{edge}.{kind}", edge, edge * height // width, f"image/{long}", "", 0, 0)
        for edge, kind, long in ((width, "webp", "webp"), (width, "jpg", "jpeg"))
    )
    return PhotoSet(variants=made, width=width, height=height, colour="#808080")


def make(site: str, *heads: str, path: str, papers: dict[str, str] | None = None) -> str:
    """One file of a site, or an empty text where it has none of that name."""
    figures = figures_of(site, *heads)
    theme, _ = load_theme("margin", place=figures.log.settings.place)
    assert theme is not None
    makers = list_makers(make_context(figures, theme, find_photo, papers=papers), theme)
    made = makers[path]() if path in makers else b""
    assert isinstance(made, bytes)
    return made.decode()


def list_properties(page: str) -> dict[str, str]:
    """What a page says of itself to whoever shares it (Open Graph): each property once."""
    found = html.document_fromstring(page.encode()).xpath("//meta[@property]")
    told = {one.get("property"): one.get("content") for one in found}
    assert len(told) == len(found)
    return told


def of(told: dict[str, str], *names: str) -> list[str | None]:
    return [told.get(f"og:{name}") for name in names]


IMAGE = ("image", "image:width", "image:height", "image:alt")


def test_an_entry_is_shared_with_its_first_photo() -> None:
    """By its absolute address and with its size and words; one that would be shown as a stamp is no such picture."""
    told = list_properties(make(f"address: {BELOW}", PUMP, WHEEL, path="entries/e4.html"))
    assert of(told, *IMAGE, "url") == [
        f"{BELOW}photos/e4/0-960.jpg", "960", "640", "The wheel & hub", f"{BELOW}entries/e4.html",
    ]  # fmt: skip
    told = list_properties(make(f"address: {BELOW}", PUMP, WHEEL, path="entries/e3.html"))
    assert of(told, "image", "image:width", "image:height") == [f"{BELOW}share.jpg", "1200", "630"]


@pytest.mark.parametrize("path", ["index.html", "costs.html", "entries/e1.html"])
def test_all_else_is_shared_with_the_picture_of_the_site(path: str) -> None:
    """At an address that never changes, whatever it shows; the Open Graph protocol wants it absolute (ogp.me)."""
    told = list_properties(make(f"address: {BELOW}", WHEEL, path=path))
    assert of(told, *IMAGE) == [f"{BELOW}share.jpg", "1200", "630", "Test machine"]


def test_without_an_address_nothing_is_shared() -> None:
    """No picture is named, and none is drawn; a handover, which is put on no host, is as good as without."""
    for site, papers in (("title: T", None), (f"address: {AT_TOP}", {})):
        page = make(site, WHEEL, path="entries/e3.html", papers=papers)
        assert "og:image" not in page
        assert make(site, WHEEL, path="share.jpg", papers=papers) == ""
    assert (
        make(f"address: {AT_TOP}", path="404.html", papers={})
        == make(f"address: {AT_TOP}", path="robots.txt", papers={})
        == ""
    )


def test_the_card_says_what_readers_see() -> None:
    """Its name and its state stand on the front page, and its picture is the one that the owner chose."""
    figures = figures_of(f"address: {BELOW}, cover: e4/whole.jpg", PUMP, WHEEL)
    theme, _ = load_theme("margin", place=figures.log.settings.place)
    assert theme is not None
    asked: list[Card] = []
    context: PageContext = replace(
        make_context(figures, theme, find_photo), draw=lambda one: asked.append(one) or b"drawn"
    )
    makers = list_makers(context, theme)
    assert makers["share.jpg"]() == b"drawn"
    (told,) = asked
    front = makers["index.html"]()
    assert isinstance(front, bytes)
    words = " ".join(html.document_fromstring(front).text_content().split())
    assert told.name in words and told.name == "Test machine"
    assert told.state and told.state in words
    assert told.font and told.font.is_file()
    assert told.picture and told.picture.path == "photos/e4/0-960.webp"


def test_what_is_unchanged_is_not_drawn_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither into the same folder nor into another, nor when another entry says more; its state draws it anew."""
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    settings = (log / "log.yaml").read_text()
    (log / "log.yaml").write_text(settings.replace("site: {", f"site: {{address: '{BELOW}', "))
    drawn: list[Card] = []
    draw = card.draw_card
    monkeypatch.setattr(card, "draw_card", lambda one: drawn.append(one) or draw(one))

    def publish(out: str) -> bytes:
        result = run("publish", log, "--as-of", "2024-11-30", "--out", tmp_path / out)
        assert result.exit_code == 0, result.output
        return (tmp_path / out / "share.jpg").read_bytes()

    first = publish("site")
    assert publish("site") == publish("other") == first
    entry = log / "entries/2024-05-18-lift-pump.md"
    entry.write_text(entry.read_text().replace("hours: 4.5", "hours: 5.5") + "More.\n")
    assert publish("site") == first
    assert len(drawn) == 1
    entry.write_text(entry.read_text().replace("hours: 5.5", "faults: {fault: leak, name: It leaks}"))
    assert publish("site") != first
    assert [one.name for one in drawn] == ["Test machine"] * 2 and "1 open fault" in drawn[1].state


# ── the page for a wrong address ─────────────────────────────────────────────────────────────────────────────────


def test_a_wrong_address_leads_to_the_front_page() -> None:
    """By its absolute address; nothing in the page is relative, as it is shown at any depth."""
    tree = html.document_fromstring(make(f"address: {BELOW}", path="404.html"))
    assert [(kind, target) for _, kind, target, _ in tree.iterlinks()] == [("href", BELOW)]


def test_without_an_address_it_leads_nowhere_and_says_what_to_do() -> None:
    """A link from the host's root would lead out of a site that lies below a path."""
    tree = html.document_fromstring(make("title: The Barn", path="404.html"))
    assert [*tree.iterlinks()] == []
    assert "shorten the address from its end" in tree.text_content() and "The Barn" in tree.text_content()


def test_its_style_is_allowed_by_its_hash_alone() -> None:
    """CSP Level 3, sections 2.3.1 and 6.7.2.3: `sha256-` and the hash, in Base64, of what stands between the tags."""
    page = make("language: de-DE, title: 'Die <Scheune>'", path="404.html")
    style = re.findall("<style>(.*?)</style>", page, re.DOTALL)
    (policy,) = re.findall('http-equiv="Content-Security-Policy" content="([^"]*)"', page)
    digest = base64.b64encode(hashlib.sha256(style[0].encode()).digest()).decode()
    assert policy == f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    assert 'lang="de-DE" class="site">Die &lt;Scheune&gt;' in page


# ── robots.txt ───────────────────────────────────────────────────────────────────────────────────────────────────


def test_robots_may_read_all_and_find_the_sitemap() -> None:
    """Read as a robot does, by the standard library's reader; nothing that is not on the site is named."""
    text = make(f"address: {AT_TOP}", path="robots.txt")
    robot = RobotFileParser()
    robot.parse(text.splitlines())
    assert robot.can_fetch("any", f"{AT_TOP}entries/e1.html")
    assert robot.site_maps() == [f"{AT_TOP}sitemap.xml"]
    assert "Disallow" not in text
    assert write_robots(AT_TOP).decode() == text


def test_below_a_path_no_robot_would_ask_for_it() -> None:
    """RFC 9309, section 2.3: the file is asked for at the top of a host, so anywhere else it would say nothing."""
    assert make(f"address: {BELOW}", path="robots.txt") == make("title: T", path="robots.txt") == ""


# ── icons and colours ────────────────────────────────────────────────────────────────────────────────────────────

MARGIN = find_themes() / "margin"


def test_the_icon_for_home_screens_is_the_icon() -> None:
    """Drawn from the same lines by `tests.make_icon`; neither changes without the other."""
    kept = (MARGIN / "mark.png").read_bytes()
    drawn = draw_icon((MARGIN / "mark.svg").read_text(encoding="utf-8"))
    with Image.open(BytesIO(kept)) as one, Image.open(BytesIO(drawn)) as other:
        # The pixels and not the bytes: another version of the library packs them otherwise.
        assert one.size == (180, 180) and one.tobytes() == other.tobytes()


def test_the_browser_is_coloured_like_the_paper() -> None:
    """`theme-color` in the light and in the dark is the ground of the style sheet there; so is that of the page for a
    wrong address, which has no style sheet."""
    sheet = (MARGIN / "margin.css").read_text(encoding="utf-8")
    papers = re.findall(r"--paper: (#\w+);", sheet)[:2]
    page = (MARGIN / "page.html").read_text(encoding="utf-8")
    schemes = re.findall(r'name="theme-color" content="(#\w+)" media="\(prefers-color-scheme: (\w+)\)"', page)
    assert schemes == [(papers[0], "light"), (papers[1], "dark")]
    missing = (MARGIN / "404.html").read_text(encoding="utf-8")
    assert re.findall(r"--paper: (#\w+);", missing) == papers


def test_the_card_has_the_colours_of_the_theme() -> None:
    """Paper, ink and the margin line are those of the style sheet in the light."""
    sheet = (MARGIN / "margin.css").read_text(encoding="utf-8")
    for name in ("paper", "ink", "soft", "feint", "mark"):
        assert re.findall(rf"--{name}: (#\w+);", sheet)[0] == getattr(card, name.upper())


def test_whoever_has_a_file_of_their_own_keeps_it(tmp_path: Path) -> None:
    """Their 404.html and robots.txt stay; ours come where there is none, and are exchanged like any file of ours."""
    from buildlog.output.write import write_site

    ours = {"index.html": b"x", "404.html": b"ours", "robots.txt": b"ours"}
    write_site(tmp_path / "site", {"index.html": b"x"})
    (tmp_path / "site/404.html").write_bytes(b"theirs")
    report = write_site(tmp_path / "site", ours)
    assert report.written == ("robots.txt",)
    assert (tmp_path / "site/404.html").read_bytes() == b"theirs"
    assert write_site(tmp_path / "site", {**ours, "robots.txt": b"new"}).written == ("robots.txt",)
    assert write_site(tmp_path / "site", {"index.html": b"x"}).removed == ("robots.txt",)
    assert (tmp_path / "site/404.html").read_bytes() == b"theirs"
