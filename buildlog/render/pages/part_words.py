"""What is said of a part in few words: what happened to it, and how many of it are where."""

from __future__ import annotations

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
# TRANSLATORS: how many of a part are where
ON_MACHINE, ON_SHELF, IN_POST = to_say("%(qty)s fitted"), to_say("%(qty)s on the shelf"), to_say("%(qty)s in the post")
