"""What is an amount of money, how is it rounded, and how is it shared so that the shares add up to it exactly?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache
from math import lcm
from operator import add, sub

from buildlog.arithmetic import EXACT, round_half_up, round_to_units
from buildlog.frozen import frozen_pair

ZERO = Decimal(0)
USUAL_DIGITS = 2
"Decimals of most currencies."

OTHER_DIGITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
"ISO 4217 list one, 2026-01-01: the currencies with other than two decimals."

CURRENT = frozenset(
    """
    AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BHD BIF BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE CHF CHW
    CLF CLP CNY COP COU CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL
    HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA
    MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD
    RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD
    USN UYI UYU UYW UZS VED VES VND VUV WST XAD XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
    """.split()
)
"ISO 4217 list one, 2026-01-01, without the codes that have no minor unit: metals, units of account, tests."

WITHDRAWN_DIGITS = {
    0: "BYR ESP ITL LUF MRO TRL",
    2: """
       ANG ATS AZM BEF BGL BGN BYB CUC CYP CSD DEM EEK FIM FRF GHC GRD HRK IEP LTL LVL MTL MZM NLG PTE ROL RUR SDD SIT
       SKK SLL SRG STD TMM VEB VEF YUM ZMK ZWL
       """,
}
"Withdrawn since 1990. The decimals are those that its invoices show; two where no source says otherwise."

_WITHDRAWN = {code: digits for digits, codes in WITHDRAWN_DIGITS.items() for code in codes.split()}
_DIGITS = _WITHDRAWN | {code: digits for digits, codes in OTHER_DIGITS.items() for code in codes.split()}

CURRENCIES = CURRENT | _WITHDRAWN.keys()
"Every code that an order may carry."


def is_currency(code: str) -> bool:
    """Whether ISO 4217 gives or gave the three letters to a currency that can be paid with."""
    return code in CURRENCIES


def minor_digits(currency: str) -> int:
    """Decimals of a currency's smallest unit; of an unknown one, two."""
    return _DIGITS.get(currency, USUAL_DIGITS)


__all__ = [
    "Column", "Money", "follow_signs", "is_currency", "minor_digits", "round_column", "round_to_minor_unit", "share",
    "share_by_value", "spread", "sum_money",
]  # fmt: skip


@frozen_pair
class Money:
    """An exact amount in one currency: to add or compare two of different currencies is an error.

    It is true where it is not zero. A bare number is never added, as nobody knows its currency.
    """

    amount: Decimal
    "in the currency's main unit, rounded only where a rule says so"
    currency: str
    "ISO 4217 code"

    # No `__radd__`: `sum` begins with a bare 0, and of nothing it would give that 0, without a currency. No `__mul__`
    # either: what is multiplied by a rate has to be rounded, and may be in another currency then.
    def __add__(self, other: Money) -> Money:
        return Money(EXACT.add(self.amount, self._match(other)), self.currency)

    def __sub__(self, other: Money) -> Money:
        return Money(EXACT.subtract(self.amount, self._match(other)), self.currency)

    def __neg__(self) -> Money:
        return Money(EXACT.minus(self.amount), self.currency)

    def __abs__(self) -> Money:
        return Money(EXACT.abs(self.amount), self.currency)

    def __bool__(self) -> bool:
        return bool(self.amount)

    def __lt__(self, other: Money) -> bool:
        return self.amount < self._match(other)

    def __le__(self, other: Money) -> bool:
        return self.amount <= self._match(other)

    def __gt__(self, other: Money) -> bool:
        return self.amount > self._match(other)

    def __ge__(self, other: Money) -> bool:
        return self.amount >= self._match(other)

    def __str__(self) -> str:
        return f"{self.amount:f} {self.currency}"

    def _match(self, other: Money) -> Decimal:
        """The other's amount, where its currency is this one."""
        # Said here and not left to Python by `NotImplemented`: a message with both amounts finds the slip.
        if not isinstance(other, Money):
            raise TypeError(f"{other} says no currency, and cannot be told from {self}")
        if other.currency != self.currency:
            raise ValueError(f"{other} is not in {self.currency}")
        return other.amount


def sum_money(amounts: Iterable[Money], currency: str) -> Money:
    """The exact sum of amounts that are all in one currency, which is that of no amount at all as well.

    Raises `ValueError` where one is in another.
    """
    total, add = ZERO, EXACT.add
    for each in amounts:
        if each.currency != currency:
            raise ValueError(f"{each} is not in {currency}")
        total = add(total, each.amount)
    return Money(total, currency)


def round_to_minor_unit(amount: Decimal | Fraction, currency: str) -> Money:
    """The amount in whole minor units of its currency (ISO 4217), rounded half up: the one way to round money."""
    return Money(round_half_up(amount, minor_digits(currency)), currency)


@frozen_pair
class Column:
    """Amounts in one currency, one for each of some lines, in whole minor units.

    Added and shared as whole numbers, which leave nothing to round: as amounts, an order of three lines takes twice as
    long. To add columns of different currencies is an error, as with amounts.
    """

    units: tuple[int, ...]
    "in the order of the lines"
    currency: str
    "ISO 4217 code"

    def __add__(self, other: Column) -> Column:
        return Column(tuple(map(add, self.units, self._match(other))), self.currency)

    def __sub__(self, other: Column) -> Column:
        return Column(tuple(map(sub, self.units, self._match(other))), self.currency)

    def as_money(self) -> tuple[Money, ...]:
        """Each amount by itself."""
        kept = _keep(self.currency)
        return tuple([kept[units] for units in self.units])

    def total(self) -> Money:
        """The sum of the amounts."""
        return _keep(self.currency)[sum(self.units)] if self.units else sum_money((), self.currency)

    def pick(self, rows: Iterable[int]) -> Column:
        """The amounts of some of the lines."""
        return Column(tuple([self.units[row] for row in rows]), self.currency)

    def _match(self, other: Column) -> tuple[int, ...]:
        if other.currency != self.currency or len(other.units) != len(self.units):
            raise ValueError(f"{other} is no column beside {self}")
        return other.units


class _Kept(dict[int, Money]):
    """Amounts in one currency by their minor units.

    Kept, as most amounts of an order are zero or stand in several of its columns: making them anew took half of landing
    it.
    """

    def __init__(self, currency: str) -> None:
        super().__init__()
        self.currency, self.digits = currency, minor_digits(currency)

    def __missing__(self, units: int) -> Money:
        if len(self) == MOST_KEPT:
            self.clear()
        amount = self[units] = Money(EXACT.scaleb(Decimal(units), -self.digits), self.currency)
        return amount


MOST_KEPT = 10_000
"Amounts of a currency that are kept at a time, in two megabytes."
_keep = cache(_Kept)


def round_column(amounts: Iterable[Decimal | Fraction | None], currency: str) -> Column:
    """Each amount rounded as `round_to_minor_unit` does it; None is nothing."""
    digits = minor_digits(currency)
    return Column(tuple([round_to_units(amount, digits) if amount else 0 for amount in amounts]), currency)


Weights = Sequence[Decimal | int]
"Only their proportion counts."


def share(amount: Money, weights: Weights) -> Column:
    """The amount in shares by weight, one for each weight, each in whole minor units of its currency.

    A weight may be negative (a line that takes something off), and then so is its share. A negative amount shares as
    the mirror image of the positive one. Raises `ValueError` where the amount is no whole number of units, or where
    there is an amount to share and the weights add up to zero.
    """
    # Whole minor units from here on: integers share without anything to round.
    units = _to_units(amount)
    if units == 0:
        return Column((0,) * len(weights), amount.currency)
    parts = _to_whole_numbers(weights)
    total = sum(parts)
    if total == 0:
        raise ValueError("weights that add up to zero share nothing")
    if total < 0:
        # A credit note has all its lines below zero, and shares as the invoice does that it takes back.
        parts, total = [-part for part in parts], -total
    shares = _apportion(abs(units), parts, total)
    return Column(tuple(shares if units > 0 else [-units for units in shares]), amount.currency)


def share_by_value(amount: Money, values: Weights, quantities: Weights) -> Column:
    """The amount shared by value; where every value is zero, by quantity; where those are zero too, evenly.

    A value below zero (a price taken off) takes no share. Raises `ValueError` as `share` does, and where there is an
    amount and no line.
    """
    if not amount:
        return Column((0,) * len(values), amount.currency)
    if len(values) == 1:
        return Column((_to_units(amount),), amount.currency)
    for weights in (values, quantities):
        # A price taken off shrinks what is to pay; the post carries nothing for it.
        above = [weight if weight > 0 else 0 for weight in weights]
        if any(above):
            return share(amount, above)
    return share(amount, [1] * len(values))


def follow_signs(amount: Money, weights: Column, quantities: Weights) -> Column:
    """Shares in which a line below zero takes its share off, where the weights leave something of the amount's sign."""
    # Weights that come to nothing share nothing, and against the sign of the whole a line that costs would be credited:
    # then the lines above zero bear it all.
    if amount.amount * sum(weights.units) > 0:
        return share(amount, weights.units)
    return spread(amount, weights, quantities)


def spread(amount: Money, values: Column, quantities: Weights) -> Column:
    """The amount over lines by their values, whatever currency those are in; nothing where there is no line."""
    # An order without lines has nowhere to put an amount, which is told elsewhere; `share_by_value` would raise.
    return share_by_value(amount, values.units, quantities) if values.units else Column((), amount.currency)


def _apportion(units: int, parts: Sequence[int], total: int) -> list[int]:
    shares = [units * part // total for part in parts]
    left = units - sum(shares)
    if left:
        rests = [units * part % total for part in parts]
        # `sorted` keeps the order of equals, so that a tie goes to the earlier line on every machine.
        for n in sorted(range(len(parts)), key=rests.__getitem__, reverse=True)[:left]:
            shares[n] += 1
    return shares


def _to_units(amount: Money) -> int:
    digits = minor_digits(amount.currency)
    units = EXACT.scaleb(amount.amount, digits)
    whole = int(units)
    if units != whole:
        raise ValueError(f"{amount} has more than {digits} decimals")
    return whole


def _to_whole_numbers(weights: Weights) -> list[int]:
    """The weights as integers in the same proportion."""
    # As minor units are, which nearly all weights are.
    if {*map(type, weights)} == {int}:
        return [int(weight) for weight in weights]
    # Weights may have more decimals than the currency, as a price of 0.335 has; only their proportion counts.
    ratios = [weight.as_integer_ratio() for weight in weights]
    scale = lcm(*[denominator for _, denominator in ratios])
    return [numerator * (scale // denominator) for numerator, denominator in ratios]
