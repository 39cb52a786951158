"""What a page is given on its way to the browser: the script that follows saves, and what there is to tell.

A published page allows no connection (its policy says so first thing in its head), and the preview's has to: the policy
comes as a header instead, with what the script needs and nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape

from buildlog.frozen import frozen
from buildlog.problems import Problem, count_problems, has_errors, show_problems

POLICY = (
    "default-src 'none'; img-src 'self'; style-src 'self'; script-src 'self'; font-src 'self'; base-uri 'none'; "
    "form-action 'none'; connect-src 'self'; frame-ancestors 'none'"
)
"The published pages' own policy (Content Security Policy Level 3), one connection more, and in no other page's frame."
OWN_POLICY = re.compile(rb'<meta http-equiv="Content-Security-Policy"[^>]*>\n?', re.IGNORECASE)
SCRIPT, STYLE = "preview/live.js", "preview/live.css"
"In the site, where no page of it lies."
NOTICE = re.compile(r'<aside id="preview".*?</aside>\n', re.DOTALL)


@frozen
class Draft:
    """An entry whose day has not come."""

    title: str
    "as the owner wrote it"
    href: str
    "its page, from the top of the site"
    day: str
    "`2024-05-18`"


@frozen
class Notice:
    """What is told on a page, besides what will be published."""

    problems: tuple[Problem, ...] = ()
    "of the log as it is now"
    texts: Mapping[str, str]
    "the log's texts by path, for quoting"
    drafts: tuple[Draft, ...] = ()
    "entries of days to come, in order"
    path: str = ""
    "of the page"
    stale: bool = False
    "whether the page is of an earlier state, as nothing can be made of this one"
    note: str = ""
    "one sentence more"


def dress_page(page: bytes, notice: Notice, version: str) -> bytes:
    """The page with the preview's script, and with what there is to tell at its end."""
    head = (
        f'<link rel="stylesheet" href="/{STYLE}">\n<script src="/{SCRIPT}" data-version="{version}" defer></script>\n'
    )
    page, places = OWN_POLICY.subn(head.encode(), page, count=1)
    # A theme of the owner's may have no policy of its own, and a page that is none of ours no head.
    if not places:
        at = page.lower().find(b"<head>") + len(b"<head>") if b"<head>" in page.lower() else 0
        page = page[:at] + head.encode() + page[at:]
    at = page.rfind(b"</body>")
    end = at if at >= 0 else len(page)
    return page[:end] + show_notice(notice).encode() + page[end:]


def undress_page(page: bytes) -> str:
    """The page as it was before, but for its policy: what is left is what would be published."""
    text = re.sub(
        rf'<link rel="stylesheet" href="/{STYLE}">\n<script src="/{SCRIPT}"[^>]*></script>\n', "", page.decode()
    )
    return NOTICE.sub("", text)


def show_notice(notice: Notice) -> str:
    """The notice as HTML; nothing where there is nothing to tell."""
    own = next((draft for draft in notice.drafts if draft.href == notice.path), None)
    parts = [f"<p>{escape(notice.note)}</p>\n"] if notice.note else []
    if own:
        parts.append(f"<p><strong>Draft</strong>: dated {own.day}, and not published before that day.</p>\n")
    if notice.problems:
        parts.append(_show_problems(notice))
    others = [draft for draft in notice.drafts if draft is not own]
    if others:
        items = "".join(
            f'<li><a href="/{escape(draft.href)}">{escape(draft.title)}</a>, {draft.day}</li>\n' for draft in others
        )
        words = f"{len(others)} {'draft' if len(others) == 1 else 'drafts'}, dated after today"
        parts.append(f"<details>\n<summary>{words}</summary>\n<ul>\n{items}</ul>\n</details>\n")
    return f'<aside id="preview" aria-label="Preview">\n{"".join(parts)}</aside>\n' if parts else ""


def _show_problems(notice: Notice) -> str:
    """All problems as a terminal shows them; those that forbid publishing stand open."""
    errors = has_errors(notice.problems)
    words = count_problems(notice.problems)
    if notice.stale:
        words += ": the page is as it was before"
    # In the words of `check`, line for line: they are read in both places.
    text = escape(show_problems(notice.problems, notice.texts).rsplit("\n\n", 1)[0])
    return f"<details{' open' if errors else ''}>\n<summary>{words}</summary>\n<pre>{text}</pre>\n</details>\n"
