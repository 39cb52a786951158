"""The machine's numbers in a log: places, severities, and what readers may see."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.identity.identity import (
    HIDDEN,
    HIDDEN_MARK,
    IdentityFigures,
    compute_identity,
    mask_hin,
    mask_registration,
    mask_vin,
)
from buildlog.compute.identity.numbers import read_hin
from buildlog.problems import Problem
from tests.made_up import ELSEWHERE, IN_NORTH_AMERICA, REGULATION_EXAMPLE, change_digit, make_vin
from tests.support import log_of

X_HOLDS = make_vin(digit="X")


def identity_of(machine: str, public: str = "{}") -> IdentityFigures:
    settings = f"machine: {{name: Test machine, {machine}}}\nmoney: {{currency: GBP}}\npublic: {public}\n"
    return compute_identity(log_of("date: 2024-01-01", settings=settings))


def rules(problems: tuple[Problem, ...]) -> list[tuple[str, str]]:
    return [(problem.rule, problem.severity) for problem in problems]


def test_failing_digit_has_its_place() -> None:
    """A North American VIN with a failing digit is an error at the VIN in `log.yaml`."""
    figures = identity_of(f"vin: {change_digit(X_HOLDS, '1')}")
    assert rules(figures.problems) == [("vin-check-digit", "error")]
    assert str(figures.problems[0].place) == "log.yaml:1:36"
    assert figures.notes == ()


def test_failing_digit_elsewhere_is_a_note() -> None:
    """Outside North America a failing digit is no problem, not even under `--strict`; it is a note."""
    figures = identity_of(f"vin: {change_digit(make_vin(f'{ELSEWHERE}ZZZ99'), 'Z')}")
    assert figures.problems == ()
    assert [note.rule for note in figures.notes] == ["vin-check-digit"]


def test_year_of_a_north_american_vin() -> None:
    """The code `K` in position 10 is 1989 or 2019; a stated year more than one off is a warning."""
    assert identity_of(f"vin: {X_HOLDS}, year: 1988").problems == ()
    figures = identity_of(f"vin: {X_HOLDS}, year: 1992")
    assert rules(figures.problems) == [("vin-year", "warning")]


def test_light_year_only_where_the_rule_is() -> None:
    """Position 7 chooses the year of a North American road vehicle only."""
    vin = make_vin(f"{IN_NORTH_AMERICA}CM826", "3")
    assert identity_of(f"kind: road vehicle, vin: {vin}").light_year == 2003
    assert identity_of(f"kind: motorcycle, vin: {vin}").light_year is None
    assert identity_of(f"kind: road vehicle, market: elsewhere, vin: {vin}").light_year is None


def test_hull_number() -> None:
    """A HIN with dates that contradict each other is a warning; one that fits no form is an error."""
    assert rules(identity_of("kind: boat, hin: XX-ZZZ00042-A3-99").problems) == [("hin-dates", "warning")]
    assert rules(identity_of("kind: boat, hin: XX-ZZZ").problems) == [("hin-form", "error")]


@pytest.mark.parametrize(
    ("hin", "year", "doubted"),
    [
        ("ZZZ12345L495", 1995, False),  # built in December 1994 for model year 1995
        ("ZZZ12345L495", 1994, False),
        ("ZZZ12345L495", 1996, True),
        ("XX-ZZZ00042-A3-03", 2004, True),
        ("ZZZ000420882", 1983, False),  # August 1982, and no model year: the next one may be meant
        ("ZZZ000420882", 1984, True),
        ("XX-ZZZ00042-A3-99", 2010, False),  # its own dates are inconsistent, which is told
    ],
)
def test_year_of_a_hull(hin: str, year: int, doubted: bool) -> None:
    """A hull number that tells another year of build and of model than `year:` is a warning at the year."""
    found = [p for p in identity_of(f"kind: boat, hin: {hin}, year: {year}").problems if p.rule == "hin-year"]
    assert [(problem.severity, problem.place.line) for problem in found] == ([("warning", 1)] if doubted else [])


@pytest.mark.parametrize("kind", ["boat", "trailer", "tractor", "aircraft", "other"])
def test_a_vin_of_another_length_is_a_warning(kind: str) -> None:
    """Where a machine need not have a VIN, a number of another length under `vin:` is kept, and asked about."""
    (problem,) = identity_of(f"kind: {kind}, vin: SWB1234, year: 1990").problems
    assert (problem.rule, problem.severity) == ("vin-as-stamped", "warning")
    assert problem.message == "`SWB1234` is kept as stamped: it has 7 characters, but a VIN has 17"
    assert ("`hin:`" in problem.help) is (kind == "boat")
    assert identity_of(f"kind: {kind}, vin: SWB1234, year: 1962").problems == ()


def test_chassis_number_as_stamped() -> None:
    """A chassis number from before 1981 is kept as stamped, spaces and dashes included, and never judged."""
    figures = identity_of('year: 1962, chassis_number: "SWB 104-2 / 17"')
    assert (figures.chassis_number, figures.problems, figures.notes) == ("SWB 104-2 / 17", (), ())


@pytest.mark.parametrize(
    ("vin", "shown"),
    [(REGULATION_EXAMPLE, "1G4AH59H•5•••••••"), ("SWB1234", HIDDEN_MARK)],
)
def test_masked_vin(vin: str, shown: str) -> None:
    """Positions 1–8 and 10 are shared by a whole series; plant, serial and the digit computed from it are hidden."""
    assert mask_vin(vin) == shown


def test_masked_vins_of_a_series_are_alike() -> None:
    """Two machines of one series and year cannot be told apart by their masked VINs."""
    one, other = make_vin(digit="4"), make_vin(digit="9")
    assert one != other
    assert mask_vin(one) == mask_vin(other)


@pytest.mark.parametrize(
    ("hin", "shown"),
    [
        ("ZZZ12345L495", "ZZZ•••••L495"),
        ("US-ZZZ12345L495", "ZZZ•••••L495"),
        ("XX-ZZZ00042-A3-99", "XXZZZ•••••A399"),
        ("ZZZ00042M82H", "ZZZ•••••M82H"),
        ("ZZZ000420882", "ZZZ•••••0882"),
        ("ZZZ-42", HIDDEN_MARK),
        ("ABCDEFGHIJKLMN", HIDDEN_MARK),
    ],
)
def test_masked_hin(hin: str, shown: str) -> None:
    """Country, maker and dates are shown, the serial alone is hidden; what fits no form is hidden whole."""
    assert mask_hin(read_hin(hin)) == shown


SERIAL = st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=5, max_size=5)


@given(SERIAL, SERIAL, st.sampled_from(["{}L495", "{}M82H", "{}0882", "XX-{}-A3-03"]))
def test_masked_hins_of_a_series_are_alike(one: str, other: str, shape: str) -> None:
    """Two hulls of one yard, month and model cannot be told apart by their masked numbers, and nothing else is lost."""
    hins = [read_hin(shape.format(f"ZZZ{serial}")) for serial in (one, other)]
    assert mask_hin(hins[0]) == mask_hin(hins[1])
    assert mask_hin(hins[0]).replace(HIDDEN * 5, one) == hins[0].text


def test_masked_registration() -> None:
    """A registration mark is hidden whole, its length included."""
    assert mask_registration("A 1") == mask_registration("AB12 CDE") == HIDDEN_MARK


def test_private_unless_opened() -> None:
    """Without `public:` VIN and registration are masked, chassis and engine number hidden behind a mark."""
    numbers = f"vin: {REGULATION_EXAMPLE}, registration: AB12 CDE, engine_number: E-77, chassis_number: C-5"
    figures = identity_of(numbers)
    assert figures.public_vin == "1G4AH59H•5•••••••"
    assert figures.public_registration == figures.public_engine_number == figures.public_chassis_number == HIDDEN_MARK
    opened = identity_of(numbers, "{vin: shown, registration: shown}")
    assert (opened.public_vin, opened.public_registration) == (REGULATION_EXAMPLE, "AB12 CDE")
    assert opened.public_engine_number == "E-77"
    hidden = identity_of(numbers, "{vin: hidden, registration: hidden}")
    assert (hidden.public_vin, hidden.public_registration, hidden.public_engine_number) == (None, None, None)
