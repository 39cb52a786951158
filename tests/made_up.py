"""Numbers of machines for tests, made so that they can belong to nobody, as far as one can say.

A VIN begins with its maker's code, and the first two characters of that belong to a country (ISO 3780), whose own body
gives the code out. `30` in North America and `FN` in Africa are in no country's range, so there is nobody who could
have given out a code that begins with them; `tests/outside/test_vin.py` holds that against the table of `vininfo`. A
range may still be given to a country one day.

A hull number of 14 characters begins with its country: ISO 3166-1 leaves `XX` to its users, and it is no country's. One
of 12 has the maker's code alone, out of a list of the United States Coast Guard that is not at hand: `ZZZ` only looks
made up, and is no state's code for boats that people build for themselves, which is the state's two letters and a Z.

Real numbers would be those of somebody's machine, and whoever searches for one would find our tests.
"""

from __future__ import annotations

from itertools import count

REGULATION_EXAMPLE = "1G4AH59H45G118341"
"The worked example of 49 CFR 565.15(c), Table VI: the one real maker's number that we use, as the regulation does."
IN_NORTH_AMERICA, ELSEWHERE = "30Z", "FNZ"
"How a made-up VIN begins."
TABLE_III = {
    row[0]: int(row[1])
    for row in "A1 B2 C3 D4 E5 F6 G7 H8 J1 K2 L3 M4 N5 P7 R9 S2 T3 U4 V5 W6 X7 Y8 Z9".split()
} | {str(digit): digit for digit in range(10)}  # fmt: skip
"Value of each character, 49 CFR 565.15(c); I, O and Q have none. Written out again: a test needs its own."
TABLE_IV = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
"Weight of each position; position 9 is the digit itself."


def make_vin(start: str = f"{IN_NORTH_AMERICA}GD49A", year: str = "K", digit: str | None = None) -> str:
    """A VIN whose check digit holds: maker and type (eight characters), the digit, the code of the year, the rest.

    With `digit` it is that one: serials are counted up until it comes out.
    """
    for serial in count(417):
        vin = f"{start}0{year}P{serial:06}"
        made = "0123456789X"[sum_products(vin) % 11]
        if digit in (None, made):
            break
    return change_digit(vin, made)


def sum_products(vin: str) -> int:
    """The sum of value times weight, 49 CFR 565.15(c), Table VI."""
    return sum(TABLE_III[character] * weight for character, weight in zip(vin, TABLE_IV, strict=True))


def change_digit(vin: str, digit: str) -> str:
    """The same VIN with another character in position 9."""
    return f"{vin[:8]}{digit}{vin[9:]}"
