"""Themes: where files are found, what replaces what, and what a log's own theme may not do."""

from __future__ import annotations

import gc
import re
import weakref
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import jinja2
import pytest
import tinycss2
from hypothesis import given
from hypothesis import strategies as st
from jinja2.bccache import bc_magic
from markupsafe import Markup, escape

from buildlog.problems import Place
from buildlog.render import templates
from buildlog.render.theme import Theme, find_themes, load_theme, place_failure, squeeze_sheet
from tests.test_cli import ENTRY, make_log, run

PLACE = Place("log.yaml", 9, 8)


def write(folder: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def themes(tmp_path: Path) -> Path:
    return write(
        tmp_path / "themes",
        {
            "ground/theme.yaml": "name: ground\ntitle: Ground\n",
            "ground/page.html": "ground {% block inside %}{{ word }}{% endblock %}\n",
            "ground/list.html": "{% for one in many %}\n  {{ one }}\n{% endfor %}\n",
            "ground/look.css": "a{}",
            "ground/seek.js": "1",
            "ground/.hidden.css": "no",
            "ground/notes.md": "no",
            "book/theme.yaml": "name: book\ntitle: Bound book\nextends: ground\n",
            "book/page.html": '{% extends "ground/page.html" %}{% block inside %}book {{ super() }}{% endblock %}\n',
            "book/look.css": "b{}",
        },
    )


def load(name: str, themes: Path, log: Path | None = None) -> Theme:
    theme, problems = load_theme(name, place=PLACE, log=log, themes=themes)
    assert theme and not problems
    return theme


def refusal(name: str, themes: Path, log: Path | None = None) -> tuple[str, str]:
    theme, (problem,) = load_theme(name, place=PLACE, log=log, themes=themes)
    assert theme is None and problem.severity == "error"
    return problem.rule, str(problem.place)


def test_every_shipped_theme_loads_and_compiles() -> None:
    """The folder of themes is found, and each theme in it has settings, a title and templates without a slip."""
    names = [path.parent.name for path in find_themes().glob("*/theme.yaml")]
    assert names
    for name in names:
        theme = load(name, find_themes())
        assert theme.title != name
        for template in theme.environment.list_templates(extensions=["html", "xml"]):
            theme.environment.get_template(template)


def test_theme_replaces_single_files_of_the_one_it_extends(themes: Path) -> None:
    """A file is taken from the theme, else from what it extends; a template can build on the one it replaces."""
    book = load("book", themes)
    assert book.title == "Bound book"
    assert book.render("page.html", {"word": "x"}) == "ground book x"
    assert book.render("list.html", {"many": [1, 2]}) == "  1\n  2\n"
    assert book.read_statics() == {"theme/look.css": b"b{}", "theme/seek.js": b"1"}


def test_log_replaces_single_files(themes: Path, tmp_path: Path) -> None:
    """The log's own `theme/` folder comes first, and its templates can build on the theme's."""
    own = '{% extends "book/page.html" %}{% block inside %}own {{ super() }}{% endblock %}'
    log = write(tmp_path / "log", {"theme/page.html": own, "theme/look.css": "c{}"})
    theme = load("book", themes, log)
    assert theme.render("page.html", {"word": "x"}) == "ground own book x"
    assert theme.read_statics()["theme/look.css"] == b"c{}"


def test_values_are_escaped_and_unknown_names_refused(themes: Path) -> None:
    """No value reaches a page as markup by accident, and a name that is not in the view is an error, not a blank."""
    theme = load("ground", themes)
    assert "&lt;b&gt;" in theme.render("page.html", {"word": "<b>"})
    with pytest.raises(jinja2.UndefinedError, match="'word' is undefined"):
        theme.render("page.html", {})


@pytest.mark.parametrize(
    ("name", "settings", "expected"),
    [
        ("grund", None, ("unknown-theme", "log.yaml:9:8")),
        ("../ground", None, ("unknown-theme", "log.yaml:9:8")),
        ("loop", "name: loop\nextends: loop\n", ("theme-chain", "log.yaml:9:8")),
        ("lost", "name: lost\nextends: nowhere\n", ("unknown-theme", "log.yaml:9:8")),
        ("odd", "name: [odd]\n", ("theme-settings", "themes/odd/theme.yaml:1:1")),
        ("odd", "name: even\n", ("theme-settings", "themes/odd/theme.yaml:1:1")),
        ("odd", "name: odd\ncolour: red\n", ("theme-settings", "themes/odd/theme.yaml:1:1")),
        ("odd", "name: odd\n title", ("theme-settings", "themes/odd/theme.yaml:1:1")),
        ("odd", "- name\n", ("theme-settings", "themes/odd/theme.yaml:1:1")),
    ],
)
def test_refuses_a_theme(name: str, settings: str | None, expected: tuple[str, str], themes: Path) -> None:
    """A theme that is not there, or not well-formed, is one problem at the place where it can be mended."""
    if settings is not None:
        write(themes, {f"{name}/theme.yaml": settings})
    assert refusal(name, themes) == expected


def test_unknown_theme_gets_the_near_one(themes: Path) -> None:
    """A slip in the name is answered with the name that was meant."""
    assert load_theme("grund", place=PLACE, themes=themes)[1][0].help == "did you mean `ground`?"


@pytest.mark.parametrize("link", ["theme/page.html", "theme/.hidden.html", "theme/inside", "theme"])
def test_log_theme_leads_nowhere_else(link: str, themes: Path, tmp_path: Path) -> None:
    """A link in a log's theme folder would publish files from outside the log: refused, hidden ones too."""
    write(tmp_path / "secret", {"page.html": "secret"})
    log = tmp_path / "log"
    (log / link).parent.mkdir(parents=True)
    target = tmp_path / "secret" if "html" not in link else tmp_path / "secret/page.html"
    (log / link).symlink_to(target)
    rule, place = refusal("ground", themes, log)
    assert (rule, place) == ("leads-out", f"{link}:1:1")


def test_log_theme_cannot_name_a_file_outside(themes: Path, tmp_path: Path) -> None:
    """A template of the log cannot include a file by way of `..`."""
    write(tmp_path, {"secret.html": "secret", "log/theme/page.html": '{% include "../../secret.html" %}'})
    with pytest.raises(jinja2.TemplateNotFound):
        load("ground", themes, tmp_path / "log").render("page.html", {})


@pytest.mark.parametrize(
    "attempt", ["{{ ''.__class__.__mro__ }}", "{{ word.append(1) }}", "{{ cycler.__init__.__globals__ }}"]
)
def test_log_theme_runs_no_code(attempt: str, themes: Path, tmp_path: Path) -> None:
    """A template of the log reaches nothing but the view, and cannot change it (Jinja's immutable sandbox)."""
    log = write(tmp_path / "log", {"theme/page.html": "\n" + attempt})
    with pytest.raises(jinja2.exceptions.SecurityError) as caught:
        load("ground", themes, log).render("page.html", {"word": []})
    problem = place_failure(caught.value, log)
    assert problem and (problem.rule, str(problem.place)) == ("own-template", "theme/page.html:2:1")


def test_slip_in_a_log_template_is_told_with_its_line(themes: Path, tmp_path: Path) -> None:
    """A template of the log that does not compile is a problem of the log, found before anything is rendered."""
    log = write(tmp_path / "log", {"theme/page.html": "a\n{% if %}"})
    assert refusal("ground", themes, log) == ("own-template", "theme/page.html:2:1")


def test_failure_of_our_own_template_is_ours(themes: Path, tmp_path: Path) -> None:
    """Only what fails in the log's own folder is told as the owner's problem."""
    with pytest.raises(jinja2.UndefinedError) as caught:
        load("ground", themes).render("page.html", {})
    assert place_failure(caught.value, tmp_path / "log") is None


@pytest.mark.parametrize(
    ("sheet", "published"),
    [
        ("/* Why. */\na {\n  b: c;\n}\n", "a{b:c;}"),
        ("@media print {\n  a,\n  b {\n    c: d;\n    e: f\n  }\n}\n", "@media print{a,b{c:d;e:f}}"),
        ('a { content: "{;\\\n}" }', 'a { content:"{;\\\n}" }'),
        ("a/**/b { c: d }", "a b { c:d }"),
        ('a { content: "/* stays */  x" } /* goes */', 'a { content:"/* stays */  x" }'),
        ("a { content: '\\'/* stays */' }", "a { content:'\\'/* stays */' }"),
        ("a { background: url(x/*y*/z.png) }", "a { background:url(x/*y*/z.png) }"),
        ('a { content: "on\\\n   and on" }', 'a { content:"on\\\n   and on" }'),
        ("a { } /* never ends", "a { } /* never ends"),
        ('a { content: "x, y: z" }', 'a { content:"x, y: z" }'),
        ("a :hover, .b\\: c { d: calc(1px + 2px) e }", "a :hover,.b\\: c { d:calc(1px + 2px) e }"),
    ],
)
def test_a_style_sheet_is_published_without_comments_and_indents(sheet: str, published: str) -> None:
    """What a browser reads stays the same (CSS Syntax Level 3, section 4.3): strings and addresses are no comments."""
    assert squeeze_sheet(sheet.encode()).decode() == published


def test_our_own_style_sheet_keeps_its_rules() -> None:
    """As many declarations as before, and a quarter of its bytes less."""
    whole = (find_themes() / "margin" / "margin.css").read_bytes()
    bare = squeeze_sheet(whole)
    without = re.sub(rb"/\*.*?\*/", b"", whole, flags=re.DOTALL)
    assert b"".join(bare.split()) == b"".join(without.split())
    assert len(bare) < 0.75 * len(whole)


def read_tokens(nodes: Iterable[Any]) -> list[Any]:
    """What tinycss2 reads (CSS Syntax Level 3), but for comments, and blanks at ends and beside what parts anyway."""
    found: list[Any] = []
    for node in nodes:
        inside = getattr(node, "content", None) or getattr(node, "arguments", None)
        token = (node.type, getattr(node, "name", ""), read_tokens(inside)) if inside else node.serialize()
        if node.type == "comment" or (node.type == "whitespace" and parts_behind(found)):
            continue
        if (token == ";" or node.type == "{} block") and found and found[-1] == " ":
            found.pop()
        found.append(" " if node.type == "whitespace" else token)
    return found[:-1] if found and found[-1] == " " else found


def parts_behind(found: list[Any]) -> bool:
    """Whether a blank behind these means nothing."""
    return not found or found[-1] in (",", ":", ";", " ") or found[-1][0] == "{} block"


@pytest.mark.parametrize("theme", ["margin", "book"])
def test_a_squeezed_sheet_reads_the_same(theme: str) -> None:
    """Every rule, selector and value of our own sheets, as another reader has them."""
    for path in (find_themes() / theme).glob("*.css"):
        whole = path.read_bytes()
        before, after = (
            read_tokens(tinycss2.parse_component_value_list(sheet.decode())) for sheet in (whole, squeeze_sheet(whole))
        )
        assert len(before) > 10
        assert after == before


def test_a_theme_that_sets_a_book_makes_no_site(tmp_path: Path) -> None:
    """Named for a site, it is refused where it was named, and the remedy says what makes the book; margin makes one."""
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    settings = (log / "log.yaml").read_text()
    (log / "log.yaml").write_text(settings.replace("site: {", "site: {theme: book, "))
    for command in ("check", "publish"):
        result = run(command, log, "--as-of", "2024-11-30")
        assert result.exit_code == 1
        assert "log.yaml:5:15: the theme `book` is for one long document and makes no site" in result.output
        assert "`buildlog book` sets the book" in result.output and "1 error" in result.output
    assert not (log / "site").exists()
    margin, _ = load_theme("margin", place=PLACE)
    assert margin is not None and margin.makes_sites


# ── what templates were compiled to ──────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def compiled(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The templates that were compiled since, by name, as in a process that has just begun and may keep its work."""
    names: list[str] = []
    compile_one = jinja2.Environment.compile

    def note(self: jinja2.Environment, source: str, name: str, *rest: str) -> object:
        names.append(name)
        return compile_one(self, source, name, *rest)

    monkeypatch.setattr(jinja2.Environment, "compile", note)
    monkeypatch.setattr("sys.dont_write_bytecode", False)
    return names


def begin_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if the program had been started anew: what it had in memory is gone."""
    monkeypatch.setattr(templates, "_COMPILED", templates._Compiled())


def test_a_template_is_compiled_once(themes: Path, compiled: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither the next site of this process compiles it again, nor the next process."""
    for _ in range(2):
        begin_anew(monkeypatch)
        for _ in range(2):
            assert load("ground", themes).render("page.html", {"word": "x"}) == "ground x"
    assert compiled == ["page.html"]


def test_a_changed_template_is_compiled_again(
    themes: Path, compiled: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its words decide, in memory and on disk, and not its time."""
    for word in ("one", "two"):
        write(themes, {"ground/page.html": word})
        begin_anew(monkeypatch)
        assert load("ground", themes).render("page.html", {}) == word
        write(themes, {"ground/page.html": word.upper()})
        assert load("ground", themes).render("page.html", {}) == word.upper()
    assert len(compiled) == 4


@pytest.mark.parametrize("length", [0, 2, len(bc_magic), len(bc_magic) + 9, -20])
def test_what_is_kept_of_templates_may_be_cut_short(
    length: int, themes: Path, compiled: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In its head, before or in the checksum behind that, or in the code: it is compiled again."""
    load("ground", themes).render("page.html", {"word": "x"})
    (kept,) = themes.rglob("*.pyc")
    kept.write_bytes(kept.read_bytes()[:length])
    begin_anew(monkeypatch)
    assert load("ground", themes).render("page.html", {"word": "x"}) == "ground x"
    assert compiled == ["page.html"] * 2


def test_nothing_is_kept_where_python_keeps_nothing(
    themes: Path, compiled: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who forbids compiled modules on disk gets no compiled templates there either; in memory they are kept."""
    monkeypatch.setattr("sys.dont_write_bytecode", True)
    for _ in range(2):
        load("ground", themes).render("page.html", {"word": "x"})
    assert compiled == ["page.html"]
    assert not [*themes.rglob("*.pyc")]


def test_nothing_of_a_log_s_own_theme_is_kept(themes: Path, tmp_path: Path, compiled: list[str]) -> None:
    """Its templates may be a stranger's: they and what they extend are compiled for the sandbox each time."""
    log = write(tmp_path / "log", {"theme/page.html": '{% extends "ground/page.html" %}'})
    for _ in range(2):
        load("ground", themes, log).render("page.html", {"word": "x"})
    assert compiled == ["page.html"] * 4  # the log's own and the one that it extends, twice
    assert not [*tmp_path.rglob("*.pyc")]


class View:
    """What a page is made of."""

    words = "Pump off"


@pytest.mark.parametrize("own", [False, True])
def test_a_page_lets_go_of_its_view(themes: Path, tmp_path: Path, own: bool) -> None:
    """Without a search for cycles, which no command makes: a macro would hold the view of its page to the end."""
    macro = "{% macro tell(it) %}{{ say('%(words)s', words=it.words) }}{% endmacro %}"
    text = macro + "{% for n in (1, 2) %}{{ tell(view) }}{% endfor %}"
    log = write(tmp_path / "log", {"theme/tell.html": text}) if own else None
    write(themes, {"ground/tell.html": text})
    theme = load("ground", themes, log)
    view = View()
    left = weakref.ref(view)
    gc.disable()
    try:
        assert theme.render("tell.html", {"view": view}) == "Pump offPump off"
        del view
        assert left() is None
    finally:
        gc.enable()


class Shown:
    """What says itself how it stands in HTML."""

    def __html__(self) -> str:
        return "<b>x</b>"


@given(st.one_of(st.text(), st.text().map(Markup), st.integers(), st.none(), st.builds(Shown)))
def test_a_template_of_ours_writes_what_jinja_would(value: object) -> None:
    """Whatever a value is, it stands in a page as MarkupSafe, which Jinja asks, writes it."""
    assert str(templates._DirectSpeaking.write_text(value)) == str(escape(value))


@pytest.mark.parametrize("text", ["{{ view.wrods }}", "{{ view.words.first }}", "{{ nobody }}"])
def test_a_field_that_is_not_there_is_an_error(themes: Path, text: str) -> None:
    """In a template that comes with the program, which asks as Python does, as in a log's own."""
    write(themes, {"ground/page.html": text})
    with pytest.raises((AttributeError, jinja2.UndefinedError)):
        load("ground", themes).render("page.html", {"view": View()})


def test_what_another_edition_compiled_is_compiled_again(
    themes: Path, compiled: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same template may be other code with another version of the program."""
    for edition in ("one", "two"):
        monkeypatch.setattr(templates, "EDITION", edition)
        begin_anew(monkeypatch)
        assert load("ground", themes).render("page.html", {"word": "x"}) == "ground x"
    assert compiled == ["page.html"] * 2
