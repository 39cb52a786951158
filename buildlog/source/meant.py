"""What was meant by a value that cannot be read: its remedy, held against its own kind, and the value to go on with."""

from __future__ import annotations

import re
from typing import Any

from buildlog.source.kinds import Kind, Unreadable


def find_meant(kind: Kind, text: str, help: str) -> tuple[str, Any]:
    """The remedy for a text of this kind, and what takes its place until it is mended.

    What a remedy shows is read as it would be once the owner has typed it: where that would be refused in its turn, as
    `-5` for hours, what is said of that counts. Of two readings of a number only those stay that the kind allows.
    """
    shown = re.findall("`([^`]+)`", re.split(" as in |: ", help.removeprefix(DATE_HELP))[0])
    read = [_try(kind, word) for word in shown]
    good = [(word, value) for word, (value, _) in zip(shown, read, strict=True) if value is not None]
    if good:
        is_one_of_two = len(good) == 1 < len(shown) and help.startswith("write `")
        return (f"write `{good[0][0]}`" if is_one_of_two else help), good[0][1]
    refused = next((why for _, why in read if why), "")
    return (refused if help.startswith("write `") and refused else help), kind.stand_in(text)


DATE_HELP = "write year, month, day: "


def _try(kind: Kind, text: str) -> tuple[Any, str]:
    """The value of a text, or what is said of it."""
    try:
        return kind.read(text), ""
    except Unreadable as why:
        return None, why.help
