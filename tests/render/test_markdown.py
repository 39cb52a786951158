"""Stories become HTML: what may come out, what is refused, and what is told."""

from __future__ import annotations

import html as html_entities

import html5lib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.problems import Place
from buildlog.render.markdown import MOST_TOLD, Story, render_story
from tests.work import grows_with_its_input

PLACE = Place("entries/2024-05-18-lift-pump.md", 41)
PAGES = {"2024-03-09-brake-pipes": "brake.html"}
OUT = 'rel="external noopener"'


def show(name: str, alt: str) -> str:
    return f'<img src="{name}" alt="{html_entities.escape(alt)}">'


PHOTOS = {"crack.jpg": lambda alt: show("p/crack.webp", alt), "my pump.jpg": lambda alt: show("p/pump.webp", alt)}


def render(text: str) -> Story:
    return render_story(text, place=PLACE, photos=PHOTOS, pages=PAGES)


# ── what comes out ───────────────────────────────────────────────────────────────────────────────────────────────

CODE = '<pre tabindex="0"><code>&lt;i&gt;\n</code></pre>\n'
FIGURE = '<figure class="photo"><img src="p/crack.webp" alt="x"></figure>\n'
TABLE = '<div class="scroll" tabindex="0">\n<table>\n<thead>\n<tr>\n<th>{}</th>\n</tr>\n</thead>\n</table>\n</div>\n'
SHOWN = [
    ("emphasis and code", "*a* **b** `c < d`", "<p><em>a</em> <strong>b</strong> <code>c &lt; d</code></p>\n"),
    ("strikethrough", "~~two~~ three bolts", "<p><s>two</s> three bolts</p>\n"),
    ("a line break without a slash, as HTML wants it", "a\\\nb", "<p>a<br>\nb</p>\n"),
    ("raw HTML is text", "<b>bold</b>", "<p>&lt;b&gt;bold&lt;/b&gt;</p>\n"),
    ("a block of raw HTML is text", "<div>\nx\n</div>", "<p>&lt;div&gt;\nx\n&lt;/div&gt;</p>\n"),
    ("a comment is text", "<!-- x -->", "<p>&lt;!-- x --&gt;</p>\n"),
    ("an outside link says so", "[a](https://b.org/)", f'<p><a href="https://b.org/" {OUT}>a</a></p>\n'),
    ("an autolink", "<https://b.org>", f'<p><a href="https://b.org" {OUT}>https://b.org</a></p>\n'),
    ("a mail address", "<a@b.org>", f'<p><a href="mailto:a@b.org" {OUT}>a@b.org</a></p>\n'),
    ("another entry, by its file", "[a](2024-03-09-brake-pipes.md)", '<p><a href="brake.html">a</a></p>\n'),
    ("the language of a fence is not shown", "```js onload=x\n<i>\n```", CODE),
    ("nor is an indented block another", "    <i>", CODE),
    ("an empty corner of a table heads nothing", "||\n|-|", TABLE.replace("th>", "td>").format("")),
    ("a picture in a table", "|![x](crack.jpg)|\n|-|", TABLE.format('<img src="p/crack.webp" alt="x">')),
    ("a picture in a list", "- ![x](crack.jpg)", f"<ul>\n<li>{FIGURE}</li>\n</ul>\n"),
    ("a picture in a link", "[![x](crack.jpg)](https://b.org)", '<p><img src="p/crack.webp" alt="x"></p>\n'),
    ("a picture in a sentence", "see ![a](crack.jpg) here", '<p>see <img src="p/crack.webp" alt="a"> here</p>\n'),
    ("a picture alone", "![x](crack.jpg)", '<figure class="photo"><img src="p/crack.webp" alt="x"></figure>\n'),
    (
        "a picture's title is its caption",
        '![x](<my pump.jpg> "Left < right")',
        '<figure class="photo"><img src="p/pump.webp" alt="x"><figcaption>Left &lt; right</figcaption></figure>\n',
    ),
    ("headings start below the page's own", "# A\n## B", "<h2>A</h2>\n<h3>B</h3>\n"),
    ("no heading level is left out", "### A\n\n###### B", "<h2>A</h2>\n<h3>B</h3>\n"),
    ("the lowest heading is h6", "\n\n".join(f"{'#' * n} h" for n in range(1, 7)),
     "".join(f"<h{n}>h</h{n}>\n" for n in (2, 3, 4, 5, 6, 6))),
    (
        "a table scrolls by itself and has no inline style",
        "|a|b|\n|-|-:|\n|1|2|",
        '<div class="scroll" tabindex="0">\n<table>\n'
        '<thead>\n<tr>\n<th>a</th>\n<th class="right">b</th>\n</tr>\n</thead>\n'
        '<tbody>\n<tr>\n<td>1</td>\n<td class="right">2</td>\n</tr>\n</tbody>\n</table>\n</div>\n',
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "html"), [case[1:] for case in SHOWN], ids=[case[0] for case in SHOWN])
def test_shows(text: str, html: str) -> None:
    """What an owner writes comes out as this HTML, and nothing is told about it."""
    story = render(text)
    assert (story.html, story.problems) == (html, ())


def test_lead_is_the_first_paragraph_as_plain_text() -> None:
    """The lead leaves out headings and pictures alone, and keeps the words of links and pictures in a sentence."""
    story = render(
        "# H\n\n![x](crack.jpg)\n\nThe *pump* [came](https://a.b)\noff: ![a crack](crack.jpg) & more\n\nnext"
    )
    assert story.lead == "The pump came off: a crack & more"


def test_photos_are_named_once_in_order() -> None:
    """The page learns which pictures stand in the story already."""
    assert render("![](<my pump.jpg>) ![](crack.jpg)\n\n![](my%20pump.jpg)").photos == ("my pump.jpg", "crack.jpg")


def test_two_stories_share_nothing() -> None:
    """A link reference that one story defines is unknown to the next, and the same text gives the same HTML."""
    defined = render("[a][r]\n\n[r]: https://example.org")
    assert "<a" in defined.html
    assert render("[a][r]").html == "<p>[a][r]</p>\n"
    assert render("[a][r]\n\n[r]: https://example.org") == defined


# ── what is told ─────────────────────────────────────────────────────────────────────────────────────────────────

TOLD = [
    ("![x](crak.jpg)", "41:6", "unknown-photo", "error", "<p>x</p>\n"),
    ("a\nb ![](gone.jpg)", "42:7", "unknown-photo", "error", "<p>a\nb gone.jpg</p>\n"),
    ("![](https://example.org/x.jpg)", "41:5", "unknown-photo", "error", "<p>https://example.org/x.jpg</p>\n"),
    ("![](../other/x.jpg)", "41:5", "unknown-photo", "error", "<p>../other/x.jpg</p>\n"),
    ("![](data:image/png;base64,AA)", "41:5", "unknown-photo", "error", "<p>data:image/png;base64,AA</p>\n"),
    ("a\n\n[b](javascript:alert(1))", "43:5", "unsafe-link", "warning", "<p>a</p>\n<p>b</p>\n"),
    ("[b](2024-03-09-brake-pipe.md)", "41:5", "dead-link", "warning", "<p>b</p>\n"),
    ("[b](#part)", "41:5", "dead-link", "warning", "<p>b</p>\n"),
    ("[b](//example.org/)", "41:5", "dead-link", "warning", "<p>b</p>\n"),
    ("> * [r]\n\n\n[r]: file:///etc/passwd", "41:1", "unsafe-link", "warning", None),
]


@pytest.mark.parametrize(("text", "spot", "rule", "severity", "html"), TOLD)
def test_tells(text: str, spot: str, rule: str, severity: str, html: str | None) -> None:
    """What cannot be shown is told once, with line and column in the owner's file, and its words stay readable."""
    story = render(text)
    (problem,) = story.problems
    line, column = map(int, spot.split(":"))
    assert (problem.rule, problem.severity) == (rule, severity)
    assert problem.place == Place(PLACE.file, line, column)
    assert html is None or story.html == html


def test_help_says_what_to_type() -> None:
    """A near miss gets the name that was meant."""
    assert render("![x](crak.jpg)").problems[0].help == "did you mean `crack.jpg`?"
    assert render("[b](2024-03-09-brake-pipe.md)").problems[0].help == "did you mean `2024-03-09-brake-pipes.md`?"


# ── what must never come out ─────────────────────────────────────────────────────────────────────────────────────

ALLOWED = set(
    "html head body p em strong s code pre br hr a img figure figcaption h2 h3 h4 h5 h6"
    " ul ol li blockquote table thead tbody tr th td div".split()
)
ATTRIBUTES = {"href", "rel", "title", "src", "alt", "class", "tabindex", "start"}


def assert_harmless(html: str) -> None:
    """Parsed as a browser does (HTML standard, section 13.2, by html5lib), it has known parts and schemes only."""
    tree = html5lib.parse(html, namespaceHTMLElements=False)
    for element in tree.iter():
        assert element.tag in ALLOWED, f"{element.tag} in {html!r}"
        for name, value in element.attrib.items():
            assert name in ATTRIBUTES, f"{name} in {html!r}"
            if name == "href":
                assert value.lower().startswith(("https://", "http://", "mailto:", "tel:")) or value in PAGES.values()
            if name == "src":
                assert value.startswith("p/")


ATTEMPTS = [
    "<script>alert(1)</script>",
    "<SCRIPT SRC=//e.org/x.js>",
    "<scr<script>ipt>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "<svg/onload=alert(1)>",
    "<math><mtext></form><form><mglyph><style></math><img src onerror=alert(1)>",
    "<iframe srcdoc='<script>alert(1)</script>'>",
    "<a href=javascript:alert(1)>x</a>",
    "<style>@import 'x'</style>",
    "<!--><script>alert(1)</script>-->",
    "<![CDATA[<script>alert(1)</script>]]>",
    "<?php echo 1 ?>",
    "[x](javascript:alert(1))",
    "[x](JaVaScRiPt:alert(1))",
    "[x](java&#115;cript:alert(1))",
    "[x](javascript&colon;alert(1))",
    "[x](java&Tab;script:alert(1))",
    "[x](java&NewLine;script:alert(1))",
    "[x](&#1;javascript:alert(1))",
    "[x](\\javascript:alert(1))",
    "[x](java%73cript:alert(1))",
    "[x](<java\tscript:alert(1)>)",
    "[x](< javascript:alert(1)>)",
    "[x](vbscript:msgbox(1))",
    "[x](data:text/html;base64,PHNjcmlwdD4=)",
    "[x](file:///etc/passwd)",
    "[x](blob:https://e.org/1)",
    "[x](view-source:javascript:1)",
    "[x](https:javascript:alert(1))",
    "[x](//e.org)",
    "[x](\\\\e.org\\share)",
    "<javascript:alert(1)>",
    "<data:text/html,x>",
    "[x][r]\n\n[r]: javascript:alert(1)",
    '[x](https://e.org "\\" onclick=alert(1) x=\\"")',
    '[x](https://e.org"onclick=alert(1))',
    "[x](https://e.org/'onclick='alert(1))",
    "![x](javascript:alert(1))",
    "![x](data:image/svg+xml,<svg/onload=alert(1)>)",
    '![" onerror="alert(1)](crack.jpg)',
    '![x](crack.jpg "</figcaption><script>alert(1)</script>")',
    "![<script>alert(1)</script>](gone.jpg)",
    "![x](crack.jpg)](javascript:alert(1))",
    "[![x](crack.jpg)](javascript:alert(1))",
    "[a ![x](gone.jpg) b](javascript:alert(1))",
    "```\"><script>alert(1)</script>\nx\n```",
    "~~~ onmouseover=alert(1)\nx\n~~~",
    "|<script>|\n|-|\n|<img onerror=x>|",
    "# <img src=x onerror=alert(1)>",
    "`<script>alert(1)</script>`",
    "&lt;script&gt;alert(1)&lt;/script&gt;",
    "&#60;script&#62;alert(1)&#60;/script&#62;",
    "<p style='x' onclick=y>",
    "<a@b.c\"onclick=alert(1)>",
    "[x](mailto:a@b.c?subject=<script>)",
    "\0<script>\0alert(1)</script>",
    "{{ ''.__class__ }} {% raw %}",
]  # fmt: skip


@pytest.mark.parametrize("text", ATTEMPTS)
def test_attempt_comes_to_nothing(text: str) -> None:
    """No element, attribute or address gets through that a story has no use for."""
    assert_harmless(render(text).html)


def test_the_check_itself_can_fail() -> None:
    """The same check refuses what it is there to refuse."""
    for bad in ("<script></script>", "<p onclick=x>", "<a href='javascript:1'>", "<a href='//e.org'>", "<img src=x>"):
        with pytest.raises(AssertionError):
            assert_harmless(bad)


PIECES = st.sampled_from(
    list("<>\"'()[]!`\n \t|-#&;\\/a\0é")
    + "\n\n,* ,> ,~~,&#x3c;,&colon;,javascript:,data:,https://e.org,crack.jpg,onerror=,script".split(",")
)


@settings(max_examples=400, deadline=None)
@given(st.one_of(st.lists(PIECES, max_size=40).map("".join), st.text(max_size=80)))
def test_any_text_is_harmless(text: str) -> None:
    """Whatever is written, nothing but a story comes out, and rendering it again gives the same."""
    story = render(text)
    assert_harmless(story.html)
    assert render(text) == story


# ── how long it takes ────────────────────────────────────────────────────────────────────────────────────────────

MANY = {
    "links": "[a](https://b.org)",
    "links on lines": "[a](https://b.org)\n",
    "links around pictures": "[![x](crack.jpg)](https://b.org)",
    "links that never lead anywhere": "[a](b.md) ",
    "refused links": "[a](javascript:x) ",
    "pictures that are not there": "![a](b.jpg) ",
}


@pytest.mark.parametrize("name", MANY)
def test_work_grows_with_the_story(name: str) -> None:
    """Twice as many links on one line take twice as many steps, not four times as many."""
    assert grows_with_its_input(lambda size: lambda: render(MANY[name] * size), 200) < 2.2


def test_what_leads_nowhere_is_told_a_hundred_times_at_most() -> None:
    """Then one problem says that there are more: a thousand mistakes of one kind are one mistake."""
    problems = render("".join(f"[a](b{n}.md)\n\n" for n in range(500))).problems
    assert len(problems) == MOST_TOLD + 1
    assert problems[-1].message == "there are more problems of this kind than the 100 shown for one story"
    assert {problem.severity for problem in problems} == {"warning"}
