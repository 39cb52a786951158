"""The least that publishing a log's text can take: a hand-written loop of the raw libraries, with no rule, no check.

For each entry it reads the YAML into plain dicts (PyYAML's C loader), renders the story (markdown-it-py) and a page
with everything that the front matter says (Jinja2), and writes it; then the five pages that list the whole log, a feed
and a sitemap; about as many bytes as the product writes. No position, no type, no figure: sums are not added up, parts
are not followed, nothing is compared or made safe.

Run as `python tests/bench/floor_text.py LOG OUT`.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import jinja2
import yaml
from markdown_it import MarkdownIt

PAGE = """<!doctype html>
<html lang="en-GB"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src 'self'; style-src 'self'">
<meta name="viewport" content="width=device-width"><title>{{ title }}</title>
<meta name="description" content="{{ title }}"><meta property="og:title" content="{{ title }}">
<link rel="stylesheet" href="{{ root }}style.css"><link rel="alternate" href="{{ root }}feed.xml"></head><body>
<a href="#main">To the text</a><header><p>{{ site }}</p><nav><ul>{% for name, href in sections %}
<li><a href="{{ root }}{{ href }}">{{ name }}</a></li>{% endfor %}</ul></nav></header>
<main id="main">{% block main %}{% endblock %}</main>
<footer><p>Figures as of a day.</p></footer></body></html>
"""
ENTRY = """{% extends "page" %}{% macro rows(name, items) %}{% if items %}
<section class="acts" aria-labelledby="{{ name }}"><h2 id="{{ name }}">{{ name }}</h2><ul>{% for item in items %}
<li>{% if item is mapping %}{% for key, value in item.items() %}<span class="{{ key }}">{{ value }}</span>
{% endfor %}{% else %}{{ item }}{% endif %}</li>{% endfor %}</ul></section>{% endif %}{% endmacro %}
{% block main %}<article><aside><dl><dt>date</dt><dd><time datetime="{{ e.date }}">{{ e.date }}</time></dd>
<dt>reading</dt><dd>{{ e.reading }}</dd><dt>hours</dt><dd>{{ e.hours }}</dd></dl></aside>
<h1>{{ e.title }}</h1>{{ story|safe }}
{% for o in e.bought %}<div class="order"><h3>{{ o.from }} {{ o.ref }}</h3>
<p>ordered {{ o.ordered }}, paid {{ o.paid }}, arrived {{ o.arrived }}</p><ul>{% for l in o.lines %}
<li><a href="../parts.html#{{ l.part }}">{{ l.part or l.what }}</a> <span>{{ l.qty }}</span>
<span>{{ l.maker }} {{ l.number }}, {{ l.spec }}; {{ l.each }} each</span> <span>{{ l.each }}</span></li>
{% endfor %}</ul></div>{% endfor %}
{% for name in ("returned", "fitted", "removed", "serviced", "measured", "tightened", "next") %}
{{ rows(name, e[name]) }}{% endfor %}</article><p class="caution">{{ caution }}</p>
<nav aria-label="Entries"><a href="../index.html">{{ e.title }}</a></nav>{% endblock %}
"""
LIST = """{% extends "page" %}{% block main %}<h1>{{ title }}</h1>{% for e in entries %}
<section id="{{ e.name }}"><dl><dt>date</dt><dd><time datetime="{{ e.date }}">{{ e.date }}</time></dd>
<dt>reading</dt><dd>{{ e.reading }}</dd><dt>hours</dt><dd>{{ e.hours }}</dd></dl>
<h2><a href="entries/{{ e.name }}.html">{{ e.title }}</a></h2><p>{{ e.lead }}</p>
{% if detail %}{% for round in range(detail) %}{% for o in e.bought %}<ul>{% for l in o.lines %}
<li><time datetime="{{ o.paid }}">{{ o.paid }}</time> <a href="#{{ l.part }}">{{ l.part or l.what }}</a>
<span>{{ o.from }} {{ o.ref }}</span> <span>{{ l.number }}</span> <span>{{ l.each }}</span>
<a href="entries/{{ e.name }}.html">{{ e.title }}</a></li>{% endfor %}</ul>{% endfor %}{% endfor %}{% endif %}
</section>{% endfor %}{% endblock %}
"""
CAUTION = "Words that stand on every page of an entry. " * 48
SECTIONS = [("Front", "index.html"), ("Timeline", "timeline.html"), ("Costs", "costs.html"), ("Parts", "parts.html")]
LISTS = {"index": 0, "timeline": 0, "costs": 6, "parts": 5, "service": 1}
"Pages that list the whole log, and how often each tells of every order line."


def build(log: Path, out: Path) -> int:
    """Write the pages; says how many bytes they have."""
    environment = jinja2.Environment(
        loader=jinja2.DictLoader({"page": PAGE, "entry": ENTRY, "list": LIST}), autoescape=True
    )
    settings = yaml.load((log / "log.yaml").read_text(encoding="utf-8"), Loader=yaml.CSafeLoader)
    common: dict[str, Any] = {"caution": CAUTION, "site": settings["site"]["title"], "sections": SECTIONS}
    parser = MarkdownIt("commonmark").enable("table")
    entries, size = [], 0
    (out / "entries").mkdir(parents=True)

    def write(name: str, text: str) -> int:
        return (out / name).write_bytes(text.encode())

    page = environment.get_template("entry")
    for path in sorted((log / "entries").glob("*.md")):
        _, head, body = path.read_text(encoding="utf-8").split("---\n", 2)
        entry = yaml.load(head, Loader=yaml.CSafeLoader)
        entry |= {"name": path.stem, "lead": body.strip().split("\n")[0]}
        entries.append(entry)
        story = parser.render(body)
        size += write(
            f"entries/{path.stem}.html", page.render(e=entry, story=story, title=entry["title"], root="../", **common)
        )
    for name, detail in LISTS.items():
        text = environment.get_template("list").render(entries=entries, title=name, detail=detail, root="", **common)
        size += write(f"{name}.html", text)
    items = "".join(f"<entry><title>{entry['title']}</title></entry>" for entry in entries)
    return size + write("feed.xml", items) + write("sitemap.xml", items)


if __name__ == "__main__":
    print(build(Path(sys.argv[1]), Path(sys.argv[2])), "bytes")
