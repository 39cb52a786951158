"""Where a log is long its pages are split: every figure still opens to its lines, and no page grows without bound."""

from __future__ import annotations

import os
import re
from decimal import Decimal
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest

from buildlog.output.write import write_site
from buildlog.problems import Place
from buildlog.render.pages.costs import make_costs
from buildlog.render.pages.meter_readings import list_reading_makers
from buildlog.render.pages.periods import name_periods
from buildlog.render.pages.service import make_service
from buildlog.render.pages.service_items import list_times_pages
from buildlog.render.pieces import Sum
from buildlog.render.render import render_site
from buildlog.render.theme import load_theme
from tests.render.editions import edition_of

ENTRIES = 50
"Entries of the log that is tried: over the limits of all pages but that of the timeline."
HEAVIEST = 150_000
"Bytes of HTML: the most that a page may weigh."

SETTINGS = """\
machine: {name: Test machine}
money: {currency: GBP}
systems: {fuel: Fuel, brakes: Brakes}
public: {prices: PRICES, suppliers: shown}
site: {address: https://example.org/log/}
"""
HEAD = """
    date: {year}-{month:02}-{day:02}
    title: Evening {n}
    systems: [{system}]
    bought:
      from: Supplier {supplier}
      ref: R-{n}
      paid: {year}-{month:02}-{day:02}
      arrived: {year}-{month:02}-{day:02}
      lines:
        - {{part: pump-{n}, name: Pump {n}, number: "LP {n}", each: 1{n}.25, for: {system}}}
        - {{part: valve-{n}, name: Valve {n}, each: 5.00, for: {system}}}
        - {{what: Rags {n}, each: 2.{n:02}, kind: consumable}}
    returned: {{ref: R-{n}, part: pump-{n}, refund: 1.10, date: {year}-{month:02}-{day:02}}}
    fitted: {{part: valve-{n}}}
    sold: {{what: Old pump {n}, price: 3.00}}
"""


def long_heads(entries: int) -> list[str]:
    """Entries ten a year, each with five lines of money."""
    days = [(2010 + n // 10, 1 + n % 10, 3) for n in range(entries)]
    return [
        HEAD.format(n=n, year=y, month=m, day=d, system="fuel" if n % 3 else "brakes", supplier=n % 4)
        for n, (y, m, d) in enumerate(days)
    ]


@cache
def publish(
    prices: str = "shown", entries: int = ENTRIES, suppliers: str = "shown", language: str = "en-GB"
) -> dict[str, str]:
    """The pages of a log that is too long for one page of anything."""
    theme, _ = load_theme("margin", place=Place("log.yaml"), log=None)
    assert theme is not None
    settings = SETTINGS.replace("PRICES", prices).replace("suppliers: shown", f"suppliers: {suppliers}")
    settings = settings.replace("site: {", f"site: {{language: {language}, ")
    context = edition_of(*long_heads(entries), settings=settings)
    files, problems = render_site(context.figures, theme, lambda name: None)
    assert problems == ()
    texts = (".html", ".xml", ".js", ".css", ".svg")
    return {path: bytes(made).decode() for path, made in files.items() if path.endswith(texts)}


class _Section(HTMLParser):
    """The amounts of the lines in the section under one anchor."""

    def __init__(self, anchor: str) -> None:
        super().__init__()
        self.anchor, self.here, self.amount = anchor, False, False
        self.amounts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "section":
            self.here = told.get("aria-labelledby") == self.anchor
        self.amount = self.here and told.get("class") == "amount"

    def handle_data(self, data: str) -> None:
        if self.amount:
            self.amounts.append(data)
            self.amount = False


def read_money(text: str) -> Decimal:
    """`−£1,234.50` as a number."""
    return Decimal(re.sub("[£,]", "", text).replace("−", "-"))


def add_up_lines(page: str, anchor: str) -> Decimal:
    """What the lines come to that stand under an anchor."""
    section = _Section(anchor)
    section.feed(page)
    assert section.amounts, anchor
    return sum(map(read_money, section.amounts), Decimal(0))


def test_every_sum_opens_to_its_lines() -> None:
    """Each sum is made of years, and one link from each year stand the lines that come to it."""
    pages = publish()
    view = make_costs(edition_of(*long_heads(ENTRIES), settings=SETTINGS.replace("PRICES", "shown")))
    sums = [row for table in view.tables for row in table.rows]
    assert [len(table.rows) for table in view.tables] == [2, 2, 4]
    sums.append(Sum(name="Refunds", amount="−" + view.refunds_total, parts=view.refunds_by_period))
    for total in sums:
        assert total.lines == ()
        assert len(total.parts) == 5
        assert sum(read_money(part.amount) for part in total.parts) == read_money(total.amount)
        for part in total.parts:
            path, _, anchor = part.href.partition("#")
            assert add_up_lines(pages[path], anchor) == read_money(part.amount), part


def test_every_year_opens_to_its_months_and_their_lines() -> None:
    """A year's net is what the lines of its months come to, and its page says so month by month."""
    pages = publish()
    view = make_costs(edition_of(*long_heads(ENTRIES), settings=SETTINGS.replace("PRICES", "shown")))
    assert [month.href for month in view.months] == [f"costs/{year}.html" for year in range(2010, 2015)]
    for year in view.months:
        page = pages[year.href]
        months = re.findall(r'<h2 id="(m-\d{4}-\d\d)">', page)
        assert len(months) == 10
        assert sum(add_up_lines(page, month) for month in months) == read_money(year.net)
        assert 'href="../costs.html" aria-current="true"' in page


def test_a_short_log_is_not_split() -> None:
    """Up to 100 lines of money the page of costs has them all."""
    pages = publish(entries=20)
    assert [path for path in pages if path.startswith("costs/")] == []
    assert "Every month, line by line" in pages["costs.html"]


@pytest.mark.parametrize("prices", ["totals", "hidden"])
def test_no_page_of_lines_where_none_are_shown(prices: str) -> None:
    """What `public:` closes has no page in any period."""
    pages = publish(prices)
    assert [path for path in pages if path.startswith("costs/")] == []
    if prices == "hidden":
        assert not re.search(r"£\d", "".join(pages.values()))


def test_no_page_names_a_supplier_where_they_are_hidden() -> None:
    """Neither the name nor the number of an order is on any page, and there is no page by supplier."""
    pages = publish(suppliers="hidden")
    assert [path for path in pages if path.startswith("costs/")]
    assert [path for path, page in pages.items() if re.search(r"Supplier \d|R-\d|by-supplier", page + path)] == []


def test_the_owners_words_are_marked_on_every_page() -> None:
    """Under another language than the theme's, every name of a part and a system says which language it is in."""
    pages = publish(language="de")
    assert [path for path in pages if path.startswith(("costs/", "parts/"))]
    for path, page in pages.items():
        if path.endswith(".html"):
            assert '<html lang="en-GB">' in page
            assert not re.search("[\ufdd0\ufdd1]", page), path
            named = re.findall(r"<(?:h2|h3|h4|a)\b([^>]*)>(?:Pump \d+|Valve \d+|Fuel|Brakes)</", page)
            assert [attributes for attributes in named if 'lang="de"' not in attributes] == [], path
    assert re.search(r'<h4 [^>]*lang="de"[^>]*>Pump \d+</h4>', "".join(pages.values()))


def test_periods_are_as_wide_as_they_fit() -> None:
    """A year stays whole up to the limit; beyond it its quarters do, and a month is never split."""
    year = {f"2024-{month:02}": 10 for month in range(1, 13)}
    assert set(name_periods(year, 120).values()) == {"2024"}
    assert list(dict.fromkeys(name_periods(year, 119).values())) == ["2024-q1", "2024-q2", "2024-q3", "2024-q4"]
    assert name_periods(year | {"2024-02": 50}, 69) == {
        month: month if month < "2024-04" else f"2024-q{(int(month[5:]) + 2) // 3}" for month in year
    }


def test_a_year_that_is_over_keeps_its_pages() -> None:
    """What comes later moves no page of an earlier year."""
    early = {path: page for path, page in publish(entries=40).items() if re.match(r"costs/201[012]", path)}
    late = publish()
    assert early
    for path in early:
        assert path in late


def test_every_part_has_its_life_on_one_page_that_all_links_lead_to() -> None:
    """Each part stands once among the pages of periods, whatever links to it, and its counts are on the overview."""
    pages = publish()
    parts = [page for path, page in pages.items() if re.fullmatch(r"parts/\d[^/]*.html", path)]
    ids = [key for page in parts for key in re.findall(r'<h4 id="part-([^"]*)"', page)]
    assert len(ids) == len(set(ids)) == 2 * ENTRIES
    assert not re.search(r'<h4 id="part-', pages["parts.html"])
    for path, page in pages.items():
        root = "../" * path.count("/")
        for target, key in re.findall(r'href="([^"#]*)#part-([^"]*)"', page):
            assert target.startswith(root), (path, target)
            assert f'<h4 id="part-{key}"' in pages[target.removeprefix(root)], (path, target, key)
    counts = re.findall(r'<tr[^>]*><th[^>]*><a href="(parts/[^"]*)">.*?<td[^>]*>(\d+)</td>', pages["parts.html"])
    assert {path: pages[path].count("<article") for path, _ in counts} == {path: int(n) for path, n in counts}


def test_the_indexes_of_parts_have_every_part() -> None:
    """By name and by number, in the order of the alphabet, over as many pages as it takes."""
    pages = publish()
    for kind in ("name", "number"):
        paths = re.findall(rf'href="(parts/by-{kind}-\d+.html)"', pages["parts.html"])
        rows = [row for path in paths for row in re.findall(r'">((?:Pump|Valve) \d+)</a>', pages[path])]
        named = ("Pump", "Valve") if kind == "name" else ("Pump",)
        assert rows == sorted((f"{name} {n}" for name in named for n in range(ENTRIES)), key=str.casefold), kind


def find_dead_links(pages: dict[str, str]) -> list[tuple[str, str]]:
    """Links of pages that lead to no page, or to no anchor of it."""
    ids = {path: set(re.findall(r'\bid="([^"]*)"', page)) for path, page in pages.items()}
    dead = []
    for path, page in pages.items():
        # The page for wrong addresses is shown at any of them, and names the front by its whole one.
        for href in re.findall(r'<a [^>]*?href="([^"]*)"', page) if path != "404.html" else ():
            target, _, anchor = href.partition("#")
            whole = os.path.normpath(os.path.join(os.path.dirname(path), target)) if target else path
            if whole != "feed.xml" and (whole not in pages or (anchor and anchor not in ids[whole])):
                dead.append((path, href))
    return dead


@pytest.mark.parametrize("entries", [20, ENTRIES, 120])
def test_every_link_leads_somewhere(entries: int) -> None:
    """However much of a log is split, no link of any page leads nowhere."""
    assert find_dead_links(publish(entries=entries)) == []


def test_a_photo_takes_room_on_the_timeline() -> None:
    """Of 110 entries one page is made; with a photo each eight fifths as heavy, they are as many as 176, and split."""
    settings = "machine: {name: Test}\nmoney: {currency: GBP}\n"
    plain = [f"date: 20{10 + at // 12}-{at % 12 + 1:02}-01" for at in range(110)]
    pictured = [f"{head}\nphotos: [{{file: a.jpg, says: A}}]" for head in plain]
    assert edition_of(*plain, settings=settings).timeline_periods == {}
    periods = edition_of(*pictured, settings=settings).timeline_periods
    assert {*periods.values()} == {str(year) for year in range(2010, 2020)}


def test_the_timeline_is_told_by_the_year() -> None:
    """Each entry stands once, in its year; the overview leads to each month, and old addresses of months lead there."""
    pages = publish(entries=120)
    years = [page for path, page in sorted(pages.items()) if re.fullmatch(r"timeline/\d{4}.html", path)]
    assert len(years) == 12
    told = [name for page in years for name in re.findall(r'<h3 id="e-([^"]*)"', page)]
    assert told == [f"e{n}" for n in range(1, 121)]
    assert '<a href="timeline/2020.html#m-2020-03" id="m-2020-03">Mar</a>' in pages["timeline.html"]
    assert 'id="e-' not in pages["timeline.html"]


def test_a_system_has_a_page_that_lists_what_belongs_to_it() -> None:
    """Where it is too much, each entry and each part on the machine stands on the page of one of its periods."""
    pages = publish(entries=150)
    assert find_dead_links(pages) == []
    paths = sorted(path for path in pages if path.startswith("systems/fuel--"))
    assert (
        re.findall(r'<li class="plain"><span class="what"><a href="../(systems/[^"]*)"', pages["systems/fuel.html"])
        == paths
    )
    listed = [name for path in paths for name in re.findall(r'</time> <a href="../entries/([^"]*).html"', pages[path])]
    assert listed == [f"e{n + 1}" for n in range(150) if n % 3]
    fitted = [
        name for path in paths for name in re.findall(r'<tr[^>]*><th[^>]*><a href="[^"]*#part-valve-(\d+)', pages[path])
    ]
    assert fitted == [str(n) for n in range(150) if n % 3]
    assert 'href="../systems/fuel.html"' in pages["entries/e2.html"]
    assert 'href="systems/fuel.html"' in pages["index.html"]


def test_the_meter_keeps_what_matters_and_leads_to_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Month ends, the purchase and a service's own reading stay; what was driven between them is told in full."""
    monkeypatch.setattr("buildlog.render.pages.meter_readings.WHOLE_READINGS", 20)
    settings = """
    machine: {name: Test machine, kind: tractor, meter: {unit: km, digits: 6}}
    acquired: {date: 2020-01-01, reading: 1000}
    money: {currency: GBP}
    service: {oil: {name: Oil, every: {months: 12}}}
    """
    heads = [f"date: 2020-{1 + n // 10:02}-{2 * (n % 10) + 2:02}\nreading: {1000 + 7 * (n + 1)}" for n in range(40)]
    heads[13] = "date: 2020-02-08\nserviced: {item: oil, reading: 1098}"
    context = edition_of(*heads, settings=settings)
    shown = make_service(context).readings
    assert [(row.when.iso, row.since) for row in shown] == [
        ("2020-01-01", ""), ("2020-01-20", "70\u00a0km"), ("2020-02-08", "28\u00a0km"), ("2020-02-20", "42\u00a0km"),
        ("2020-03-20", "70\u00a0km"), ("2020-04-20", "70\u00a0km"),
    ]  # fmt: skip
    assert not make_service(context).keeps_quarters
    pages = {path: make() for path, make in list_reading_makers(context).items()}
    assert [link.href for link in make_service(context).all_readings] == ["service/readings-2020.html"] == [*pages]
    (page,) = pages.values()
    assert len(page.readings) == 41
    assert {row.since for row in page.readings} == {"", "7\u00a0km"}
    # Over many months the ends of quarters are kept instead, and the page says so.
    monkeypatch.setattr("buildlog.render.pages.meter_readings.MOST_ENDS", 3)
    view = make_service(context)
    assert [row.when.iso for row in view.readings] == ["2020-01-01", "2020-02-08", "2020-03-20", "2020-04-20"]
    assert view.keeps_quarters


def test_what_was_done_and_measured_often_has_pages_with_every_time() -> None:
    """The service history keeps the latest times, the last of each year and what is out of limits, and leads to all."""
    settings = """
    machine: {name: Test machine, kind: tractor}
    money: {currency: GBP}
    service: {oil: {name: Oil, every: {months: 12}}}
    """
    head = """
    date: {day}
    serviced: [oil]
    measured: {{what: Gap, unit: mm, values: {{1: {value}, 2: 5.0}}, limits: {{min: 4}}}}
    """
    days = [f"20{10 + n // 6}-{1 + n % 6:02}-04" for n in range(60)]
    heads = [head.format(day=day, value="3.9" if n == 7 else f"5.{n:02}") for n, day in enumerate(days)]
    context = edition_of(*heads, settings=settings)
    view, pages = make_service(context), {path: make() for path, make in list_times_pages(context).items()}
    (item,), (series,) = view.items, view.measures
    # Eleven, as the gap since then is the twelfth.
    assert [row.when.iso for row in item.rows if row.when] == days[-11:]
    assert item.rows[-1].gap
    ends = days[5:48:6]
    assert [time.when.iso for time in series.times] == sorted({days[0], days[7], *ends, *days[-12:]})
    assert series.rows[0].change == "+0.59"
    for shown, times in (
        (item.pages, [row.when.iso for link in item.pages for row in pages[link.href].done if row.when]),
        (series.pages, [t.when.iso for link in series.pages if (s := pages[link.href].series) for t in s.times]),
    ):
        assert len(shown) == 10
        assert times == days


def test_all_that_is_made_can_be_removed_again(tmp_path: Path) -> None:
    """A log that got shorter leaves no page of a period behind."""
    before = {path: page.encode() for path, page in publish().items()}
    write_site(tmp_path / "site", before)
    report = write_site(tmp_path / "site", {path: page for path, page in before.items() if "/" not in path})
    assert set(report.removed) == {path for path in before if "/" in path}


def test_the_sitemap_has_the_new_pages() -> None:
    """Every page is in the sitemap, but for the one for wrong addresses, and the front, which has the folder's own.

    So is none that has nothing to show, as that of faults here.
    """
    pages = publish()
    listed = set(re.findall(r"<loc>https://example.org/log/([^<]*)</loc>", pages["sitemap.xml"])) - {""}
    assert listed == {path for path in pages if path.endswith(".html")} - {"index.html", "404.html", "faults.html"}
    assert "noindex" in pages["faults.html"]


def test_no_page_is_too_heavy() -> None:
    """No page is over 150 kB of HTML."""
    heavy = {path: len(page) for path, page in publish(entries=ENTRIES).items() if path.endswith(".html")}
    assert {path: size for path, size in heavy.items() if size > HEAVIEST} == {}


def test_an_address_that_was_given_up_leads_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """A year whose page was cut into quarters and months keeps a small page at its address, anchors included."""
    earlier = publish(entries=120)
    for name, most in (("MOST_ROWS", 20), ("TIMELINE_ENTRIES", 4), ("PART_ROWS", 21)):
        monkeypatch.setattr(f"buildlog.render.pages.periods.{name}", most)
    publish.cache_clear()
    later = publish(entries=120)
    publish.cache_clear()
    assert find_dead_links(later) == []
    gone = {path for path in earlier if path not in later}
    assert gone == set()
    assert "timeline/2020-q1.html" in later and "costs/2020-q1.html" in later and "parts/2020-q1.html" in later
    for folder, anchors in (("timeline", ["m-2020-03"]), ("costs", ["m-2020-03"]), ("parts", ["part-pump-102"])):
        page = later[f"{folder}/2020.html"]
        assert '<meta name="robots" content="noindex">' in page
        for anchor in anchors:
            found = re.search(rf'<li id="{anchor}"><a href="../([^"#]*)#{anchor}">', page)
            assert found, (folder, anchor)
            assert f'id="{anchor}"' in later[found[1]]
    assert "timeline/2020.html" not in later["sitemap.xml"]
    assert "timeline/2020-q1.html" in later["sitemap.xml"]


def test_the_first_parts_lead_on_from_the_page_that_once_had_them_all() -> None:
    """What stood on the page of a short log has its anchor there still, with a link to its life."""
    few, many = publish(entries=20), publish()
    assert "parts/2010.html" not in few
    anchors = re.findall(r'<h4 id="(part-[^"]*)"', few["parts.html"])
    assert len(anchors) == 40
    assert {key for key in anchors if f'<li id="{key}"><a href="parts/' not in many["parts.html"]} == set()


def test_a_month_of_too_many_parts_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """So many parts a page, so that those that came first stay where they are."""
    monkeypatch.setattr("buildlog.render.pages.periods.PART_ROWS", 7)
    monkeypatch.setattr("buildlog.render.pages.periods.MONTH_PARTS", 1)
    publish.cache_clear()
    pages = publish()
    publish.cache_clear()
    assert find_dead_links(pages) == []
    assert '<h4 id="part-pump-0"' in pages["parts/2010-01.html"]
    assert '<h4 id="part-valve-0"' in pages["parts/2010-01-2.html"]
    assert "January 2010, page 2" in pages["parts.html"]
