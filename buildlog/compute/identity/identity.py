"""Which machine is it, as far as its numbers tell, and how much of them may readers see?

`numbers` reads them; this gives their findings a place in `log.yaml` and hides for publication what points to the
single machine. Chassis and engine numbers are kept as stamped and never judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.compute.identity.numbers import (
    NORTH_AMERICA,
    Finding,
    HinReading,
    VinReading,
    choose_light_year,
    read_hin,
    read_vin,
)
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, Severity
from buildlog.read.records import Log, Machine, Public
from buildlog.text import join_words, to_say

HIDDEN = "•"
"Stands for one hidden character."
HIDDEN_MARK = HIDDEN * 6
"Stands for a whole hidden number, whatever its length."


@frozen
class IdentityNumber:
    """One number of the machine's, whole and as readers see it."""

    name: str
    "as shown: `VIN`"
    whole: str
    "as it is read; never for readers where `public` is another"
    public: str | None
    "None: hidden"

    @property
    def in_part(self) -> bool:
        """Whether readers see some of its characters, and not all."""
        return self.public is not None and self.public != self.whole and self.public.strip(HIDDEN) != ""


@frozen
class IdentityFigures:
    """The machine's numbers, read, and as they may be published."""

    vin: VinReading | None
    "None: none is written"
    hin: HinReading | None
    "None: none is written"
    light_year: int | None
    "model year by positions 7 and 10, if the machine is a North American car or another one up to 4,536 kg"
    chassis_number: str | None
    "as stamped"
    engine_number: str | None
    "as stamped; never a substitute for the VIN"
    registration: str | None
    "as written"
    public_vin: str | None
    "as `public:` allows; None when there is none, or when it is hidden"
    public_hin: str | None
    "the same of the HIN, which goes by `public: vin` too"
    public_chassis_number: str | None
    "the same; whole or hidden whole"
    public_engine_number: str | None
    "the same; whole or hidden whole"
    public_registration: str | None
    "as `public: registration` allows; whole or hidden whole"
    notes: tuple[Finding, ...]
    "findings that ask for nothing"
    problems: tuple[Problem, ...]
    "findings that ask the owner to look or to correct"

    def list_numbers(self) -> tuple[IdentityNumber, ...]:
        """The numbers that there are."""
        numbers = (
            (to_say("VIN"), self.vin and self.vin.text, self.public_vin),
            (to_say("HIN"), self.hin and self.hin.text, self.public_hin),
            (to_say("Chassis number"), self.chassis_number, self.public_chassis_number),
            (to_say("Engine number"), self.engine_number, self.public_engine_number),
            (to_say("Registration"), self.registration, self.public_registration),
        )
        return tuple(IdentityNumber(name=name, whole=whole, public=public) for name, whole, public in numbers if whole)


def compute_identity(log: Log) -> IdentityFigures:
    """The machine's numbers and what is wrong with them."""
    machine, public = log.settings.machine, log.settings.public
    vin = None if machine.vin is None else _read_vin(machine)
    hin = None if machine.hin is None else read_hin(machine.hin)
    return IdentityFigures(
        vin=vin,
        hin=hin,
        light_year=_find_light_year(vin, machine),
        chassis_number=machine.chassis_number,
        engine_number=machine.engine_number,
        registration=machine.registration,
        public_vin=None if vin is None else _publish(vin.text, mask_vin(vin.text), public.vin),
        public_hin=None if hin is None else _publish(hin.text, mask_hin(hin), public.vin),
        public_chassis_number=_publish_whole(machine.chassis_number, public.vin),
        public_engine_number=_publish_whole(machine.engine_number, public.vin),
        public_registration=_publish_registration(machine, public),
        notes=tuple(finding for finding in _list_findings(vin, hin) if finding.severity == "note"),
        problems=(*_list_problems(machine, vin, hin), *_check_year(machine, vin, hin)),
    )


def mask_vin(vin: str) -> str:
    """A VIN with what it shares with its whole series: positions 1–8 and 10, maker, type and model-year code.

    Hidden are the plant and the serial, and the check digit, which is computed from the serial. What is not 17
    characters has no known structure and is hidden whole.
    """
    if len(vin) != 17:
        return HIDDEN_MARK
    return f"{vin[:8]}{HIDDEN}{vin[9]}{HIDDEN * 7}"


def mask_hin(hin: HinReading) -> str:
    """A HIN without its serial: country, maker's code, and the dates at its end, which a whole series shares.

    What fits no form of 33 CFR 181.25 or (EU) 2017/1 has no known structure and is hidden whole.
    """
    if hin.serial is None:
        return HIDDEN_MARK
    # The dates at its end stay: a whole series shares them, and they are what a buyer asks first.
    start = len(hin.country or "") + len(hin.maker or "")
    return f"{hin.text[:start]}{HIDDEN * len(hin.serial)}{hin.text[start + len(hin.serial) :]}"


def mask_registration(mark: str) -> str:
    """A registration mark, hidden whole: even its length and its area code narrow an old mark down to few machines."""
    return HIDDEN_MARK if mark.strip() else ""


def _read_vin(machine: Machine) -> VinReading:
    return read_vin(machine.vin or "", market=machine.market, year=machine.year, kind=machine.kind)


def _find_light_year(vin: VinReading | None, machine: Machine) -> int | None:
    # Position 7 tells the decade of cars and light vehicles alone; on a motorcycle it would be 30 years off.
    if vin is None or not vin.well_formed or machine.kind != "road vehicle" or not _is_north_american(vin, machine):
        return None
    return choose_light_year(vin.text)


def _is_north_american(vin: VinReading, machine: Machine) -> bool:
    return machine.market == NORTH_AMERICA or (machine.market is None and vin.text[:1] in tuple("12345"))


def _publish(number: str, masked: str, rule: str) -> str | None:
    # `hidden`, and any word that the format may get later, gives nothing away.
    return {"shown": number, "masked": masked}.get(rule)


def _publish_whole(number: str | None, rule: str) -> str | None:
    return None if number is None else _publish(number, HIDDEN_MARK, rule)


def _publish_registration(machine: Machine, public: Public) -> str | None:
    mark = machine.registration
    return None if mark is None else _publish(mark, mask_registration(mark), public.registration)


def _list_findings(vin: VinReading | None, hin: HinReading | None) -> tuple[Finding, ...]:
    return (*(vin.findings if vin else ()), *(hin.findings if hin else ()))


def _list_problems(machine: Machine, vin: VinReading | None, hin: HinReading | None) -> tuple[Problem, ...]:
    found = [(machine.field_place("vin"), finding) for finding in (vin.findings if vin else ())]
    found += [(machine.field_place("hin"), finding) for finding in (hin.findings if hin else ())]
    return tuple(_make_problem(finding, place) for place, finding in found if finding.severity != "note")


def _make_problem(finding: Finding, place: Place) -> Problem:
    severity: Severity = "warning" if finding.severity == "warning" else "error"
    return Problem(rule=finding.rule, message=finding.message, place=place, help=finding.help, severity=severity)


def _check_year(machine: Machine, vin: VinReading | None, hin: HinReading | None) -> Iterator[Problem]:
    """A warning where a number tells another year than the machine's `year`, which is of its model or of its build."""
    if machine.year is None:
        return
    years = vin.model_years if vin and vin.well_formed and _is_north_american(vin, machine) else ()
    # A model year begins in the summer before, and owners write the year of build or of registration: one apart is no
    # slip.
    if years and all(abs(machine.year - year) > 1 for year in years):
        told = join_words([*map(str, years)], "or")
        message = f"the VIN's model year is {told}, but the machine's `year` is {machine.year}"
        help = "check position 10 on the plate, or correct `year:`"
        yield Problem(
            rule="vin-year", message=message, place=machine.field_place("year"), help=help, severity="warning"
        )
    # A number that contradicts itself is told already, and says no year to compare with.
    if hin is not None and hin.status == "consistent" and not _may_be(hin, machine.year):
        model = f", its model year {hin.model_year}" if hin.model_year else ""
        message = f"by its number the hull dates from {hin.year}{model}, but the machine's `year` is {machine.year}"
        help = f"check the last four characters on the plate, `{hin.text[-4:]}`, or correct `year:`"
        yield Problem(
            rule="hin-year", message=message, place=machine.field_place("year"), help=help, severity="warning"
        )


def _may_be(hin: HinReading, year: int) -> bool:
    """Whether a hull can be called of a year: that of its build or model; next to it where only one is told."""
    if hin.model_year is None:
        return hin.year is not None and abs(hin.year - year) <= 1
    return year in (hin.year, hin.model_year)
