"""The sitemap against the protocol of sitemaps.org, version 0.9 ("XML tag definitions", "Entity escaping", limits)."""

from __future__ import annotations

import datetime

import pytest
from lxml import etree

from buildlog.render.hosting import LONGEST_ADDRESS, MOST_PAGES, write_sitemap

pytestmark = pytest.mark.outside

NAMESPACE = "http://www.sitemaps.org/schemas/sitemap/0.9"
# Written out from the protocol's table of tags; dates are W3C Datetime, of which XML Schema's `date` is the day form.
SCHEMA = etree.XMLSchema(
    etree.fromstring(f"""
<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="{NAMESPACE}" xmlns="{NAMESPACE}"
           elementFormDefault="qualified">
  <xs:element name="urlset"><xs:complexType><xs:sequence>
    <xs:element name="url" maxOccurs="50000"><xs:complexType><xs:sequence>
      <xs:element name="loc"><xs:simpleType><xs:restriction base="xs:anyURI">
        <xs:minLength value="12"/><xs:maxLength value="2048"/><xs:pattern value="https?://.*"/>
      </xs:restriction></xs:simpleType></xs:element>
      <xs:element name="lastmod" type="xs:date" minOccurs="0"/>
    </xs:sequence></xs:complexType></xs:element>
  </xs:sequence></xs:complexType></xs:element>
</xs:schema>""")
)
PAGES = {
    "index.html": datetime.date(2024, 5, 18),
    "entries/a%20b.html": datetime.date(2024, 2, 29),
    "record.html": None,
}


def test_sitemap_keeps_the_protocol() -> None:
    """Absolute addresses below the site's own, days as days, and nothing else."""
    tree = etree.fromstring(write_sitemap("https://example.org/a&b/", PAGES))
    SCHEMA.assertValid(tree)
    told = [(url[0].text, url[1].text if len(url) > 1 else None) for url in tree]
    assert told == [
        ("https://example.org/a&b/index.html", "2024-05-18"),
        ("https://example.org/a&b/entries/a%20b.html", "2024-02-29"),
        ("https://example.org/a&b/record.html", None),
    ]


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("2024-05-18", "18/05/2024"),
        ("2024-02-29", "2024-02-30"),
        ("<loc>https://example.org/index.html</loc>", ""),
        ("https://example.org/index.html", "index.html"),
        ("lastmod", "changed"),
    ],
)
def test_the_schema_can_fail(good: str, bad: str) -> None:
    """The schema refuses what the protocol refuses."""
    xml = write_sitemap("https://example.org/", PAGES).decode()
    assert not SCHEMA.validate(etree.fromstring(xml.replace(good, bad).encode()))


def test_limits() -> None:
    """50,000 pages and 2,048 characters go in; one more does not."""
    assert MOST_PAGES == 50_000 and LONGEST_ADDRESS == 2048
    pages: dict[str, datetime.date | None] = {f"{n}.html": None for n in range(MOST_PAGES)}
    assert len(etree.fromstring(write_sitemap("https://e.org/", pages))) == MOST_PAGES
    with pytest.raises(ValueError, match="50001"):
        write_sitemap("https://e.org/", pages | {"x.html": None})
    write_sitemap("https://e.org/", {"x" * (LONGEST_ADDRESS - 14): None})
    with pytest.raises(ValueError, match="longer"):
        write_sitemap("https://e.org/", {"x" * (LONGEST_ADDRESS - 13): None})
