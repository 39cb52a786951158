"""What is told on a page is the owner's and the program's words, and never markup of anybody's."""

from __future__ import annotations

import html5lib
import pytest

from buildlog.preview.notice import Draft, Notice, dress_page, show_notice, undress_page
from buildlog.problems import Place, Problem

HOSTILE = "</pre></aside><script>alert(1)</script><img src=x onerror=alert(1)>\"'&amp;"
PAGE = b"<!doctype html>\n<html>\n<head>\n<title>T</title>\n</head>\n<body>\n<p>Words</p>\n</body>\n</html>\n"
PROBLEM = Problem(rule="rule", message=HOSTILE, place=Place("entries/a.md", 1, 1), help=HOSTILE)


def list_names(html: str) -> set[str]:
    """Every kind of element that a browser makes of a piece of HTML."""
    tree = html5lib.parseFragment(html, namespaceHTMLElements=False)
    return {str(element.tag) for element in tree.iter()} - {"DOCUMENT_FRAGMENT"}


def test_hostile_words_stay_words() -> None:
    """In a problem, in the line it quotes, in a draft's title and in a note: shown as they are written."""
    draft = Draft(title=HOSTILE, href="entries/b.html", day="2024-08-01")
    html = show_notice(Notice(problems=(PROBLEM,), texts={"entries/a.md": HOSTILE}, drafts=(draft,), note=HOSTILE))
    assert list_names(html) == {"aside", "p", "details", "summary", "pre", "ul", "li", "a"}
    text = "".join(html5lib.parseFragment(html, namespaceHTMLElements=False).itertext())
    assert text.count("<script>alert(1)</script>") >= 4


def test_where_there_is_nothing_to_tell_nothing_is_told() -> None:
    """No empty box on a page of a sound log."""
    assert show_notice(Notice(texts={})) == ""


@pytest.mark.parametrize(
    "page",
    [
        PAGE,
        PAGE.replace(b"<head>", b'<head>\n<meta http-equiv="Content-Security-Policy" content="x">'),
        b"<p>bare",
        b"",
        PAGE.upper(),
    ],
)
def test_any_page_gets_the_script_once_and_the_notice_at_its_end(page: bytes) -> None:
    """A theme of the owner's may have no head, or no policy of its own."""
    notice = Notice(problems=(PROBLEM,), texts={})
    dressed = dress_page(page, notice, "a-1").decode()
    tree = html5lib.parse(dressed, namespaceHTMLElements=False)
    assert [element.get("data-version") for element in tree.iter("script")] == ["a-1"]
    assert [element.get("id") for element in tree.find("body").iter("aside")] == ["preview"]
    assert "Content-Security-Policy" not in dressed
    assert undress_page(dressed.encode()).count("aside") == 0


def test_problems_that_forbid_publishing_stand_open() -> None:
    """Warnings are counted and folded away: they may be just what is meant."""
    warning = Problem(rule="rule", message="m", place=Place("a"), severity="warning")
    assert "<details open>" in show_notice(Notice(problems=(PROBLEM, warning), texts={}))
    assert "<details>\n<summary>1 warning</summary>" in show_notice(Notice(problems=(warning,), texts={}))
