"""The records of `log.yaml`: the machine, its money, its plan, and what of it is public."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.source import gauges, kinds
from buildlog.source.entry import MeterChange
from buildlog.source.fields import Record, many, may, must, table
from buildlog.source.gauges import Amount
from buildlog.source.kinds import PartialDate, one_of

MACHINE_KINDS = ("road vehicle", "motorcycle", "boat", "tractor", "aircraft", "trailer", "other")
ROAD_KINDS = ("road vehicle", "motorcycle")
"Those that the law on odometers speaks of (49 CFR 580.3: motor vehicles)."
METER_STATEMENTS = ("actual", "exceeds mechanical limits", "not actual", "exempt")
EVIDENCE = ("on paper", "in pictures", "stated", "handed down")


@frozen
class Meter(Record):
    """The odometer or hour meter."""

    SHORT: ClassVar[str | None] = "unit"
    unit: str = must(one_of("mi", "km", "h"), "unit of the meter: `mi`, `km` or `h`")
    digits: int | None = may(kinds.COUNT, "whole digits that the drums can show; a rollover is reckoned with it")
    statement: str | None = may(
        one_of(*METER_STATEMENTS),
        "the owner's statement about the total, in the categories of 49 CFR 580.5; never inferred",
    )


@frozen
class Machine(Record):
    """What is being rebuilt."""

    name: str = must(kinds.TEXT, "what the owner calls it")
    kind: str = may(one_of(*MACHINE_KINDS), "what sort of machine it is", default="other")
    maker: str | None = may(kinds.TEXT, "who made it")
    model: str | None = may(kinds.TEXT, "the maker's model")
    year: int | None = may(kinds.COUNT, "model year, or year of build")
    vin: str | None = may(kinds.TEXT, "vehicle identification number, 17 characters (ISO 3779)")
    hin: str | None = may(kinds.TEXT, "hull identification number (33 CFR 181.25, ISO 10087)")
    chassis_number: str | None = may(kinds.TEXT, "frame or chassis number from before 1981, as stamped")
    engine_number: str | None = may(kinds.TEXT, "as stamped")
    registration: str | None = may(kinds.TEXT, "registration mark")
    market: str | None = may(
        one_of("north-america", "elsewhere"),
        "the market it was built for; decides whether the VIN's check digit must hold",
    )
    meter: Meter | None = may(Meter, "its odometer or hour meter")
    area: str | None = may(kinds.TEXT, "where it stands; hidden unless `public:` opens it", key="place")


@frozen
class Acquired(Record):
    """How the machine came to the owner."""

    date: datetime.date = must(kinds.DATE, "the day it changed hands")
    price: Decimal | None = may(
        kinds.AMOUNT, "what was paid for the machine, in the home currency; stands apart from what is spent on it"
    )
    reading: Amount | None = may(gauges.METER, "the meter on that day")
    rollover: bool = may(kinds.YES, "the meter passed its last digit since the reading before", default=False)
    paper: str | None = may(kinds.PATH, "bill of sale", to="paper")
    seller: str | None = may(kinds.TEXT, "whom it came from; never published", key="from")
    condition: str | None = may(kinds.TEXT, "what state it was in")


@frozen
class Inherited(Record):
    """One event from before the log began, as an earlier owner or a paper tells it."""

    date: PartialDate = must(kinds.PARTIAL_DATE, "day, month or year")
    what: str = must(kinds.TEXT, "what was done")
    serviced: tuple[str, ...] = many(kinds.KEY, "service items that it counts for", to="service item")
    reading: Amount | None = may(gauges.METER, "the meter then")
    rollover: bool = may(kinds.YES, "the meter passed its last digit since the reading before", default=False)
    meter_changed: MeterChange | None = may(MeterChange, "the meter was replaced or set")
    who: str | None = may(kinds.TEXT, "who did it")
    evidence: str = may(one_of("on paper", "in pictures", "handed down"), "how it is backed", default="handed down")
    paper: str | None = may(kinds.PATH, "the paper that backs it", to="paper")


@frozen
class MoneyPlan(Record):
    """The purse: in what it is counted and what is planned."""

    currency: str = must(kinds.CURRENCY, "home currency, ISO 4217")
    hour_rate: Decimal | None = may(kinds.AMOUNT, "worth of one own hour, shown beside the cash figures, never inside")
    budget: Mapping[str, Decimal] = table(kinds.AMOUNT, "planned amount per system, in the home currency", to="system")


@frozen
class Component(Record):
    """Something on the machine that can be suspected, inspected or reached."""

    system: str | None = may(kinds.KEY, "the system that it belongs to", to="system")
    name: str | None = may(kinds.TEXT, "as shown; else the short name")
    reached_by: str | None = may(kinds.KEY, "the strip-down that lays it open", to="strip-down")
    check_hours: Decimal | None = may(kinds.SOME_HOURS, "hours to check it once it lies open")
    likely: Decimal = may(kinds.POSITIVE, "weight among suspects", default=Decimal(1))
    driven_by: str | None = may(
        kinds.KEY,
        "the component that drives it; with all that it drives, that one is a group of its name",
        to="component",
    )


@frozen
class StripDown(Record):
    """Work needed to reach something."""

    name: str = must(kinds.TEXT, "as shown")
    hours: Decimal = must(kinds.HOURS, "hours to take it off and put it back")
    after: tuple[str, ...] = many(kinds.KEY, "strip-downs that must come off first", to="strip-down")


@frozen
class Interval(Record):
    """How often; the earliest limit counts."""

    months: int | None = may(kinds.COUNT, "calendar months")
    distance: Decimal | None = may(kinds.POSITIVE, "in the meter's unit")
    hours: Decimal | None = may(kinds.POSITIVE, "on an hour meter")


@frozen
class Notice(Record):
    """How long before its limit an item is called due."""

    days: int | None = may(kinds.COUNT, "days before the date")
    distance: Decimal | None = may(kinds.POSITIVE, "in the meter's unit, before the reading")
    hours: Decimal | None = may(kinds.POSITIVE, "on an hour meter, before the reading")


@frozen
class ServiceItem(Record):
    """A recurring job."""

    name: str = must(kinds.TEXT, "as shown")
    every: Interval = must(Interval, "the interval")
    notice: Notice | None = may(
        Notice, "how long before it is called due; 30 days and a twentieth of the distance when left out"
    )
    system: str | None = may(kinds.KEY, "the system that it belongs to", to="system")
    covers: tuple[str, ...] = many(kinds.KEY, "components to look at or renew at the same time", to="component")
    anchor: datetime.date | None = may(
        kinds.DATE, "counted from this day when it was never done, as for a new machine", key="since"
    )


@frozen
class LaidUp(Record):
    """Days on which the machine was not in use; they are left out of its daily use."""

    since: datetime.date = must(kinds.DATE, "first day laid up", key="from")
    until: datetime.date | None = may(kinds.DATE, "last day laid up; left out while it still is")


@frozen
class Public(Record):
    """What readers of the site see; everything that can hurt is closed until it is opened here."""

    prices: str = may(
        one_of("totals", "shown", "hidden"),
        "`totals`: sums only; `shown`: every line; `hidden`: no money at all",
        default="totals",
    )
    vin: str = may(one_of("masked", "shown", "hidden"), "VIN, HIN, chassis and engine number", default="masked")
    registration: str = may(one_of("masked", "shown", "hidden"), "registration mark", default="masked")
    suppliers: str = may(one_of("shown", "hidden"), "names of suppliers, and the numbers of orders", default="shown")
    area: str = may(one_of("hidden", "shown"), "where the machine stands", key="place", default="hidden")
    papers: str = may(one_of("hidden", "shown"), "scans and PDFs", default="hidden")


@frozen
class Site(Record):
    """How the site calls itself and where it will stand."""

    id: str | None = may(
        kinds.TEXT, "the log's own for good, made by `start`; ids in the feed are made from it, so never change it"
    )
    title: str | None = may(kinds.TEXT, "the site's title; else the machine's name")
    language: str = may(
        kinds.LANGUAGE, "BCP 47 tag of what you write; decides how dates and amounts are written", default="en-GB"
    )
    address: str | None = may(kinds.ADDRESS, "absolute address; needed for the sitemap and absolute feed links only")
    theme: str = may(kinds.KEY, "name of the theme", default="margin")
    author: str | None = may(kinds.TEXT, "name or pen name of the owner, for the feed")


@frozen
class Settings(Record):
    """The whole of `log.yaml`."""

    machine: Machine = must(Machine, "the machine")
    acquired: Acquired | None = may(Acquired, "how it came to the owner")
    history: tuple[Inherited, ...] = many(Inherited, "events from before the log began")
    money: MoneyPlan = must(MoneyPlan, "home currency, worth of an hour, budget")
    systems: Mapping[str, str] = table(kinds.TEXT, "branches of the machine: short name and name as shown")
    components: Mapping[str, Component] = table(Component, "what can be suspected, inspected or reached")
    strip_downs: Mapping[str, StripDown] = table(StripDown, "work needed to reach something")
    service: Mapping[str, ServiceItem] = table(ServiceItem, "recurring jobs")
    laid_up: tuple[LaidUp, ...] = many(LaidUp, "when the machine was out of use")
    public: Public = may(Public, "what readers see", default=Public())
    site: Site = may(Site, "the site's own settings", default=Site())
