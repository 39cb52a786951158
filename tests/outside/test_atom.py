"""The feed against RFC 4287, The Atom Syndication Format, rule by rule, and read back by the library `feedparser`.

The RFC's own schema (Appendix B) does not cover all that its text demands, so each rule that concerns a feed like ours
is checked here by its section; every check is shown a feed that breaks it.
"""

from __future__ import annotations

import datetime
import hashlib
import re
from collections.abc import Iterator
from dataclasses import replace
from urllib.parse import urlsplit

import feedparser
import html5lib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from buildlog.render.hosting import MOST_ENTRIES, NAMESPACE, Feed, FeedEntry, FeedPicture, write_feed

pytestmark = pytest.mark.outside

ATOM = "{http://www.w3.org/2005/Atom}"
# RFC 4287, section 3.3: RFC 3339 date-time, with upper-case T, and upper-case Z where there is no numeric offset.
DATE_TIME = re.compile(r"(\d{4}-\d\d-\d\d)T([01]\d|2[0-3]):[0-5]\d:[0-5]\d(\.\d+)?(Z|[+-]\d\d:\d\d)")
ONCE = {
    "feed": ("id", "title", "updated"),  # section 4.1.1
    "entry": ("id", "title", "updated"),  # section 4.1.2
}
AT_MOST_ONCE = {
    "feed": ("generator", "icon", "logo", "rights", "subtitle"),  # section 4.1.1
    "entry": ("content", "published", "rights", "source", "summary"),  # section 4.1.2
}


def find_faults(xml: bytes) -> Iterator[str]:
    """The sections of RFC 4287 that a feed breaks."""
    feed = etree.fromstring(xml)
    if feed.tag != f"{ATOM}feed":
        yield "2"
        return
    entries = feed.findall(f"{ATOM}entry")
    for holder in (feed, *entries):
        yield from find_holder_faults(holder, "4.1.1" if holder is feed else "4.1.2")
    if feed.find(f"{ATOM}author") is None and not all(one.find(f"{ATOM}author") is not None for one in entries):
        yield "4.1.1 author"
    if not feed.xpath("a:link[@rel='self']", namespaces={"a": ATOM[1:-1]}):
        yield "4.1.1 self"
    ids = [one.findtext(f"{ATOM}id") for one in (feed, *entries)]
    if len(set(ids)) < len(ids):
        yield "4.1.1 same id"


def find_holder_faults(holder: etree._Element, section: str) -> Iterator[str]:
    kind = etree.QName(holder).localname
    for name in ONCE[kind]:
        if len(holder.findall(ATOM + name)) != 1:
            yield f"{section} {name}"
    for name in AT_MOST_ONCE[kind]:
        if len(holder.findall(ATOM + name)) > 1:
            yield f"{section} {name}"
    for name in holder.findall(f"{ATOM}author"):
        if len(name.findall(f"{ATOM}name")) != 1:
            yield "3.2.1"
    for date in (*holder.findall(f"{ATOM}updated"), *holder.findall(f"{ATOM}published")):
        if not is_date_time(date.text or ""):
            yield "3.3"
    for identity in holder.findall(f"{ATOM}id"):
        if not urlsplit(identity.text or "").scheme:
            yield "4.2.6"  # an IRI, absolute
    for content in holder.findall(f"{ATOM}content"):
        yield from find_content_faults(content)
    if holder.find(f"{ATOM}content") is not None and holder.find(f"{ATOM}summary") is not None:
        yield "4.2.13"  # "it is not advisable" to say the same twice, and ours would
    yield from find_link_faults(holder, kind)


def find_content_faults(content: etree._Element) -> Iterator[str]:
    if content.get("type") not in ("text", "html", "xhtml"):
        yield "4.1.3.1"
    if content.get("type") == "html" and len(content):
        yield "4.1.3.3"  # "MUST NOT contain child elements": markup is escaped
    if content.get("type") == "html" and content.text:
        # 3.1.1.3: "SHOULD be such that it could validly appear directly within an HTML <DIV>".
        parser = html5lib.HTMLParser(namespaceHTMLElements=False)
        tree = parser.parseFragment(content.text, container="div")
        if parser.errors:
            yield "3.1.1.3"
        # The feed validator of the W3C: an address in content has to be absolute, or hang on an xml:base.
        if any(not urlsplit(image.get("src", "")).scheme for image in tree.iter("img")):
            yield "relative"


def find_link_faults(holder: etree._Element, kind: str) -> Iterator[str]:
    links = holder.findall(f"{ATOM}link")
    alternates = [
        (link.get("type"), link.get("hreflang")) for link in links if link.get("rel", "alternate") == "alternate"
    ]
    if kind == "entry" and holder.find(f"{ATOM}content") is None and not alternates:
        yield "4.1.2 alternate"
    if len(set(alternates)) < len(alternates):
        yield f"{'4.1.1' if kind == 'feed' else '4.1.2'} same alternate"
    if any(link.get("href") is None for link in links):
        yield "4.2.7.1"


def is_date_time(text: str) -> bool:
    match = DATE_TIME.fullmatch(text)
    try:
        return match is not None and bool(datetime.date.fromisoformat(match[1]))
    except ValueError:
        return False


PUMP = FeedEntry(
    name="2024-05-18-lift-pump",
    first_name="2024-05-18-lift-pump",
    title="Lift pump off & why <she> would not start",
    day=datetime.date(2024, 5, 18),
    page="entries/2024-05-18-lift-pump.html",
    lead='The pump came off; "hot" < 40 °C & dry.',
)
PIPES = FeedEntry(
    name="2024-03-09-brake-pipes",
    first_name="2024-03-09-brake-pipes",
    title="Brake pipes",
    day=datetime.date(2024, 3, 9),
    page="entries/p.html",
    lead="",
)
FEED = Feed(
    title="Old Tom",
    language="en-GB",
    author="Tinker",
    address="https://example.org/tom/",
    seed="Old Tom 2024-02-03",
    as_of=datetime.date(2024, 6, 1),
    entries=(PIPES, PUMP),
)
PICTURE = FeedPicture(path="photos/e/0-960.jpg", width=960, height=640, says='The pump, "hot" & <bent>')
SHOWN = replace(PUMP, picture=PICTURE)


@pytest.mark.parametrize(
    "feed",
    [FEED, replace(FEED, address=None), replace(FEED, entries=()), replace(FEED, entries=(SHOWN, PIPES))],
    ids=["with an address", "without an address", "without an entry", "with a picture"],
)
def test_feed_keeps_every_rule(feed: Feed) -> None:
    """What is written breaks none of the rules below."""
    assert list(find_faults(write_feed(feed))) == []


GOOD = write_feed(replace(FEED, entries=(PUMP,))).decode()
WITH_PICTURE = write_feed(replace(FEED, entries=(SHOWN,))).decode()
BROKEN = [
    ("4.1.1 id", re.sub(r"<id>.*?</id>", "", GOOD, count=1)),
    ("4.1.1 title", GOOD.replace("<title>Old Tom</title>", "<title>a</title><title>b</title>")),
    ("4.1.1 updated", re.sub(r"<updated>.*?</updated>", "", GOOD, count=1)),
    ("4.1.1 author", GOOD.replace("<author><name>Tinker</name></author>", "")),
    ("4.1.1 self", GOOD.replace('rel="self"', 'rel="related"')),
    ("4.1.1 same id", GOOD.replace("</entry>", "</entry>" + GOOD[GOOD.index("<entry>") : GOOD.index("</feed>")])),
    ("4.1.2 updated", GOOD.replace("<updated>2024-05-18T00:00:00Z</updated>\n<link", "<link")),
    ("4.1.2 alternate", re.sub(r'(?s)(<entry>.*)<link rel="alternate".*?/>', r"\1", GOOD)),
    ("4.1.2 summary", GOOD.replace("</entry>", "<summary>again</summary></entry>")),
    ("3.2.1", GOOD.replace("<name>Tinker</name>", "")),
    ("3.3", GOOD.replace("T00:00:00Z", "")),
    ("3.3", GOOD.replace("T00:00:00Z", "t00:00:00z")),
    ("3.3", GOOD.replace("T00:00:00Z", "T00:00:00")),
    ("3.3", GOOD.replace("2024-05-18T", "2024-02-30T")),
    ("4.2.6", GOOD.replace("urn:uuid:", "")),
    ("4.2.7.1", GOOD.replace("href=", "title=")),
    ("2", GOOD.replace("feed", "food")),
    ("4.1.3.1", WITH_PICTURE.replace('type="html"', 'type="picture"')),
    (
        "4.1.3.3",
        re.sub("(?s)(<content.*?>).*(?=</content>)", r'\1<img src="https://example.org/x.jpg"/>', WITH_PICTURE),
    ),
    ("3.1.1.3", WITH_PICTURE.replace("&lt;/p&gt;", "&lt;/b&gt;", 1)),
    (
        "relative",
        WITH_PICTURE.replace("https://example.org/tom/photos", "photos"),
    ),
    ("4.2.13", WITH_PICTURE.replace("</entry>", "<summary>again</summary></entry>")),
]


@pytest.mark.parametrize(("section", "xml"), BROKEN)
def test_each_rule_is_really_checked(section: str, xml: str) -> None:
    """A feed that breaks a section is found out."""
    assert section in set(find_faults(xml.encode()))


def test_values_come_back() -> None:
    """A reader program (`feedparser`) sees what was written, newest first."""
    read = feedparser.parse(write_feed(FEED))
    assert not read.bozo and read.version == "atom10"
    assert (read.feed.title, read.feed.author, read.feed.language) == ("Old Tom", "Tinker", "en-GB")
    assert [link.href for link in read.feed.links] == [
        "https://example.org/tom/feed.xml",
        "https://example.org/tom/index.html",
    ]
    first, second = read.entries
    assert (first.title, first.summary) == (PUMP.title, PUMP.lead)
    assert first.link == "https://example.org/tom/entries/2024-05-18-lift-pump.html"
    assert first.updated_parsed[:6] == (2024, 5, 18, 0, 0, 0)
    assert "summary" not in second


def test_a_picture_comes_back_with_its_words() -> None:
    """A reader program finds the picture by its absolute address, its size, what it shows, and the lead beneath."""
    read = feedparser.parse(write_feed(replace(FEED, entries=(SHOWN,))))
    assert not read.bozo
    (content,) = read.entries[0].content
    assert content.type == "text/html"
    tree = html5lib.parseFragment(content.value, container="div", namespaceHTMLElements=False)
    (image,) = tree.iter("img")
    assert (image.get("src"), image.get("width"), image.get("height")) == (
        "https://example.org/tom/photos/e/0-960.jpg",
        "960",
        "640",
    )
    assert image.get("alt") == PICTURE.says
    assert "".join(tree.itertext()) == PUMP.lead


def test_without_an_address_no_picture_is_promised() -> None:
    """A reader program keeps a feed far from where it came from: a relative address of a picture leads nowhere."""
    read = feedparser.parse(write_feed(replace(FEED, address=None, entries=(SHOWN,))))
    assert (read.entries[0].summary, "content" in read.entries[0]) == (PUMP.lead, False)


def ids(feed: Feed) -> list[str | None]:
    return [one.text for one in etree.fromstring(write_feed(feed)).iter(f"{ATOM}id")]


def name_uuid(name: str) -> str:
    """RFC 9562, section 5.5: SHA-1 of namespace and name, cut to 16 bytes, version 5 and the variant bits set."""
    digits = bytearray(hashlib.sha1(NAMESPACE.bytes + name.encode()).digest()[:16])
    digits[6] = digits[6] & 0x0F | 0x50
    digits[8] = digits[8] & 0x3F | 0x80
    return "-".join(digits[a:b].hex() for a, b in ((0, 4), (4, 6), (6, 8), (8, 10), (10, 16)))


def test_ids_never_change() -> None:
    """An id outlives a move to another address, a new title and a new author (section 4.2.6), and is the log's own."""
    names = [FEED.seed, f"{FEED.seed}\n{PUMP.name}", f"{FEED.seed}\n{PIPES.name}"]
    assert ids(FEED) == [f"urn:uuid:{name_uuid(name)}" for name in names]
    assert ids(FEED)[0] == "urn:uuid:fba9a785-bc4d-5c36-926b-6517d89862cb"
    moved = replace(FEED, address="https://example.com/", title="Tom", author="T", as_of=datetime.date(2030, 1, 1))
    assert ids(moved) == ids(FEED)
    assert not set(ids(replace(FEED, seed="Another machine"))) & set(ids(FEED))


def test_feed_without_an_address_points_beside_itself() -> None:
    """Links are relative references, which resolve against the feed's own address (section 2, RFC 3986 5.1.3)."""
    links = etree.fromstring(write_feed(replace(FEED, address=None))).iter(f"{ATOM}link")
    hrefs = [link.get("href") for link in links]
    assert hrefs == ["feed.xml", "index.html", "entries/2024-05-18-lift-pump.html", "entries/p.html"]


def test_feed_holds_the_latest() -> None:
    """A long log does not make a long feed; the feed is as old as its newest entry."""
    days = [PUMP.day + datetime.timedelta(days=n) for n in range(MOST_ENTRIES + 5)]
    feed = replace(FEED, entries=tuple(replace(PUMP, name=f"e{n}", day=day) for n, day in enumerate(days)))
    told = [one.text for one in etree.fromstring(write_feed(feed)).iter(f"{ATOM}updated")]
    assert told == [f"{day}T00:00:00Z" for day in [days[-1], *reversed(days[5:])]]


@given(st.text(), st.text(), st.text(min_size=1))
def test_any_text_makes_a_feed(title: str, lead: str, author: str) -> None:
    """Whatever an owner writes, the feed is well-formed XML 1.0 and keeps the rules; only what XML cannot hold goes."""
    entry = replace(PUMP, title=title, lead=lead, picture=replace(PICTURE, says=lead) if author > "M" else None)
    xml = write_feed(replace(FEED, title=title, author=author, entries=(entry,)))
    assert list(find_faults(xml)) == []
    written = etree.fromstring(xml).findtext(f"{ATOM}title") or ""
    ends = title.replace("\r\n", "\n").replace("\r", "\n")  # XML 1.0, section 2.11: a reader sees one kind of line end
    assert written == "".join(c if is_char(c) else "\ufffd" for c in ends)


def is_char(c: str) -> bool:
    """XML 1.0, section 2.2, production 2."""
    code = ord(c)
    return code in (0x9, 0xA, 0xD) or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or 0x10000 <= code <= 0x10FFFF
