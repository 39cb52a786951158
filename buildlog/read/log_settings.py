"""The records of `log.yaml`: the machine, its money, its plan, and what of it is public."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.read import kinds, numbers
from buildlog.read.entry import MeterChange, Wanted
from buildlog.read.fields import LogRecord, list_of, map_of, optional, required
from buildlog.read.kinds import PartialDate, one_of
from buildlog.read.numbers import Amount

MACHINE_KINDS = ("road vehicle", "motorcycle", "boat", "tractor", "aircraft", "trailer", "other")
ROAD_KINDS = ("road vehicle", "motorcycle")
"Those that the law on odometers speaks of (49 CFR 580.3: motor vehicles)."
METER_STATEMENTS = ("actual", "exceeds mechanical limits", "not actual", "exempt")
EVIDENCE = ("on paper", "in pictures", "stated", "handed down")


@frozen
class Meter(LogRecord):
    """The odometer or hour meter."""

    SHORT: ClassVar[str | None] = "unit"
    unit: str = required(one_of("mi", "km", "h"), "the meter's unit: `mi`, `km` or `h`")
    digits: int | None = optional(numbers.COUNT, "how many whole digits the drums show; needed to work out a rollover")
    statement: str | None = optional(
        one_of(*METER_STATEMENTS),
        "the owner's statement about the total, in the categories of 49 CFR 580.5; never worked out for you",
    )


@frozen
class Machine(LogRecord):
    """What is being rebuilt."""

    name: str = required(kinds.TEXT, "what you call it")
    # `other`: the laws on identity numbers and odometers are applied only where the owner names their kind
    kind: str = optional(one_of(*MACHINE_KINDS), "what sort of machine it is", default="other")
    maker: str | None = optional(kinds.TEXT, "who made it")
    model: str | None = optional(kinds.TEXT, "the maker's model")
    year: int | None = optional(numbers.COUNT, "model year, or year of build")
    # any text: a number with an error is stamped into the metal all the same, and `compute.identity` says what is odd
    vin: str | None = optional(kinds.TEXT, "vehicle identification number, 17 characters (ISO 3779)")
    hin: str | None = optional(kinds.TEXT, "hull identification number (33 CFR 181.25, ISO 10087)")
    chassis_number: str | None = optional(kinds.TEXT, "frame or chassis number from before 1981, as stamped")
    engine_number: str | None = optional(kinds.TEXT, "as stamped")
    registration: str | None = optional(kinds.TEXT, "registration mark")
    market: str | None = optional(
        one_of("north-america", "elsewhere"),
        "the market it was built for; decides whether the VIN's check digit must be right",
    )
    meter: Meter | None = optional(Meter, "its odometer or hour meter")
    # `place` is what every record calls its own place in the file
    area: str | None = optional(kinds.TEXT, "where it is kept; hidden unless `public:` opens it", key="place")


@frozen
class Acquired(LogRecord):
    """How the machine came to the owner."""

    date: datetime.date = required(kinds.DATE, "the day it changed hands")
    # apart from all totals: what was paid for the machine says nothing about what the work costs
    price: Decimal | None = optional(
        numbers.AMOUNT, "what was paid for the machine, in the home currency; not counted in what is spent on it"
    )
    reading: Amount | None = optional(numbers.METER, "the meter on that day")
    rollover: bool = optional(
        kinds.YES, "the meter has gone round past its last digit since the last reading", default=False
    )
    paper: str | None = optional(kinds.PATH, "bill of sale", to="paper")
    seller: str | None = optional(kinds.TEXT, "who it came from; never published", key="from")
    condition: str | None = optional(kinds.TEXT, "what state it was in")


@frozen
class Inherited(LogRecord):
    """One event from before the log began, as an earlier owner or a paper tells it."""

    date: PartialDate = required(kinds.PARTIAL_DATE, "day, month or year")
    what: str = required(kinds.TEXT, "what was done")
    serviced: tuple[str, ...] = list_of(kinds.KEY, "service items it counts for", to="service item")
    reading: Amount | None = optional(numbers.METER, "the meter at the time")
    rollover: bool = optional(
        kinds.YES, "the meter has gone round past its last digit since the last reading", default=False
    )
    meter_changed: MeterChange | None = optional(MeterChange, "the meter was replaced or set")
    who: str | None = optional(kinds.TEXT, "who did it")
    # `stated` is missing: the owner was not there
    evidence: str = optional(
        one_of("on paper", "in pictures", "handed down"), "how it is backed up", default="handed down"
    )
    paper: str | None = optional(kinds.PATH, "the paper that backs it up", to="paper")


@frozen
class MoneyPlan(LogRecord):
    """The purse: in what it is counted and what is planned."""

    # required: a currency that is guessed would be wrong for most, and every figure with it
    currency: str = required(kinds.CURRENCY, "home currency, ISO 4217")
    # never in a total: nobody paid it
    hour_rate: Decimal | None = optional(
        numbers.AMOUNT, "what an hour of your own work is worth; shown alongside the cash figures, never included"
    )
    budget: Mapping[str, Decimal] = map_of(
        numbers.AMOUNT, "planned amount for each system, in the home currency", to="system"
    )


@frozen
class Component(LogRecord):
    """Something on the machine that can be suspected, inspected or reached."""

    system: str | None = optional(kinds.KEY, "the system it belongs to", to="system")
    name: str | None = optional(kinds.TEXT, "name as shown; if left out, the short name")
    reached_by: str | None = optional(kinds.KEY, "the strip-down that exposes it", to="strip-down")
    # above zero: where to look next divides by hours
    check_hours: Decimal | None = optional(numbers.SOME_HOURS, "hours to check it once it is exposed")
    # weights and no percentages, which would have to be shared out again for each suspect that is added
    likely: Decimal = optional(
        numbers.POSITIVE, "how likely it is to be at fault, compared with other suspects", default=Decimal(1)
    )
    driven_by: str | None = optional(
        kinds.KEY,
        "the component that drives it; naming that one under `suspects` means it and all that it drives",
        to="component",
    )


@frozen
class StripDown(LogRecord):
    """Work needed to reach something."""

    name: str = required(kinds.TEXT, "as shown")
    hours: Decimal = required(numbers.HOURS, "hours to take it off and put it back")
    after: tuple[str, ...] = list_of(kinds.KEY, "strip-downs that must come off first", to="strip-down")


@frozen
class Interval(LogRecord):
    """How often; the earliest limit counts."""

    months: int | None = optional(numbers.COUNT, "calendar months")
    distance: Decimal | None = optional(numbers.POSITIVE, "in the meter's unit")
    hours: Decimal | None = optional(numbers.POSITIVE, "on an hour meter")


@frozen
class Notice(LogRecord):
    """How long before its limit an item is called due."""

    days: int | None = optional(numbers.COUNT, "days before the date")
    distance: Decimal | None = optional(numbers.POSITIVE, "in the meter's unit, before the reading")
    hours: Decimal | None = optional(numbers.POSITIVE, "on an hour meter, before that reading")


@frozen
class ServiceItem(LogRecord):
    """A recurring job."""

    name: str = required(kinds.TEXT, "as shown")
    every: Interval = required(Interval, "the interval")
    notice: Notice | None = optional(
        Notice, "how long before it is called due; if left out, 30 days and a twentieth of the distance"
    )
    system: str | None = optional(kinds.KEY, "the system it belongs to", to="system")
    covers: tuple[str, ...] = list_of(kinds.KEY, "components to look at or renew at the same time", to="component")
    anchor: datetime.date | None = optional(
        kinds.DATE, "counts from this day if it has never been done, as on a new machine", key="since"
    )


@frozen
class ListItem(LogRecord):
    """One thing to see to before something is done."""

    SHORT: ClassVar[str | None] = "what"
    what: str = required(kinds.TEXT, "what has to be right")
    name: str | None = optional(kinds.KEY, "short name, for ticking it")
    caution: str | None = optional(kinds.TEXT, "what could hurt somebody; always shown beside the item")
    system: str | None = optional(
        kinds.KEY,
        "the system it is about; work on that after the tick is said beside it",
        key="for",
        to="system",
    )


@frozen
class Checklist(LogRecord):
    """What has to be right before the first start, before the road, before the lift."""

    name: str = required(kinds.TEXT, "as shown")
    items: tuple[ListItem, ...] = list_of(ListItem, "what has to be right, in your order")


@frozen
class LaidUp(LogRecord):
    """Days on which the machine was not in use; they are left out of its daily use."""

    since: datetime.date = required(kinds.DATE, "first day laid up", key="from")
    # open at the end, as a machine is mostly laid up until further notice
    until: datetime.date | None = optional(kinds.DATE, "last day laid up; leave it out while it still is")


@frozen
class Public(LogRecord):
    """What readers of the site see; everything that can hurt is closed until it is opened here."""

    # closed until opened, wherever it can do harm: what was once published cannot be taken back
    prices: str = optional(
        one_of("totals", "shown", "hidden"),
        "`totals`: totals only; `shown`: every line; `hidden`: no amounts at all",
        default="totals",
    )
    vin: str = optional(one_of("masked", "shown", "hidden"), "VIN, HIN, chassis and engine number", default="masked")
    registration: str = optional(one_of("masked", "shown", "hidden"), "registration mark", default="masked")
    suppliers: str = optional(
        one_of("shown", "hidden"), "names of suppliers and of whoever did a job, and order numbers", default="shown"
    )
    area: str = optional(one_of("hidden", "shown"), "where the machine is kept", key="place", default="hidden")
    papers: str = optional(one_of("hidden", "shown"), "scans and PDFs", default="hidden")


@frozen
class Site(LogRecord):
    """How the site calls itself and where it will stand."""

    # drawn once and kept in the log: an address may change, and readers of the feed would get all entries again
    id: str | None = optional(
        kinds.TEXT, "the log's permanent id, made by `start`; the ids in the feed are made from it, so never change it"
    )
    title: str | None = optional(kinds.TEXT, "the site's title; if left out, the machine's name")
    language: str = optional(
        kinds.LANGUAGE,
        "the language you write in, as a BCP 47 tag; decides how dates and amounts are shown",
        default="en-GB",
    )
    address: str | None = optional(
        kinds.ADDRESS, "full web address; needed for the sitemap, for pictures in the feed and where a page is shared"
    )
    # a short name and no path: a log from elsewhere must not load templates from just anywhere
    theme: str = optional(kinds.KEY, "name of the theme", default="margin")
    type: str = optional(
        one_of("bundled", "system"),
        "the typeface of the pages: the `bundled` one, which is the same everywhere, or that of each reader's `system`",
        default="bundled",
    )
    author: str | None = optional(kinds.TEXT, "name or pen name of the owner, for the feed")
    cover: str | None = optional(
        kinds.COVER, "the picture of the machine on the front page and where the site is shared, as `ENTRY/FILE`"
    )


@frozen
class Settings(LogRecord):
    """The whole of `log.yaml`."""

    machine: Machine = required(Machine, "the machine")
    acquired: Acquired | None = optional(Acquired, "how you came by it")
    history: tuple[Inherited, ...] = list_of(Inherited, "what is known from before the log began")
    money: MoneyPlan = required(MoneyPlan, "home currency, what an hour is worth, budget")
    systems: Mapping[str, str] = map_of(kinds.TEXT, "systems of the machine: short name and name as shown")
    components: Mapping[str, Component] = map_of(Component, "what can be suspected, inspected or reached")
    strip_downs: Mapping[str, StripDown] = map_of(StripDown, "work needed to reach something")
    service: Mapping[str, ServiceItem] = map_of(ServiceItem, "recurring jobs")
    laid_up: tuple[LaidUp, ...] = list_of(LaidUp, "when the machine was out of use")
    wanted: tuple[Wanted, ...] = list_of(Wanted, "what will have to be bought")
    lists: Mapping[str, Checklist] = map_of(Checklist, "what has to be right before something is done")
    # one value for all logs, which is safe since no record can change
    public: Public = optional(Public, "what readers see", default=Public())
    site: Site = optional(Site, "the site's own settings", default=Site())
