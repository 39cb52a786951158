"""Logs that nobody wrote in good faith, by the name of what is hostile in them: texts of an entry and of `log.yaml`."""

from __future__ import annotations

from collections.abc import Callable

HEAD = "date: 2024-05-18\ntitle: Lift pump\n"
START = "machine: {name: Test machine, meter: {unit: km, digits: 6}}\nmoney: {currency: GBP}\nsystems: {fuel: Fuel}\n"
Make = Callable[[], str]


def entry(head: str, story: str = "") -> str:
    return f"---\n{HEAD}{head}\n---\n{story}"


def rows(pattern: str, count: int) -> str:
    return "".join(pattern.replace("#", str(number)) for number in range(count))


VALUES = {
    "a number of a million digits": "9" * 1_000_000,
    "a number of five thousand digits": "9" * 5_000,
    "a number with a million decimals": "0." + "1" * 1_000_000,
    "a number with an exponent": "1e999999999",
    "a number with a negative exponent": "1e-999999999",
    "infinity": ".inf",
    "no number": ".nan",
    "minus zero": "-0",
    "a number below zero": "-99999999999999999999",
    "digits of another script": "١٢٣",
    "full-width digits": "１２",
    "a fraction": "1/0",
    "a hexadecimal number": "0x" + "F" * 1000,
    "an octal number": "0o" + "7" * 1000,
    "a sexagesimal number": "1:" * 5000 + "1",
    "commas between thousands without end": "1,111" * 2000,
    "a text of a megabyte": "a " * 500_000,
    "quotes without end": "'" * 9_999,
    "backslashes": "\\" * 9_999,
    "a tag of Python": "!!python/object/apply:os.system ['true']",
    "a binary tag": "!!binary aGVsbG8=",
    "a set": "!!set {a, b}",
    "a tag of a megabyte": "!" + "t" * 1_000_000 + " x",
    "an alias to nothing": "*nowhere",
    "an alias to itself": "&a [*a]",
    "a merge key": "{<<: {a: 1}}",
    "an anchor of a megabyte": "&" + "a" * 1_000_000 + " x",
    "brackets that never close": "[" * 100_000,
    "braces that never close": "{" * 100_000,
    "braces with a key each": "{a: " * 50_000,
    "brackets that close": "[" * 5_000 + "]" * 5_000,
    "closing brackets": "]" * 100_000,
    "commas in brackets": "[" + "," * 100_000 + "]",
    "question marks": "{" + "? " * 50_000 + "}",
    "empty braces in a list": "[" + "{}," * 100_000 + "]",
    "ten thousand texts in a list": "[" + "a," * 10_000 + "]",
    "a key that is a list": "{[a, b]: c}",
    "a key that is a block": "{{a: b}: c}",
    "bidirectional overrides": "a\u202eb\u2066c\u2069",
    "invisible joiners": "a\u200b\u200c\u200d\ufeffb",
    "combining marks": "a" + "\u0301" * 9_000,
    "a lone surrogate": "a\ud800b",
    "a zero byte": "a\0b",
    "an escape sequence of a terminal": "\x1b]0;x\x07\x1b[2J",
    "an escaped escape sequence": '"\\x1b[2J\\u202e\\0"',
    "a line separator": "a\u2028b\u2029c\x85d",
    "a character beyond Unicode's own": "a\uffff\ufffe",
    "an escape beyond Unicode": '"\\UFFFFFFFF"',
    "markup": "<script>alert(1)</script>",
    "a template": "{{ config.__class__ }}",
    "a folder above": "../../../../etc/passwd",
    "a folded text": ">\n" + "  a\n" * 100_000,
    "a kept text": "|+9\n" + " " * 100_000,
    "a reserved sign": "@" * 1000,
    "a percent sign": "%YAML 9.9",
}  # fmt: skip
"Each is tried as the value of keys that want a date, a number, a name, a list and a block."

HEADS: dict[str, Make] = {
    "a million keys": lambda: rows("k#: 1\n", 150_000),
    "a thousand unknown keys": lambda: rows("hour#: 1\n", 900),
    "one key a thousand times": lambda: "hours: 1\n" * 900,
    "one key of a megabyte": lambda: "a" * 1_000_000 + ": 1",
    "blocks a hundred deep": lambda: "".join(f"{' ' * depth}a:\n" for depth in range(100)),
    "lists a thousand deep": lambda: "- " * 1_000,
    "aliases that would grow to a billion": lambda: "".join(
        f"k{n}: &k{n} [{', '.join([f'*k{n - 1}'] * 9) if n else 'x'}]\n" for n in range(10)
    ),
    "tabs": lambda: "\thours: 1\n" * 1000,
    "comments alone": lambda: "# " + "x" * 150_000,
    "a comment sign in each of many texts": lambda: "next: [" + "a b, " * 900 + "c #d]",
    "a thousand document starts": lambda: "--- \n" * 1000,
    "a document end": lambda: "...\nmore: 1",
    "a directive": lambda: "%TAG ! tag:x,2000:\n---\na: 1",
    "a date of the year 0": lambda: "bought: {from: A, ordered: 0000-01-01, lines: []}",
    "a date of the year 9999": lambda: "bought: {from: A, ordered: 9999-12-31, lines: [{what: x, each: 1}]}",
    "a day that is not": lambda: "bought: {from: A, ordered: 2023-02-29, lines: []}",
    "a quantity without end": lambda: "bought: {from: A, lines: [{what: x, qty: 99999999999999999999, each: 9}]}",
    "a quantity of nearly nothing": lambda: "bought: {from: A, lines: [{what: x, qty: 0.000000000001, each: 1}]}",
    "a rate of nearly nothing": lambda: "bought: {from: A, currency: EUR, rate: 0.00001, lines: [{what: x, each: 1}]}",
    "a reading at the end of counting": lambda: "reading: 999999999999999999",
    "hours without end": lambda: "hours: 99999999999999999",
    "a thousand orders with one number": lambda: "bought:\n"
    + rows("- {from: A, ref: R, lines: [{what: x, each: 1}]}\n", 450),
    "a thousand numbers that replace each other": lambda: "bought: {from: A, lines: [\n"
    + ",\n".join(f"{{number: N{n}, replaces_number: N{(n - 1) % 900}, each: 1}}" for n in range(900)) + "]}",
    "a thousand parts that nobody bought": lambda: "fitted: [" + rows("patr#, ", 900) + "x]",
    "a thousand suspects that nobody knows": lambda: "faults: {fault: f, name: F, suspects: ["
    + rows("c#, ", 900) + "x]}",
    "one suspect a thousand times": lambda: "faults: {fault: f, name: F, suspects: [" + "fuel, " * 900 + "x]}",
    "a thousand pictures that are not there": lambda: "photos:\n" + rows("- {file: a#.jpg, says: x}\n", 900),
    "boxes outside of a picture": lambda: "photos: [{file: a.jpg, hide: [[-1, -1, 9, 9], [1, 1, 0, 0]]}]",
    "a paper in the root": lambda: "bought: {from: A, paper: /etc/passwd, lines: [{what: x, each: 1}]}",
    "a thousand measured values": lambda: "measured: {what: C, unit: bar, values: {" + rows("v#: 1, ", 900) + "x: 1}}",
    "limits the wrong way round": lambda: "measured: {what: C, unit: bar, values: {1: 1}, limits: {min: 9, max: 1}}",
    "a torque in an unknown unit": lambda: "tightened: [{what: B, to: 22 " + "N" * 1000 + "}]",
}  # fmt: skip

STORIES: dict[str, Make] = {
    "links without end": lambda: "[a](http://b)" * 2_000,
    "twenty thousand links in one paragraph": lambda: "[](a)" * 20_000,
    "dead links, each another": lambda: rows("[a](b#.md) ", 1_500),
    "refused links, each another": lambda: rows("[a](javascript:#) ", 1_000),
    "pictures that are not there": lambda: rows("![a](b#.jpg)\n\n", 1_200),
    "opening brackets": lambda: "[" * 8_000,
    "opening pictures": lambda: "![" * 6_000,
    "links without a target": lambda: "[](" * 6_000,
    "emphasis that never closes": lambda: "**a" * 6_000,
    "strikethrough that never closes": lambda: "~~a" * 6_000,
    "backquotes of every length": lambda: "".join("`" * n + " " for n in range(200)),
    "quotes inside quotes": lambda: "> " * 12_000 + "a",
    "lists inside lists": lambda: "".join("  " * n + "- a\n" for n in range(150)),
    "a table with more columns than rows": lambda: "|a" * 60 + "|\n" + "|-" * 60 + "|\n" + "b|\n" * 250,
    "tables": lambda: "|a|b|\n|-|-|\n" + "|c|d|\n" * 3_000,
    "definitions of links": lambda: rows("[r#]: http://x\n", 1_200),
    "references to definitions": lambda: "[r]: http://x\n\n" + "[r]" * 6_000,
    "entities": lambda: "&amp;&#x202e;&#0;" * 2_000,
    "angle brackets": lambda: "<a " * 6_000,
    "comments of HTML": lambda: "<!-- " * 3_000,
    "a story of a megabyte": lambda: "a\n" * 500_000,
    "one word of two hundred thousand letters": lambda: "a" * 191_200,
    "a heading with spaces": lambda: "# a" + " " * 112_000 + "b",
    "bidirectional text": lambda: "\u202e\u2066[a](\u202ehttp://b)" * 1_000,
}

SETTINGS: dict[str, Make] = {
    "strip-downs in a chain": lambda: START + "strip_downs:\n" + rows("  s#: {name: S, hours: 1, after: [s0]}\n", 900),
    "strip-downs in a circle": lambda: START
    + "strip_downs:\n" + "".join(f"  s{n}: {{name: S, hours: 1, after: [s{(n + 1) % 200}]}}\n" for n in range(200)),
    "components that drive each other": lambda: START
    + "components:\n" + "".join(f"  c{n}: {{system: fuel, driven_by: c{(n + 1) % 900}}}\n" for n in range(900)),
    "ten thousand systems": lambda: START.replace("fuel: Fuel", ", ".join(f"s{n}: S" for n in range(10_000))),
    "an interval of no time": lambda: START + "service: {oil: {name: O, every: {months: 0, distance: 0}}}",
    "an interval of all time": lambda: START + "service: {oil: {name: O, every: {months: 999999999999, distance: 9}}}",
    "a meter of a thousand digits": lambda: START.replace("digits: 6", "digits: 1000"),
    "a meter of no digits": lambda: START.replace("digits: 6", "digits: 0"),
    "a currency that is none": lambda: START.replace("GBP", "X" * 5_000),
    "an hour rate without end": lambda: START.replace("currency: GBP", "currency: GBP, hour_rate: " + "9" * 5_000),
    "a theme in the root": lambda: START + "site: {theme: /etc}",
    "an address that is code": lambda: START + "site: {address: 'javascript:alert(1)'}",
    "a language that is none": lambda: START + "site: {language: " + "x-" * 4_000 + "y}",
    "a year before all machines": lambda: START.replace("name: Test machine", "name: Test machine, year: -99999"),
    "a VIN of a thousand letters": lambda: START.replace("name: Test machine", "name: Test machine, vin: "
    + "A" * 1000),
    "a history of a thousand years": lambda: START
    + "history:\n" + rows("- {date: 1999-01-01, what: x, reading: #}\n", 900),
    "nothing but nulls": lambda: "machine: ~\nmoney: ~\nsystems: ~\n",
    "a list": lambda: "- a\n" * 100,
    "one word": lambda: "machine",
    "a megabyte of comments": lambda: "#\n" * 500_000 + START,
}  # fmt: skip

KEYS = ("hours", "title", "next", "bought", "tightened")


def list_entries() -> dict[str, Make]:
    """An entry for each way to be hostile."""
    found: dict[str, Make] = {}
    for name, value in VALUES.items():
        found[name] = lambda value=value: entry("\n".join(f"{key}: {value}" for key in KEYS if key != "title"))  # type: ignore[misc]
        found[f"{name}, as date and title"] = lambda value=value: f"---\ndate: {value}\ntitle: {value}\n---\n"  # type: ignore[misc]
    found |= {name: lambda make=make: entry(make()) for name, make in HEADS.items()}  # type: ignore[misc]
    return found | {name: lambda make=make: entry("", make()) for name, make in STORIES.items()}  # type: ignore[misc]


ENTRIES = list_entries()
