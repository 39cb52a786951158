"""The context of every page: what all of them share, and the small values that many of them print.

Nothing is computed here: figures come finished, and what `public:` closes does not get past this module.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from urllib.parse import quote

from buildlog.compute.costs.disclosure import ShownTotals
from buildlog.compute.costs.lines import UNNAMED, CostLine, Sort
from buildlog.compute.costs.purchases import Purchase
from buildlog.compute.evidence.claims import Claim
from buildlog.compute.measures.measures import MeasureSeries
from buildlog.compute.meter.meter import shows_total
from buildlog.compute.meter.readings import MeterReading
from buildlog.compute.parts.names import ORIGINAL, original_key, plain_name
from buildlog.compute.parts.part_history import PartFigures
from buildlog.compute.quantities.money import Money, round_to_minor_unit
from buildlog.frozen import kept
from buildlog.paths import compose
from buildlog.photos.card import Card, draw_card
from buildlog.problems import Place
from buildlog.read.records import Entry, PartialDate, StandingPage
from buildlog.record.published import PublishedEntry, PublishedRecord
from buildlog.render.addresses import anchor, entry_href
from buildlog.render.language import Words
from buildlog.render.markdown import Story
from buildlog.render.marks import mark_owner_text
from buildlog.render.pages.periods import Whereabouts
from buildlog.render.pages.photos import Photos, PublishedPhoto
from buildlog.render.pieces import EntryCard, Link, Margin, PhotoView, When
from buildlog.render.strips import TallyUnits, choose_unit


# Not `@frozen` like other values: that gives slots, and a cached property needs somewhere to be kept.
@dataclass(frozen=True, kw_only=True)
class PageContext(Whereabouts):
    """Everything that is needed to finish a page."""

    words: Words
    "writes dates, amounts and quantities in the site's language"
    stories: Mapping[str, Story]
    "by entry name"
    photos: Photos
    "by entry name, then by file name"
    papers: Mapping[str, str] | None = None
    "where papers stand that are kept outside the site, from its top, by path; None: they are published with it"
    record: PublishedRecord = PublishedRecord()
    "what pages show of the seals; empty: nothing is sealed"
    draw: Callable[[Card], bytes] = draw_card
    "draws the picture for whoever shares the site, or finds it drawn"

    # ------------------------------------------------------------------------------------------------ words

    @cached_property
    def words_language(self) -> str:
        """The language of the owner's words, where it is another than that of the theme's; else empty."""
        language = self.figures.log.settings.site.language
        return "" if self.words.catalogue.speaks(language) else language

    def owner_text(self, text: str | None) -> str:
        """Words of the owner's as they go into a page: marked where the page speaks another language."""
        return mark_owner_text(text or "") if self.words_language else text or ""

    # Three ways to write money, as `prices: totals` opens totals and not single prices. A page says which an amount is,
    # and never decides what may be seen.
    def total_money(self, money: Money, added: Iterable[CostLine], taken: Iterable[CostLine] = ()) -> str:
        """The total of some lines less others; nothing where money is hidden or a price would follow."""
        # Decided once, of all totals together: one that is harmless by itself may not be beside others.
        if self.prices == "totals" and not self._shown_totals.shows(money, added, taken):
            return ""
        return self.planned_money(money)

    def moved_money(self, money: Money, lines: Iterable[CostLine]) -> str:
        """The total of lines less those among them that are sales."""
        lines = tuple(lines)
        spent = [line for line in lines if line.sort != "sold"]
        return self.total_money(money, spent, [line for line in lines if line.sort == "sold"])

    def running_money(self, money: Money, until: str) -> str:
        """What all lines up to a day or the end of a month come to, less sales."""
        costs = self.figures.costs
        if not costs.lines and not costs.recovered_lines:
            return ""

        def cut(lines: Iterable[CostLine]) -> list[CostLine]:
            return [line for line in lines if line.date.isoformat()[: len(until)] <= until]

        # Not looked for where all are shown, which is a search through all lines for each entry.
        if self.prices != "totals":
            return self.planned_money(money)
        return self.total_money(money, cut(costs.lines), cut(costs.recovered_lines))

    @cached_property
    def tally_units(self) -> TallyUnits:
        """What a stroke beside a month stands for: chosen of shown totals alone, as they follow from it."""
        months = self.figures.costs.months
        shown = (month.net.amount for month in months if self.moved_money(month.net, month.lines))
        return TallyUnits(hours=choose_unit(month.hours for month in months), money=choose_unit(shown))

    @cached_property
    def _shown_totals(self) -> ShownTotals:
        return ShownTotals(self.figures.costs, suppliers=self.figures.log.settings.public.suppliers == "shown")

    def planned_money(self, money: Money) -> str:
        """An amount in which there is no price; nothing where money is hidden."""
        return "" if self.prices == "hidden" else self._write_money(money)

    def line_money(self, money: Money) -> str:
        """A single line's amount, or nothing unless prices are shown."""
        return self._write_money(money) if self.prices == "shown" else ""

    @kept
    def _write_money(self, money: Money) -> str:
        """An amount with all decimals of its currency, also where the owner wrote fewer."""
        return self.words.money(round_to_minor_unit(money.amount, money.currency).amount, money.currency)

    def home_money(self, amount: Decimal) -> Money:
        """A bare amount that an owner wrote in the home currency."""
        return Money(amount, self.figures.costs.currency)

    def price(self, each: Decimal, currency: str) -> str:
        """The price of one, which may be finer than the smallest coin, or nothing unless prices are shown."""
        # An invoice may give a unit price to more places than the currency has (EN 16931, BT-146): rounded, it would no
        # longer make the line.
        whole = round_to_minor_unit(each, currency).amount
        return self.words.money(whole if whole == each else each, currency) if self.prices == "shown" else ""

    @kept
    def when(self, day: datetime.date) -> When:
        return When(iso=day.isoformat(), text=self.words.day(day))

    def partial(self, day: PartialDate) -> When:
        """A day, month or year, no more exact than it is known."""
        if day.exact:
            return self.when(day.earliest)
        # A month stays a month: its first day would be a claim that nobody made.
        return When(iso=day.text, text=self.words.month(day.earliest) if "-" in day.text else day.text)

    def partial_text(self, text: str) -> When:
        """The same, from its text."""
        return self.partial(PartialDate(text))

    def month(self, name: str) -> When:
        """The month `2024-05`."""
        return When(iso=name, text=self.words.month(datetime.date.fromisoformat(f"{name}-01")))

    def period(self, name: str) -> str:
        """A period of `periods`: `2024`, `April 2024 to June 2024`, `May 2024`."""
        year, _, rest = name.partition("-")
        if rest.startswith("q"):
            first, last = (self.month(f"{year}-{int(rest[1:]) * 3 - back:02}").text for back in (2, 0))
            # TRANSLATORS: of a time, from one month to another: April 2024 to June 2024
            return self.words.say("%(first)s to %(last)s", first=first, last=last)
        return self.month(name).text if rest else year

    def show_reading(self, reading: MeterReading) -> str:
        """`87,412 mi`; where that is not the true total, `87,418 mi in all (meter 41,262 mi)`."""
        shown = self.words.measure(reading.value, reading.unit)
        if shows_total(reading, self.figures.meter.unit):
            return shown
        return self.words.in_all(self.distance(reading.total), shown)

    def reading_at(self, place: Place) -> str:
        """The reading that was written at a place, as `show_reading` writes it; nothing where there is none."""
        reading = self._readings.get(place)
        return self.show_reading(reading) if reading else ""

    @kept
    def reading_in(self, name: str) -> str:
        """The meter on the day of an entry, where it was noted; by the entry's name."""
        entry = self.entries.get(name)
        return self.reading_at(entry.field_place("reading")) if entry and entry.reading else ""

    @cached_property
    def _readings(self) -> Mapping[Place, MeterReading]:
        # By place, as one entry may give several: its own, one with each service, two at a change of meter.
        return {reading.place: reading for reading in self.figures.meter.readings}

    def total(self, total: Decimal | None, shown: Decimal | None) -> str:
        """A true total that is still to come, and what the meter will show then where that is something else."""
        if total is None or shown is None or total == shown:
            return self.distance(total)
        return self.words.in_all(self.distance(total), self.distance(shown))

    def quantity(self, qty: Decimal, unit: str | None = None) -> str:
        return self.words.measure(qty, self.owner_text(unit)) if unit else self.words.number(qty)

    def gauged(self, value: Decimal, unit: str | None = None) -> str:
        """A value off a gauge, or the limit of one, with every decimal that it has."""
        return f"{self.words.written(value)}\u00a0{self.owner_text(unit)}" if unit else self.words.written(value)

    def distance(self, distance: Decimal | None) -> str:
        unit = self.figures.meter.unit
        return self.words.measure(distance, unit) if distance is not None and unit else ""

    # ------------------------------------------------------------------------------------------------ names

    @property
    def title(self) -> str:
        settings = self.figures.log.settings
        return settings.site.title or settings.machine.name

    def component_name(self, key: str) -> str:
        component = self.figures.log.settings.components.get(key)
        return self.owner_text(component.name if component and component.name else plain_name(key))

    def strip_down_name(self, key: str) -> str:
        return self.owner_text(self.figures.log.settings.strip_downs[key].name)

    def fault_name(self, key: str) -> str:
        """A fault as it was first named."""
        return self.owner_text(self._fault_names.get(key) or plain_name(key))

    @cached_property
    def measured_times(self) -> Mapping[Place, Link]:
        """Where the service history shows each measurement with the others of its kind, by the record's place."""
        links, both = dict[Place, Link](), self.words.say("compare both measurements")
        for key, series in self.repeated_measures.items():
            number, say_count = len(series.sets), self.words.say_count
            told = say_count("compare all %(number)s measurement", "compare all %(number)s measurements", number)
            link = Link(text=told if number > 2 else both, href=f"service.html#measured-{key}")
            links |= {one.record.place: link for one in series.sets}
        return links

    @cached_property
    def repeated_measures(self) -> Mapping[str, MeasureSeries]:
        """What was measured at two or more times, by the key of its place in the service history."""
        # Numbered, as a name may be any text. A new one in between moves the rest, so these are not addresses to keep.
        repeated = [series for series in self.figures.measures.series if len(series.sets) > 1]
        return {str(n): series for n, series in enumerate(repeated, 1)}

    @cached_property
    def _fault_names(self) -> Mapping[str, str]:
        return {fault.key: fault.name for fault in self.figures.faults.faults}

    # ------------------------------------------------------------------------------------------------ links

    @cached_property
    def parts(self) -> Mapping[str, PartFigures]:
        """The parts that moved by the day, by key and by every other key of theirs."""
        # A record may name a part by any key that it ever had.
        parts = self.figures.parts.parts
        return {key: part for part in parts for key in (*part.aliases, part.key)}

    @cached_property
    def claims(self) -> Mapping[Place, Claim]:
        """What the log claims, by the place of the record that claims it."""
        return {claim.place: claim for claim in self.figures.evidence.claims}

    @cached_property
    def orders(self) -> Mapping[str, str]:
        """The entry in which an order stands, by the order's ref."""
        # An order without a number cannot be named by a later entry, so nothing has to lead to it.
        return {p.landed.order.ref: p.entry.name for p in self.figures.costs.purchases if p.landed.order.ref}

    @cached_property
    def purchases(self) -> Mapping[str, tuple[Purchase, ...]]:
        """The orders that stand in each entry, by its name."""
        found: dict[str, tuple[Purchase, ...]] = {}
        for purchase in self.figures.costs.purchases:
            found[purchase.entry.name] = (*found.get(purchase.entry.name, ()), purchase)
        return found

    def paper_link(self, paper: str | None) -> Link | None:
        """A paper, where papers are published."""
        if not paper or self.figures.log.settings.public.papers != "shown":
            return None
        # In a handover, a paper that is not listed is withheld: its name stays and leads nowhere.
        href = paper if self.papers is None else self.papers.get(paper, "")
        return Link(text=paper.rsplit("/", 1)[-1], href=quote(href))

    def named_part(self, key: str, name: str | None) -> Link:
        """A part as a record names it; one of the machine's own by its name."""
        return self.part_link(original_key(name), name) if key == ORIGINAL and name else self.part_link(key)

    @kept
    def entry_link(self, name: str) -> Link:
        entry = self.entries.get(name)
        return Link(text=self.owner_text(entry.title), href=entry_href(name)) if entry else Link(text=name)

    def part_link(self, key: str, text: str = "") -> Link:
        """A part's life; the words alone for something that is not kept track of."""
        part = self.parts.get(key)
        if part is None and key == ORIGINAL and not text:
            # TRANSLATORS: a part that the machine came with, which nobody named
            return Link(text=self.words.say("Original"))
        if part is None:
            return Link(text=self.owner_text(text or plain_name(key)))
        page = self.part_pages.get(part.key, "parts.html")
        return Link(text=self.owner_text(text or part.name), href=f"{page}#{anchor(part.key)}")

    def fault_link(self, key: str, text: str = "") -> Link:
        """A fault's story."""
        page = self.fault_pages.get(key, "faults.html")
        return Link(text=self.owner_text(text or self.fault_name(key)), href=f"{page}#fault-{key}")

    def item_link(self, key: str) -> Link:
        return Link(text=self.owner_text(self.figures.log.settings.service[key].name), href=f"service.html#item-{key}")

    def system_name(self, key: str | None) -> str:
        """A system as shown."""
        systems = self.figures.log.settings.systems
        return self.owner_text(systems.get(key, key)) if key else self.words.say("No system given")

    def system_links(self, keys: Iterable[str]) -> tuple[Link, ...]:
        return tuple(self.system_link(key) for key in keys)

    def system_link(self, key: str | None) -> Link:
        """A system's page; the name alone of one that nothing belongs to."""
        return Link(text=self.system_name(key), href=self.system_href(key) if key in self.systems else "")

    def supplier(self, name: str | None) -> str:
        """A supplier's name, or nothing where names are hidden."""
        # Closed here, so that templates never learn the name: one of the log's own cannot give it away by mistake.
        return self.owner_text(name) if self.figures.log.settings.public.suppliers == "shown" else ""

    def doer(self, name: str | None) -> str:
        """Who did a job, or where suppliers are hidden that somebody did: a garage is one as much as a shop is."""
        return self.supplier(name) or (self.words.say("somebody who is not named") if name else "")

    def item_name(self, name: str | None) -> str:
        """What an order's line is for; the supplier, where shown, has a place beside it."""
        return self.owner_text(name) or self.words.say(UNNAMED)

    def order_ref(self, ref: str | None) -> str:
        """An order's number, or nothing where suppliers are hidden: it is theirs, and gives them away."""
        return self.supplier(ref)

    def order_name(self, ref: str) -> str:
        """`order KM-77120`, or `an order`."""
        shown = self.order_ref(ref)
        return self.words.say("order %(ref)s", ref=shown) if shown else self.words.say("an order")

    # ------------------------------------------------------------------------------------------------ entries

    def sealed_entry(self, entry: Entry | StandingPage) -> PublishedEntry | None:
        """How an entry or a standing page was sealed; None where the seals do not know it."""
        return self.record.entries.get(compose(entry.place.file))

    @kept
    def margin(self, name: str) -> Margin:
        """The figures beside an entry, by its name."""
        entry = self.entries[name]
        moved = self.figures.costs.entry_totals.get(entry.name)
        # Net of refunds: an entry that paid and got the same back shows no cost.
        cost = self.entry_money(name, moved, "paid", "refund") if moved else ""
        last = self._money_days.get(entry.name, entry.date)
        return Margin(
            when=self.when(entry.date),
            reading=self.reading_in(name),
            hours=self.words.hours(entry.hours) if entry.hours else "",
            cost=cost,
            cost_by=self.words.day(last) if cost and last > entry.date else "",
            running=self.running_money(self.figures.costs.running_by_entry[entry.name], entry.date.isoformat()),
        )

    def entry_money(self, name: str, money: Money, *sorts: Sort) -> str:
        """What an entry moved, in some sorts of lines; below zero where it brought money in."""
        # The lines of all entries are looked through only where it hangs on them whether a total is shown.
        if self.prices != "totals":
            return self.planned_money(money)
        lines = [line for line in self._entry_lines.get(name, ()) if line.sort in sorts]
        sold = "sold" in sorts
        return self.total_money(money, () if sold else lines, lines if sold else ())

    @cached_property
    def _entry_lines(self) -> Mapping[str, list[CostLine]]:
        """Every amount that an entry moved, by its name; what is committed and what was sold with the rest."""
        costs, found = self.figures.costs, dict[str, list[CostLine]]()
        for line in (*costs.lines, *costs.committed_lines, *costs.recovered_lines):
            found.setdefault(line.entry, []).append(line)
        return found

    @cached_property
    def _money_days(self) -> Mapping[str, datetime.date]:
        """The last day on which money of an entry moved, by its name."""
        return {total.name: max(line.date for line in total.lines) for total in self.figures.costs.by_entry}

    def card(self, entry: Entry, show: Callable[[PublishedPhoto], PhotoView | None] | None = None) -> EntryCard:
        """An entry as lists show it, its first photo in the size that `show` gives."""
        # Only on request, as asking for a photo waits until it is made.
        photo = next(iter(self.photos.get(entry.name, {}).values()), None) if show else None
        return EntryCard(
            name=entry.name,
            title=self.owner_text(entry.title),
            href=entry_href(entry.name),
            margin=self.margin(entry.name),
            lead=self.owner_text(self.stories[entry.name].lead),
            photo=show(photo) if show and photo else None,
            systems=self.system_links(entry.systems),
            system_keys=entry.systems,
            milestone=self.owner_text(entry.milestone),
        )
