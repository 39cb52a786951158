"""Whose words are they? The owner's are marked where a page's own words are in another language (WCAG 2.2, SC 3.1.2).

A finished text may hold both, as in `instead of Förderpumpe`. What the owner wrote goes through it between two
noncharacters, which no text can hold (The Unicode Standard, section 23.7), and comes out of the page in an element with
its `lang`. Templates know nothing of it.
"""

from __future__ import annotations

import re
from collections.abc import Callable

OPEN, CLOSE = "\ufdd0", "\ufdd1"
_MARKS = str.maketrans("", "", OPEN + CLOSE)
# A tag ends at the first `>`, since Jinja writes one inside an attribute as `&gt;`.
_TOKEN = re.compile(r"<[^>]*>|[^<]+")
_MARKED = re.compile(f"{OPEN}([^{CLOSE}]*){CLOSE}")
_ATTRIBUTES = re.compile(rf'<(?:img|meta|link)\b.*="{OPEN}[^{CLOSE}]*{CLOSE}"', re.DOTALL)
"Elements without words of their own: their language is that of an attribute which holds the owner's alone."
_PLAIN = re.compile(r"<(?:title|desc|option)\b")
"Elements that hold text alone: one language for all of it."


def mark_owner_text(text: str) -> str:
    """A text of the owner's, marked; nothing stays nothing."""
    # Marks that the owner wrote are taken out, or they could end the element early.
    plain = remove_marks(text)
    return f"{OPEN}{plain}{CLOSE}" if plain else ""


def remove_marks(text: str) -> str:
    """A text without marks."""
    return text.translate(_MARKS)


def change_owner_text(text: str, change: Callable[[str], str]) -> str:
    """A text changed in its letters; it stays marked where all of it was."""
    # Only the plain text is changed: cut between its marks, it would mark all that follows on the page.
    whole = text.startswith(OPEN) and text.find(CLOSE) == len(text) - 1
    changed = change(remove_marks(text))
    return mark_owner_text(changed) if whole else changed


def show_language(page: str, language: str) -> str:
    """A page of HTML in which each marked text stands in an element with that `lang`, and nothing is marked any more.

    An element that holds a marked text and nothing else gets the `lang` itself.
    """
    if OPEN not in page:
        return page
    # No HTML parser: it would rewrite the whole page in its own way.
    tokens = _TOKEN.findall(page)
    for at, token in enumerate(tokens):
        if OPEN in token:
            if token.startswith("<"):
                # Other elements keep theirs: a `lang` would also apply to the English words inside them.
                tokens[at] = _name_language(token, language) if _ATTRIBUTES.match(token) else token
            elif _fills(tokens, at):
                tokens[at - 1] = _name_language(tokens[at - 1], language)
            elif not _PLAIN.match(tokens[at - 1]):
                # SVG has no `span`.
                piece = "tspan" if tokens[at - 1].startswith("<text ") else "span"
                tokens[at] = _MARKED.sub(rf'<{piece} lang="{language}">\1</{piece}>', token)
    return remove_marks("".join(tokens))


def _fills(tokens: list[str], at: int) -> bool:
    """Whether marked texts are all the words between a tag and its end; numbers, and what joins them, are none."""
    before, after = tokens[at - 1], tokens[at + 1] if at + 1 < len(tokens) else ""
    name = re.match(r"<([a-z0-9]+)", before)
    # Most cells and headings hold one text, and need no `span` inside. Digits and commas belong to every language.
    return bool(name) and after == f"</{name[1]}>" and not re.search(r"[^\W\d_]", _MARKED.sub("", tokens[at]))  # type: ignore[index]


def _name_language(tag: str, language: str) -> str:
    """A tag with the `lang`; one that names a language already keeps it."""
    return tag if " lang=" in tag else re.sub(r"^<[a-z0-9]+", rf'\g<0> lang="{language}"', tag)
