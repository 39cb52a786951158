"""What an owner chooses from, or the figures decide on, as pages say it: specs, fates, kinds of machine, states.

In the log these are words of English, whatever its language; on a page they are the page's words.
"""

from __future__ import annotations

from buildlog.render.language import Words
from buildlog.text import to_say

CHOICES = {
    # of a part, against what the maker fitted
    # TRANSLATORS: of a part: the machine's own
    "original": to_say("original"),
    "equivalent": to_say("equivalent"),
    "upgraded": to_say("upgraded"),
    # TRANSLATORS: of a part: bought second-hand
    "used": to_say("used"),
    "repaired": to_say("repaired"),
    # of a part that came off
    # TRANSLATORS: of a part that came off
    "kept": to_say("kept"),
    "scrapped": to_say("scrapped"),
    "given away": to_say("given away"),
    # of a machine
    "road vehicle": to_say("road vehicle"),
    "motorcycle": to_say("motorcycle"),
    "boat": to_say("boat"),
    "tractor": to_say("tractor"),
    "aircraft": to_say("aircraft"),
    "trailer": to_say("trailer"),
    # why there is no tax on a line
    "zero rate": to_say("zero rate"),
    "exempt": to_say("exempt"),
    "reverse charge": to_say("reverse charge"),
    "within the EU": to_say("within the EU"),
    # TRANSLATORS: why there is no tax: sold abroad
    "export": to_say("export"),
    "outside the tax": to_say("outside the tax"),
    # of what falls due
    "overdue": to_say("overdue"),
    # TRANSLATORS: of service: to be done now
    "due": to_say("due"),
    "history unknown": to_say("history unknown"),
    # TRANSLATORS: of service: not due yet
    "later": to_say("later"),
    # of what was to be done
    "done": to_say("done"),
    # TRANSLATORS: of what was to be done: given up
    "dropped": to_say("dropped"),
}


def say_choice(words: Words, choice: str | None) -> str:
    """One of them as pages say it; nothing for none."""
    return words.say(CHOICES[choice]) if choice else ""
