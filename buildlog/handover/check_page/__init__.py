"""The page that checks a bag in a browser: its parts, kept apart for people, joined into one file for whoever opens it.

The page needs nothing but itself: its policy lets it load nothing, and run and show only what stands in it. What it
asks, in which words and within which limits, is that of `findings` and `rules`; `tests/browser` holds its
verdicts against those of `verify`.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable
from pathlib import Path

from buildlog.compute.parts.deadlines import NOTICE_DAYS
from buildlog.handover.figures_json import FORMAT
from buildlog.handover.findings import FIGURED, FIRST, GONE, NEVER_TRUE, NO_RECORD, OF_FILES, QUESTIONS, SHORT_STATES
from buildlog.record.rules import MONTHS, WORDS, list_limits
from buildlog.render.theme import find_themes

HERE = Path(__file__).parent
SHARED = find_themes() / "margin" / "merkle.js"
"What an entry's page works out too. From the program's own theme, whatever a log puts in its place for its pages."
SCRIPTS = """
    findings sums canonical bag zip manifests handover codes seals figures proofs remarks verdict asks answers page
""".split()
"The parts of the script, in the order of use; each says in its first line what it is for."


def make_check_page() -> bytes:
    """The whole page."""
    style = _read("style.css")
    script = f'"use strict";\n(() => {{\n{write_script(SCRIPTS)}}})();\n'
    # By the hashes of what stands in it: words out of a bag that became a script after all would not be run.
    policy = (
        f"default-src 'none'; script-src '{name_source(script)}'; style-src '{name_source(style)}'; base-uri 'none'; "
        "form-action 'none'"
    )
    page = _read("page.html")
    for mark, text in (("POLICY", policy), ("STYLE", style), ("SCRIPT", script)):
        page = page.replace(mark, text, 1)
    return page.encode()


def write_script(parts: Iterable[str]) -> str:
    """What the page runs, with those of its own parts."""
    return "\n".join([write_shared(), SHARED.read_text(encoding="utf-8"), *(_read(f"{name}.js") for name in parts)])


def write_shared() -> str:
    """What page and tool have in common, as the first lines of the script."""
    # Handed in and not copied: a limit or a word that is another there would make two verdicts of one bag.
    shared = {
        "QUESTIONS": QUESTIONS,
        "FIRST": sorted(FIRST),
        "FIGURES_FORMAT": FORMAT,
        "NOTICE_DAYS": NOTICE_DAYS,
        "WORDS": dict(WORDS),
    }
    shared |= {"GONE": GONE, "NEVER_TRUE": NEVER_TRUE, "NO_RECORD": NO_RECORD, "OF_FILES": OF_FILES}
    shared |= {"FIGURED": FIGURED, "SHORT_STATES": dict(SHORT_STATES), "MONTHS": MONTHS}
    shared |= list_limits()
    return "".join(f"const {name} = {json.dumps(value)};\n" for name, value in shared.items())


def _read(name: str) -> str:
    return (HERE / name).read_text(encoding="utf-8")


def name_source(text: str) -> str:
    """How a policy names an element that may stand in the page (CSP Level 3, section 2.3.1)."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
