"""Where each page stands in the site, from its top. Addresses are for good: people link to them."""

from __future__ import annotations

from buildlog.text import to_say

SECTIONS = (
    (to_say("The machine"), "index.html"),
    (to_say("Timeline"), "timeline.html"),
    (to_say("Costs"), "costs.html"),
    (to_say("Parts"), "parts.html"),
    (to_say("Faults"), "faults.html"),
    (to_say("Service history"), "service.html"),
    # TRANSLATORS: the page that shows what is sealed, and how all of it can be checked
    (to_say("Record"), "record.html"),
)
"The navigation, in the order of the pages; of a log that has nothing for one of them, `list_sections` has the rest."

PICTURES = "pictures.html"
"All photos; not `photos`, the folder in which they lie."
LISTED = "pages.html"
"Where standing pages are listed, if they are many."
TO_DO = "to-do.html"
"What is still to be done."
TORQUES = "tightening.html"
"The tightening sheet: every torque on one page."


def entry_href(name: str) -> str:
    """An entry's page."""
    return f"entries/{name}.html"


def page_href(name: str) -> str:
    """A standing page."""
    return f"pages/{name}.html"


def anchor(key: str) -> str:
    """A part's anchor on the page of parts."""
    return f"part-{key}"
