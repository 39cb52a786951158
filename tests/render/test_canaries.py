"""What `public:` closes gets into no published byte: a mark in every private field, sought in every file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

import pytest

from buildlog.read import kinds, numbers
from buildlog.read.fields import LogRecord, Slot, list_slots
from buildlog.stages import Run, run_stages
from tests.whole_log import AS_OF, PAPER_MARK, PHOTO_MARK, WholeLog, list_classes, read_whole

CLOSED = {
    "prices": "hidden", "vin": "hidden", "registration": "hidden", "suppliers": "hidden", "place": "hidden",
    "papers": "hidden",
}  # fmt: skip

SUMS = {"MoneyPlan": "budget", "Order": "charged", "Payment": "charged", "Instalment": "charged"}
"Amounts that stand for themselves, and what the card took for all of an order: shown with the sums."
LINES = {
    "Acquired": "price",
    "MoneyPlan": "hour_rate",
    "Charge": "amount what",
    "Line": "each total core worth",
    "Order": "rate rounding",
    "Extra": "amount what",
    "LineExtra": "amount what",
    "Untaxed": "why",
    "Instalment": "amount settles",
    "Payment": "amount settles",
    "Wanted": "about",
    "Returned": "core refund charged",
    "Sold": "price",
}
PRIVATE: Mapping[str, Mapping[str, str]] = {
    "prices: totals": SUMS,
    "prices: shown": LINES,
    "vin: shown": {"Machine": "vin hin chassis_number engine_number"},
    "registration: shown": {"Machine": "registration"},
    "suppliers: shown": {"Order": "supplier ref", "Arrival": "ref", "Payment": "ref", "Returned": "ref",
        "Serviced": "who", "Inherited": "who",
        "Wanted": "supplier"},
    "place: shown": {"Machine": "area"},
    "papers: shown": {
        "Acquired": "paper", "Inherited": "paper", "Order": "paper", "Returned": "paper", "Sold": "paper",
        "Fitted": "paper", "Serviced": "paper", "MeterChange": "paper", "StandingPage": "papers",
    },
    "never": {"Acquired": "seller", "Photo": "file after", "PagePhoto": "file", "Site": "id cover",
        "Brought": "file digest at"},
}  # fmt: skip
"What may be seen, by what opens it."

PUBLIC: Mapping[str, str] = {
    "Line": "name what number maker replaces_number unit shelf",
    "Returned": "why",
    "Sold": "name what",
    "Fitted": "name at note",
    "Removed": "name at why shelf",
    "Scrapped": "name why",
    "Serviced": "note",
    "MeterChange": "why",
    "Fault": "name",
    "Check": "did",
    "Fix": "how proved",
    "SeenAgain": "note",
    "Limits": "min max",
    "Measured": "what unit values value note",
    "Tightened": "what to method",
    "Temporary": "what until",
    "Photo": "says",
    "PagePhoto": "says",
    "StandingPage": "title",
    "Wanted": "what",
    "Planned": "what",
    "Ticked": "items note",
    "ListItem": "what caution",
    "Checklist": "name",
    "Entry": "title hours milestone done dropped unwanted was",
    "Machine": "name maker model",
    "Acquired": "condition",
    "Inherited": "what",
    "Settings": "systems",
    "Component": "name",
    "StripDown": "name hours",
    "ServiceItem": "name",
    "Site": "title address author",
}
"What readers see whatever is closed: the owner wrote it for them."

TELLING = (
    kinds.TEXT,
    kinds.PATH,
    kinds.FILE_NAME,
    kinds.PHOTO,
    kinds.COVER,
    kinds.ENTRY_NAME,
    kinds.ADDRESS,
    numbers.AMOUNT,
    numbers.NUMBER,
)
"Kinds of fields that can give something away."


def find_opener(record: type[LogRecord], slot: Slot) -> str | None:
    """What opens a field; None where it is open, or cannot give anything away."""
    openers = [how for how, fields in PRIVATE.items() if slot.field in fields.get(record.__name__, "").split()]
    return openers[0] if openers else None


def test_every_field_says_who_may_see_it() -> None:
    """A field that is added to the format is private or public by decision, never by oversight."""
    told = [
        (name, field) for fields in [*PRIVATE.values(), PUBLIC] for name in fields for field in fields[name].split()
    ]
    telling = [
        (record.__name__, slot.field)
        for record in list_classes()
        for slot in list_slots(record).values()
        if slot.kind in TELLING
    ]
    assert set(telling) <= set(told), "say in PRIVATE or PUBLIC who may see it"
    assert len(told) == len(set(told)), "one field is in two places"


def test_the_log_fills_every_field() -> None:
    """What is not filled is not sought."""
    filled = {(record, slot.field) for record, slot, _ in read_whole().list_values()}
    assert not [
        f"{record.__name__}.{slot.field}"
        for record in list_classes()
        for slot in list_slots(record).values()
        if slot.kind in TELLING and (record, slot.field) not in filled
    ]


def mark_private(log: WholeLog) -> tuple[WholeLog, dict[str, str]]:
    """The log with a mark in every private field, and the marks with what opens each."""
    marks: dict[str, str] = {}
    words: dict[str, str] = {}

    def pen(record: type[LogRecord], slot: Slot, value: str) -> str:
        opener = find_opener(record, slot)
        if opener is None:
            return value
        if slot.kind is kinds.TEXT and slot.field not in ("vin", "hin"):
            value = words.setdefault(value, f"Qx{len(words):03}zv")
        elif slot.kind in (kinds.PATH, kinds.FILE_NAME, kinds.PHOTO, kinds.COVER):
            # A photo of another entry is named by its file there, behind the entry's own name.
            home, slash, name = value.rpartition("/") if slot.kind is not kinds.PATH else ("", "", value)
            stem, dot, suffix = name.rpartition(".")
            value = home + slash + words.setdefault(name, f"{stem} qx{len(words):03}zv{dot}{suffix}")
        if len(value.replace(".", "")) > 3:  # `0` is no mark
            marks[re.sub(r".* (qx[0-9]+zv)\.\w+$", r"\1", value)] = opener
        return value

    body = log.bodies | {}
    marked = log.over(pen)
    files = {old: new for old, new in words.items() if new.endswith(".jpg")}
    for old, new in files.items():
        body = {name: text.replace(old.replace(" ", "%20"), new.replace(" ", "%20")) for name, text in body.items()}
    return WholeLog(marked.settings, marked.entries, body, marked.pages), marks


def publish(log: WholeLog, folder: Path, public: Mapping[str, str]) -> dict[str, bytes]:
    """Every file of the site by its path; `public` is what `log.yaml` says of it."""
    log = WholeLog(dict(log.settings) | {"public": dict(public)}, log.entries, log.bodies, log.pages)
    run = run_stages(Run(folder=log.write(folder / "log"), out=folder / "site", as_of=AS_OF))
    assert run.report, run.problems
    site = folder / "site"
    return {path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*") if path.is_file()}


def find_marks(files: Mapping[str, bytes], marks: Mapping[str, str]) -> dict[str, list[str]]:
    """The files in which each mark is found, in its letters or, for a number, in its digits."""
    texts = {name: (name.encode() + b"\n" + data).lower() for name, data in files.items()}
    found = {
        mark: [name for name, text in texts.items() if any(form in text for form in _list_forms(mark))]
        for mark in marks
    }
    return {mark: where for mark, where in found.items() if where}


def _list_forms(mark: str) -> set[bytes]:
    """How a mark may be written; an amount also without its last zeros, and in groups of three digits."""
    forms = {mark.lower()}
    if re.fullmatch(r"[0-9]+\.[0-9]+", mark):
        forms |= {mark.rstrip("0").rstrip("."), f"{Decimal(mark):,}"}
    return {form.encode() for form in forms}


@pytest.mark.parametrize("opened", [None, "masked", *(how for how in PRIVATE if how != "never")])
def test_only_what_is_opened_gets_out(opened: str | None, tmp_path: Path) -> None:
    """With everything closed no private mark is in any byte of the site; each key opens its own fields and no other.

    Pages, feed, sitemap, JSON-LD, styles, scripts, pictures with their metadata, and names of files.
    """
    log, marks = mark_private(read_whole())
    public = dict(CLOSED)
    if opened == "masked":
        public |= {"vin": "masked", "registration": "masked"}
    elif opened:
        key, _, how = opened.partition(": ")
        public[key] = how
    files = publish(log, tmp_path, public)
    found = find_marks(files, marks)
    allowed = {opened, "prices: totals"} if opened == "prices: shown" else {opened}
    assert {mark: where for mark, where in found.items() if marks[mark] not in allowed} == {}
    assert opened in (None, "masked") or {marks[mark] for mark in found} == allowed, "the marks can be found"
    assert not [name for name, data in files.items() if PHOTO_MARK in data]
    assert bool([name for name, data in files.items() if PAPER_MARK in data]) == (opened == "papers: shown")
