"""What a published folder holds, read without a browser: pages, links, markup, policy.

Each `find_…` returns one line for each thing that is wrong, `page: what`; an empty list is a pass.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from urllib.parse import unquote, urlsplit

from lxml import html

VNU = Path(sys.prefix) / "vnu/node_modules/vnu-jar/build/dist/vnu.jar"
"The Nu Html Checker; `tests/run` puts it into the virtual environment."

FALSE_ALARM = re.compile(r"Content Security Policy|content-security-policy", re.IGNORECASE)
"""The checker reads each page from a `file:` URL, which has no origin that `'self'` could match, and so warns that the
page's own pictures, styles and scripts are blocked. Browsers load them (test_pages.py sees it)."""

POLICY = "default-src 'none'"

# Attributes by which a page makes the browser load something, and those by which a reader goes somewhere.
LOADS = {"src", "srcset", "poster", "data"}
LOADING_LINKS = {"stylesheet", "icon", "preload", "prefetch", "manifest", "apple-touch-icon", "modulepreload"}


def list_pages(root: Path) -> list[Path]:
    """Every HTML page of a published folder, in the order of their paths."""
    return sorted(root.rglob("*.html"))


@cache
def parse(page: Path) -> html.HtmlElement:
    return html.document_fromstring(page.read_bytes(), parser=html.HTMLParser(encoding="utf-8"))


def find_markup_errors(files: Iterable[Path]) -> list[str]:
    """Every error and warning of the Nu Html Checker over HTML, CSS and SVG files, in one run of it."""
    assert VNU.is_file(), f"the HTML validator is not at {VNU}: run tests/run, which installs it"
    java = shutil.which("java")
    assert java, "the HTML validator needs Java: run tests/run, which installs it"
    paths = [str(path) for path in files]
    assert paths, "no file to validate"
    command = [java, "-jar", str(VNU), "--format", "json", "--also-check-css", "--also-check-svg", *paths]
    run = subprocess.run(command, capture_output=True, text=True, check=False, timeout=600)
    messages = json.loads(run.stderr)["messages"]
    return [_show_message(message) for message in messages if not _is_false_alarm(message)]


def _is_false_alarm(message: dict[str, str]) -> bool:
    return message["type"] != "error" and bool(FALSE_ALARM.search(message["message"]))


def _show_message(message: dict[str, str]) -> str:
    where = f"{Path(urlsplit(message.get('url', '')).path).name}:{message.get('lastLine', '?')}"
    return f"{where}: {message.get('subType', message['type'])}: {message['message']} {message.get('extract', '')!r}"


def find_broken_links(root: Path) -> list[str]:
    """Links and loaded files that are not relative, lead out of the folder, to no file, or to no anchor."""
    found = []
    for page in list_pages(root):
        for what, target in list_targets(parse(page)):
            why = _explain_break(root, page, target, may_leave=what == "goes to")
            if why:
                found.append(f"{page.relative_to(root)}: {what} `{target}`: {why}")
    for sheet in sorted(root.rglob("*.css")):
        for target in re.findall(r"url\(\s*['\"]?([^'\")]+)", sheet.read_text(encoding="utf-8")):
            why = _explain_break(root, sheet, target, may_leave=False)
            if why:
                found.append(f"{sheet.relative_to(root)}: loads `{target}`: {why}")
    return found


def list_targets(tree: html.HtmlElement) -> Iterator[tuple[str, str]]:
    for element in tree.iter():
        if not isinstance(element.tag, str):
            continue
        for name, value in element.attrib.items():
            if name in LOADS:
                yield from (("loads", part) for part in (_split_srcset(value) if name == "srcset" else [value]))
            elif name in ("href", "xlink:href") and element.tag == "link":
                if LOADING_LINKS & set(element.get("rel", "").split()):
                    yield "loads", value
            elif name in ("href", "xlink:href"):
                yield ("goes to" if element.tag in ("a", "area") else "loads"), value
            elif name in ("action", "formaction"):
                yield "sends to", value


def _split_srcset(value: str) -> list[str]:
    return [candidate.split()[0] for candidate in value.split(",") if candidate.strip()]


def _explain_break(root: Path, page: Path, target: str, *, may_leave: bool) -> str | None:
    """Why a target cannot be followed from a page by a reader who has only the folder; None when it can."""
    parts = urlsplit(target)
    if parts.scheme or parts.netloc:
        return None if may_leave and parts.scheme in ("http", "https", "mailto", "tel") else "leaves the site"
    if parts.path.startswith("/"):
        return "counts from the host's root"
    path = (page.parent / unquote(parts.path)).resolve() if parts.path else page
    if not path.is_relative_to(root.resolve()) and path != page:
        return "leads out of the folder"
    if path.is_dir():
        return "is a folder: opened from a disk it shows a listing"
    if not path.is_file():
        return "no such file"
    if parts.fragment and path.suffix == ".html" and not _has_anchor(path, unquote(parts.fragment)):
        return "no such anchor"
    return None


@cache
def _list_anchors(page: Path) -> frozenset[str]:
    return frozenset(parse(page).xpath("//@id | //a/@name"))


def _has_anchor(page: Path, anchor: str) -> bool:
    return anchor in _list_anchors(page)


def find_late_policies(root: Path) -> list[str]:
    """Pages whose Content-Security-Policy is not the first element after `<meta charset>`.

    CSP Level 3, section 3.3: a policy in a meta element does not apply to what stands before it.
    """
    found = []
    for page in list_pages(root):
        first, second = [*parse(page).xpath("/html/head/*"), None, None][:2]
        if first is None or first.get("charset", "").lower() != "utf-8":
            found.append(f"{page.relative_to(root)}: the first element of the head is no <meta charset=utf-8>")
        elif second is None or (second.get("http-equiv") or "").lower() != "content-security-policy":
            found.append(f"{page.relative_to(root)}: the second element of the head is no policy")
        elif POLICY not in second.get("content", ""):
            found.append(f"{page.relative_to(root)}: the policy does not start from {POLICY}")
    return found


def find_unsized_pictures(root: Path) -> list[str]:
    """Pictures without a width and height, which would shift the text when they arrive."""
    return [
        f"{page.relative_to(root)}: {picture.get('src')}"
        for page in list_pages(root)
        for picture in parse(page).iter("img")
        if not (picture.get("width", "").isdigit() and picture.get("height", "").isdigit())
    ]


INLINE = {"a", "b", "em", "span", "strong", "time"}


def find_glued_words(root: Path) -> list[str]:
    """Two pieces of a line without a blank between them; what is set as a block of its own (`detail`) is none."""
    return [
        f"{page.relative_to(root)}: `{piece.text_content()}` and `{after.text_content()}`"
        for page in list_pages(root)
        for piece in parse(page).iter(*INLINE)
        if (after := piece.getnext()) is not None
        and after.tag in INLINE
        and not piece.tail
        and piece.text_content()
        and "detail" not in (piece.get("class"), after.get("class"))
    ]


def find_said_twice(root: Path) -> list[str]:
    """Rows that say the same thing twice running, and figures whose value begins or ends with their name."""
    found = []
    for page in list_pages(root):
        for row in parse(page).iter("li", "p", "td", "th", "summary"):
            words = " ".join(row.text_content().split())
            if said := re.search(r"(?:^|, |; |\b)([^,;:.()]{4,}), \1(?=$|[^\w])", words):
                found.append(f"{page.relative_to(root)}: {said.group()}")
        for name in parse(page).iter("dt"):
            value = "".join(name.getnext().xpath("text()")).strip().lower()
            word = name.text_content().strip().lower()
            if value.startswith(f"{word} ") or value.endswith(f" {word}"):
                found.append(f"{page.relative_to(root)}: {word}: {value}")
    return found


def find_orphans(root: Path) -> list[str]:
    """Pages that no chain of links from the front page leads to; but for those at old addresses, which lead on."""
    front = root / "index.html"
    reached, waiting = {front.resolve()}, [front]
    while waiting:
        page = waiting.pop()
        for what, target in list_targets(parse(page)):
            parts = urlsplit(target)
            if what != "goes to" or parts.scheme or parts.netloc or not parts.path:
                continue
            path = (page.parent / unquote(parts.path)).resolve()
            if path.suffix == ".html" and path.is_file() and path not in reached:
                reached.add(path)
                waiting.append(path)
    alone = [page for page in list_pages(root) if page.resolve() not in reached]
    # They say themselves that nobody shall be sent to them.
    return [str(page.relative_to(root)) for page in alone if 'name="robots" content="noindex"' not in page.read_text()]
