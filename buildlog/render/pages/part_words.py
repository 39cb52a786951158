"""What is said of a part in few words: what happened to it, where it is, and how it compares with the original."""

from __future__ import annotations

from buildlog.render.pages.context import PageContext
from buildlog.text import to_say

DID = {
    "ordered": to_say("ordered"),
    "cancelled": to_say("cancelled"),
    "arrived": to_say("arrived"),
    "fitted": to_say("fitted"),
    "removed": to_say("removed"),
    "returned": to_say("sent back"),
    "sold": to_say("sold"),
    "scrapped": to_say("scrapped"),
}
"What happened, in readers' words."
DID_MANY = {
    "ordered": to_say("ordered %(qty)s"),
    "cancelled": to_say("cancelled %(qty)s"),
    "arrived": to_say("arrived %(qty)s"),
    "fitted": to_say("fitted %(qty)s"),
    "removed": to_say("removed %(qty)s"),
    "returned": to_say("sent back %(qty)s"),
    "sold": to_say("sold %(qty)s"),
    "scrapped": to_say("scrapped %(qty)s"),
}
"The same with how many."
# TRANSLATORS: what became of a part that was taken off
FATE_NAMES = {"kept": to_say("kept"), "scrapped": to_say("scrapped"), "given away": to_say("given away")}
"What became of a part that was taken off."
SPEC_NAMES = {
    # TRANSLATORS: how a part compares with what the maker fitted
    "original": to_say("original"),
    "equivalent": to_say("equivalent"),
    "upgraded": to_say("upgraded"),
    "used": to_say("used"),
    "repaired": to_say("repaired"),
}
"How a part compares with what the maker fitted."
# TRANSLATORS: how many of a part are where
ON_MACHINE, ON_SHELF, IN_POST = to_say("%(qty)s fitted"), to_say("%(qty)s on the shelf"), to_say("%(qty)s in the post")


def say_spec(context: PageContext, spec: str | None) -> str:
    """How a part compares with what the maker fitted; nothing where that is not told."""
    return context.words.say(SPEC_NAMES[spec]) if spec else ""
