"""How an entry's story becomes HTML that cannot do harm.

markdown-it-py reads CommonMark 0.31 with tables and strikethrough; what is decided here is what may come out: no raw
HTML, links only to where a reader can go, pictures only from the entry's own photo folder, headings below the page's
own. How a picture is marked up is the theme's business: it comes in, one function a file.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from urllib.parse import unquote

from markdown_it import MarkdownIt
from markdown_it.token import Token

from buildlog.frozen import frozen
from buildlog.paths import compose
from buildlog.problems import Place, Problem, Severity, suggest

ShowPhoto = Callable[[str], str]
"From alternative text (empty: none was given) to one picture as phrasing content, already safe HTML."

# A list of bad schemes would never be complete: besides `javascript:` and `data:`, every program may add its own.
OUTSIDE = re.compile(r"(?:https?://[^/]|mailto:[^/]|tel:[+0-9])", re.IGNORECASE)
"How a link that leaves the site begins. What is neither that nor an entry is refused: the list is of good schemes."

BESIDE = re.compile(r"\A(?:\.\./)?(?:entries|pages)/")
"The way from one file of the log to another."

MOST_TOLD = 100
"Problems of one rule that are reported of one story: more would hide those of all others."

ALIGNMENTS = {"text-align:left": "left", "text-align:right": "right", "text-align:center": "centre"}
"The parser's inline styles, which a strict content security policy blocks, and the class that stands for each."


@frozen
class Story:
    """One story, ready for a page."""

    html: str
    "blocks of HTML; headings start at `h2`, nothing carries an id"
    lead: str
    "the first paragraph as plain text, for the feed and for descriptions"
    words: str
    "all that it says as plain text, for the search; the same whether its pictures are shown or not"
    photos: tuple[str, ...]
    "file names of the pictures shown in it, in order, once each"
    problems: tuple[Problem, ...]
    "pictures that are not there (errors), links that lead nowhere or might do harm (warnings)"


def _make_parser() -> MarkdownIt:
    # Raw HTML is shown as plain text: letting some of it through would need a filter that never makes a mistake.
    parser = MarkdownIt("commonmark", {"html": False, "xhtmlOut": False}).enable(["table", "strikethrough"])
    parser.validateLink = lambda url: True  # type: ignore[method-assign]  # refused in _Pass, where it can be reported
    return parser


PARSER = _make_parser()
"Made once: it keeps nothing between two stories."


def render_story(
    text: str,
    *,
    place: Place,
    photos: Mapping[str, ShowPhoto],
    pages: Mapping[str, str] | None = None,
    whose: str = "entry",
) -> Story:
    """The story as HTML, with everything in it that cannot be shown as it was written.

    `place` is where the text starts in the owner's file; `photos` maps the file names of the entry's photo folder to
    their markup; `pages` maps the names of entries and standing pages to addresses, so that
    `[before](2024-03-09-brake-pipes.md)` works. `whose` is what messages call that which tells the story.
    """
    # The tokens are cleaned, not the HTML: nothing unsafe is ever written, so nothing has to be found in it.
    walk = _Pass(rows=text.split("\n"), place=place, photos=photos, pages=pages or {}, whose=whose)
    blocks = list(walk.clean(PARSER.parse(text)))
    html: str = PARSER.renderer.render(blocks, PARSER.options, {})
    return Story(
        html=html,
        lead=_read_lead(blocks),
        words=_read_words(blocks),
        photos=tuple(walk.shown),
        problems=tuple(walk.problems),
    )


@dataclass(slots=True, kw_only=True)
class _Pass:
    """One way through the tokens of one story: what is safe is kept, what is not is reported."""

    rows: list[str]
    "the story's lines as written, in which a problem finds its line and column"
    place: Place
    "where the story starts in the owner's file"
    photos: Mapping[str, ShowPhoto]
    "the markup of each picture that may be shown, by file name"
    pages: Mapping[str, str]
    "addresses of the pages of entries and of standing pages, by name"
    whose: str
    "`entry`, or `page`"
    problems: list[Problem] = field(default_factory=list)
    "filled on the way: what cannot be shown as it was written, in the order in which it was met"
    shown: dict[str, None] = field(default_factory=dict)
    "filled on the way: file names of the pictures shown; a dict, as it keeps their order"
    reported: dict[str, set[tuple[int, str]]] = field(default_factory=dict)
    "by rule: the first line of the block, and what leads nowhere"

    def clean(self, blocks: Sequence[Token]) -> Iterator[Token]:
        """The blocks as they may be published."""
        ranks = _rank_headings(blocks)
        alone = self.find_pictures_alone(blocks)
        for number, block in enumerate(blocks):
            if block.type in ("heading_open", "heading_close"):
                block.tag = ranks[block.tag]
            elif block.type in ("th_open", "td_open"):
                # Set and not changed, which drops anything else that the parser may have put there.
                block.attrs = _name_alignment(block)
                if not blocks[number + 1].content:  # an empty corner heads nothing: a screen reader would announce it
                    block.tag = blocks[number + 2].tag = "td"
            elif block.type in ("fence", "code_block"):
                # Long lines scroll in `pre`, which a keyboard has to reach. The parser would put the attributes of a
                # fence on the `code` inside it, and its language into a class; a plain code block has neither.
                block.type, block.attrs = "code_block", {"tabindex": 0}
            elif block.type == "inline":
                block.children = list(self.clean_line(block, alone=number in alone))
            # A `p` holds no `figure` (HTML Standard, section 4.4.1): the paragraph around pictures alone is dropped.
            if number in alone and block.type != "inline":
                continue
            # What is wide scrolls in a box of its own, which a keyboard must be able to reach (WCAG 2.2, SC 2.1.1).
            if block.type == "table_open":
                yield _raw('<div class="scroll" tabindex="0">\n')
            yield block
            if block.type == "table_close":
                yield _raw("</div>\n")

    def find_pictures_alone(self, blocks: Sequence[Token]) -> set[int]:
        """Numbers of the three tokens of each paragraph that holds nothing but pictures that are there."""
        found: set[int] = set()
        for number, block in enumerate(blocks):
            parts = [part for part in block.children or [] if part.type not in ("softbreak", "hardbreak")]
            # In a heading or a cell a picture stays among the words.
            in_paragraph = blocks[number - 1].type == "paragraph_open"
            if (
                parts
                and in_paragraph
                and all(part.type == "image" and _read_source(part) in self.photos for part in parts)
            ):
                found |= {number - 1, number, number + 1}
        return found

    def clean_line(self, block: Token, *, alone: bool) -> Iterator[Token]:
        """The parts of a line of text; pictures that stand alone become figures.

        A link around a picture is left out: the theme makes each picture a link to its largest variant.
        """
        refused = False
        parts = block.children or []
        around_pictures = _find_links_around_pictures(parts)
        for number, part in enumerate(parts):
            if part.type == "link_open":
                refused = number in around_pictures or not self._keep_link(part, block)
            if part.type == "image":
                yield self._show(part, block, alone=alone)
            elif not (alone and part.type in ("softbreak", "hardbreak")) and not (
                refused and part.type in ("link_open", "link_close")
            ):
                yield part

    def _keep_link(self, link: Token, block: Token) -> bool:
        href = str(link.attrs["href"])
        if OUTSIDE.match(href):
            # The page that it opens gets no handle on this one.
            link.attrs["rel"] = "external noopener"
            return True
        # The parser percent-encodes it, whatever the owner wrote.
        target = unquote(href)
        # With the way there from the file itself too, as an editor's own preview of Markdown follows it.
        name = BESIDE.sub("", target).removesuffix(".md")
        if name in self.pages:
            link.attrs["href"] = self.pages[name]
            return True
        # That includes places on the page itself: nothing in a story has an id, and the page's own ids may change.
        self._report_link(target, block)
        return False

    def _report_link(self, target: str, block: Token) -> None:
        scheme = re.match(r"\s*[a-z][a-z0-9+.-]*:", target, re.IGNORECASE)
        if not self._is_new("unsafe-link" if scheme else "dead-link", target, block, severity="warning"):
            return
        if scheme:
            rule, message = "unsafe-link", f"a link to `{target}` is not published"
            help = "links start with https://, http://, mailto: or tel:"
        else:
            known = suggest(target, [f"{name}.md" for name in self.pages])
            rule, message = (
                "dead-link",
                f"the link to `{target}` leads nowhere on the site, so it is shown as plain text",
            )
            help = known if known.startswith("did") else "write a full address, or the file name of an entry or a page"
        self._report(rule, message, help, target, block, severity="warning")

    def _show(self, image: Token, block: Token, *, alone: bool) -> Token:
        name = _read_source(image)
        words = _read_plain(image.children or [])
        # Only what the photo stage has made is shown: it took out where and when the photo was taken.
        if name not in self.photos:
            self._report_picture(name, block)
            return _text(words or name)
        self.shown[name] = None
        picture = self.photos[name](words)
        return _raw(_wrap_figure(picture, str(image.attrs.get("title", ""))) if alone else picture, words)

    def _report_picture(self, name: str, block: Token) -> None:
        if not self._is_new("unknown-photo", name, block, severity="error"):
            return
        if re.match(r"(?:[a-z][a-z0-9+.-]*:|//)", name, re.IGNORECASE):
            message = (
                f"the picture `{name}` is not in this {self.whose}'s photo folder; nothing is fetched from elsewhere"
            )
            help = "put the file into the photo folder, and write only its name"
        else:
            message = f"there is no `{name}` in this {self.whose}'s photo folder"
            help = suggest(name, self.photos)
        self._report("unknown-photo", message, help, name, block, severity="error")

    def _is_new(self, rule: str, target: str, block: Token, *, severity: Severity) -> bool:
        """Whether this is to be reported: once in a block, and no more than so many of a rule in a story."""
        reported = self.reported.setdefault(rule, set())
        field_place = (block.map[0] if block.map else 0, target)
        # A pasted story may hold thousands of bad links. One above the limit is let in, to say that there are more.
        if field_place in reported or len(reported) > MOST_TOLD:
            return False
        reported.add(field_place)
        if len(reported) > MOST_TOLD:
            message = f"there are more problems of this kind than the {MOST_TOLD} shown for one story"
            self._report(rule, message, "put those right first", target, block, severity=severity)
        return len(reported) <= MOST_TOLD

    def _report(self, rule: str, message: str, help: str, sought: str, block: Token, *, severity: Severity) -> None:
        first, end = block.map or (0, len(self.rows))
        # The parser knows the lines of a block and no columns, so the target is looked for in what the owner wrote.
        line, column = _find(sought, self.rows, first, end)
        place = Place(self.place.file, self.place.line + line, column)
        self.problems.append(Problem(rule=rule, message=message, place=place, help=help, severity=severity))


def _rank_headings(blocks: Sequence[Token]) -> dict[str, str]:
    """The tag for each heading level in use: the page has the one `h1`, and no level is left out below it."""
    # By rank, not level: an owner whose first heading is `###` means the topmost one.
    used = sorted({block.tag for block in blocks if block.type == "heading_open"})
    return {tag: f"h{min(rank, 6)}" for rank, tag in enumerate(used, 2)}


def _name_alignment(cell: Token) -> dict[str, str | int | float]:
    style = str(cell.attrs.get("style", ""))
    return {"class": ALIGNMENTS[style]} if style in ALIGNMENTS else {}


def _find(sought: str, rows: Sequence[str], first: int, end: int) -> tuple[int, int]:
    """Line (0-based in the story) and column (1-based) of a target as the owner wrote it; else the block's start."""
    for line in range(first, min(end, len(rows))):
        # An owner may write a blank either way, and the parser tells only one.
        for written in (sought, sought.replace(" ", "%20")):
            if (at := rows[line].find(written)) >= 0:
                return line, at + 1
    return first, 1


def _find_links_around_pictures(parts: Sequence[Token]) -> set[int]:
    """Numbers of the parts with which links open that hold a picture; links hold no links."""
    found: set[int] = set()
    opened: int | None = None
    for number, part in enumerate(parts):
        if part.type == "link_open":
            opened = number
        elif part.type == "link_close":
            opened = None
        elif part.type == "image" and opened is not None:
            found.add(opened)
    return found


def _read_source(image: Token) -> str:
    """The file's name as records spell it; the parser gives it percent-encoded."""
    return compose(unquote(str(image.attrs["src"])))


def _read_plain(parts: Sequence[Token]) -> str:
    """Parts of a line as plain text: what a reader would say aloud."""
    return " ".join("".join(map(_read_part, parts)).split())


def _read_part(part: Token) -> str:
    if part.type in ("softbreak", "hardbreak"):
        return " "
    if part.type == "image":
        return _read_plain(part.children or [])
    return str(part.meta.get("words", part.content))


def _read_lead(blocks: Sequence[Token]) -> str:
    """The first paragraph that says something; pictures alone are none any more."""
    opened = (at for at, block in enumerate(blocks) if block.type == "paragraph_open")
    leads = (_read_plain(blocks[at + 1].children or []) for at in opened)
    return next((lead for lead in leads if lead), "")


def _read_words(blocks: Sequence[Token]) -> str:
    """Everything that is said: a row for each block."""
    # What is raw at this level is a box of ours around a table, and says nothing.
    told = (_read_plain(b.children) if b.children else b.content for b in blocks if b.type != "html_inline")
    return "\n".join(filter(None, told))


def _wrap_figure(picture: str, caption: str) -> str:
    words = f"<figcaption>{_escape(caption)}</figcaption>" if caption else ""
    return f'<figure class="photo">{picture}{words}</figure>\n'


def _escape(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def _raw(html: str, words: str = "") -> Token:
    # The renderer prints this unescaped: only markup of ours or the theme's may come here.
    return Token("html_inline", "", 0, content=html, meta={"words": words})


def _text(content: str) -> Token:
    return Token("text", "", 0, content=content)
