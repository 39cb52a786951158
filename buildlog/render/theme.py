"""Where a page's templates, styles and scripts come from.

A theme is a folder with templates, static files and `theme.yaml`; it may extend another one. A log may replace single
files in its own `theme/` folder, which is a stranger's code when the log is a stranger's: its templates run in Jinja's
sandbox and nothing outside the folder is read. What the pages say is decided elsewhere.
"""

from __future__ import annotations

import os
import re
import traceback
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from buildlog.problems import Place, Problem, suggest
from buildlog.render.catalogue import ENGLISH, FOLDER, IN_ENGLISH, Catalogue, CatalogueRefused, find_catalogue

if TYPE_CHECKING:
    import jinja2

    from buildlog.compute.figures import Figures

STATIC_SUFFIXES = frozenset(".css .js .svg .png .webp .jpg .ico .woff2 .woff .ttf .otf".split())
"Files of a theme that are published as they are; all others are templates, or notes to whoever edits the theme."
TEMPLATE_SUFFIXES = frozenset({".html", ".xml", ".txt"})
STATIC_FOLDER = "theme"
"Where the static files stand in the site."
OWN_FOLDER = "theme"
"Where a log keeps the files by which it differs from its theme."
FRONT = "front.html"
"The template of the page that every site has."
OWN_SHEET = "own.css"
"A style sheet of the log's own that every page links last: what is changed stands in it alone."
# More than anybody stacks on purpose; each is one more folder in which every template is looked for.
MOST_ANCESTORS = 8
"Themes in one chain."


# Not `@frozen` like other values: that gives slots, and a cached property needs somewhere to be kept.
@dataclass(frozen=True, kw_only=True)
class Theme:
    """Templates and static files, with everything looked up and compiled once."""

    name: str
    "as `site: {theme: …}` names it"
    title: str
    "as readers may see it"
    folders: tuple[Path, ...]
    "where files are sought, first one first: the log's own, the theme, what it extends"
    own: Path | None = None
    "the log's own folder, where it has one: its files may be a stranger's"
    catalogue: Catalogue = IN_ENGLISH
    "the words of its pages"

    @cached_property
    def environment(self) -> jinja2.Environment:
        """Jinja's, loaded when the first template is asked for: a publish that changes words may need none.

        `name/file.html` means the file of that theme, whoever replaces it: a template can extend the one it replaces.
        """
        from buildlog.render.templates import make_environment

        made = make_environment(self.folders, self.own is not None, self.catalogue)
        made.globals["own_sheet"] = self.own is not None and (self.own / OWN_SHEET).is_file()
        return made

    def render(self, template: str, values: Mapping[str, Any]) -> str:
        """The page that a template makes of a view; raises what Jinja raises, see `place_failure`."""
        made = self.environment.get_template(template)
        context = made.new_context(dict(values))
        try:
            return self.environment.concat(made.root_render_func(context))
        except Exception:
            self.environment.handle_exception()
        finally:
            # A macro of the template holds what it is called in, which holds the macro and the whole view: in a command
            # that never searches for cycles, the views of all such pages would stay to its end.
            context.parent.clear()
            context.vars.clear()

    @property
    def makes_sites(self) -> bool:
        """Whether it has the pages of a site, and is not for a document of another kind."""
        return (self.folders[-1] / FRONT).is_file()

    def read_statics(self) -> dict[str, bytes]:
        """The files that are published as they are, but for the comments of style sheets; by their path in the site."""
        found: dict[str, Path] = {}
        # The nearest last: what the log or the theme has takes the place of what it extends.
        for folder in reversed(self.folders):
            for path in _walk(folder):
                if path.suffix.lower() in STATIC_SUFFIXES:
                    found[f"{STATIC_FOLDER}/{path.relative_to(folder).as_posix()}"] = path
        return {name: _read_static(path) for name, path in sorted(found.items())}


def _read_static(path: Path) -> bytes:
    data = path.read_bytes()
    # No page shows anything before its style sheet is there, and a quarter of ours speaks to whoever edits it.
    return squeeze_sheet(data) if path.suffix.lower() == ".css" else data


_WHOLE = rb"""("(?:\\.|[^"\\])*"|'(?:\\.|[^'\\])*'|url\([^"')]*\))"""
COMMENT = re.compile(_WHOLE + rb"|/\*.*?\*/", re.DOTALL)
"A string or a bare address, which stay, or a comment (CSS Syntax Level 3, sections 4.3.2, 4.3.5, 4.3.6)."
INDENTED = re.compile(rb"(?<!\\)\s*\n\s*")
"A line end with the blanks on both sides; not behind a backslash, by which a string goes on."
ENDED = re.compile(rb" ?(\{)\n|(?<=[;}])\n|(?<!\\)\n(?=\})")
"A line end beside what parts rules and declarations; a string has none but behind a backslash."

SPACED = re.compile(_WHOLE + rb"|(?<=[^\\][,:])[ \n]+", re.DOTALL)
"The same, or the blanks behind a comma or a colon that is not part of a name; in front of a colon they mean something."


def squeeze_sheet(sheet: bytes) -> bytes:
    """A style sheet without comments, blank lines, indents, and blanks that part nothing: the same to every browser."""
    # A comment parts what stands on both sides of it, as a blank does.
    bare = COMMENT.sub(lambda found: found[1] or b" ", sheet)
    lines = ENDED.sub(rb"\1", INDENTED.sub(b"\n", bare).strip())
    return SPACED.sub(lambda found: found[1] or b"", lines)


def find_themes() -> Path:
    """The folder of all themes: beside the package in a checkout, inside it once installed."""
    # Looked for, not configured: a checkout works without being installed.
    package = Path(__file__).parent.parent
    inside = package / "themes"
    return inside if inside.is_dir() else package.parent / "themes"


def load_theme(
    name: str, *, place: Place, log: Path | None = None, themes: Path | None = None, language: str = ENGLISH
) -> tuple[Theme | None, tuple[Problem, ...]]:
    """The theme of that name with the log's own files before it, or what is wrong with it.

    `place` is where the name was given. Pages speak `language` where there is a catalogue of its words.
    """
    themes = themes or find_themes()
    try:
        chain = _read_chain(name, themes, place)
        own = _find_own(log)
        folders = tuple([own] if own else []) + tuple(themes / link["name"] for link in chain)
        catalogue = _find_catalogue(language, own, themes)
        theme = Theme(
            name=name,
            title=chain[0]["title"],
            folders=folders,
            own=own,
            catalogue=catalogue,
        )
        if own:
            _compile_own(theme.environment, own)
    except _Refused as refused:
        return None, (refused.problem,)
    return theme, ()


def blame_template(error: Exception, figures: Figures) -> Problem:
    """A failed rendering as the owner's problem; raised again where it is ours."""
    folder = figures.log.folder
    # A log that was not read from a folder has no templates of its own.
    problem = place_failure(error, folder) if folder else None
    if problem is None:
        raise error
    return problem


def place_failure(error: Exception, log: Path) -> Problem | None:
    """A failed rendering as the owner's problem, when it happened in the log's own template; else None."""
    import jinja2

    # Resolved as in `_find_own`, since that is the path by which templates were loaded.
    own = Path(os.path.realpath(log), OWN_FOLDER)
    if isinstance(error, jinja2.TemplateSyntaxError):
        field_places = [(error.filename, error.lineno)]
    else:
        field_places = [(frame.filename, frame.lineno or 1) for frame in traceback.extract_tb(error.__traceback__)]
    # Jinja rewrites the traceback: it names templates and their lines, not the code compiled from them.
    inside = [(name, line) for name, line in field_places if name and Path(name).is_relative_to(own)]
    if not inside:
        return None
    # The innermost: the template that failed, not the one that included it.
    name, line = inside[-1]
    file = f"{OWN_FOLDER}/{Path(str(name)).relative_to(own).as_posix()}"
    return _refuse_template(file, line, error).problem


class _Refused(Exception):
    """Ends the loading of a theme with the problem to report."""

    def __init__(self, rule: str, message: str, place: Place, help: str = "") -> None:
        self.problem = Problem(rule=rule, message=message, place=place, help=help)


def _read_chain(name: str, themes: Path, place: Place) -> list[dict[str, str]]:
    """The theme and those it extends, nearest first."""
    chain: list[dict[str, str]] = []
    wanted: str | None = name
    while wanted:
        # Themes may extend each other in a ring, and then there is no end to the chain.
        if wanted in [link["name"] for link in chain] or len(chain) == MOST_ANCESTORS:
            raise _Refused("theme-chain", f"the theme `{name}` extends itself, through `{wanted}`", place)
        chain.append(_read_settings(wanted, themes, place))
        wanted = chain[-1].get("extends")
    return chain


def _read_settings(name: str, themes: Path, place: Place) -> dict[str, str]:
    path = themes / name / "theme.yaml"
    # The name comes from a log, which may be a stranger's: `../` and the like must lead nowhere.
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name) or not path.is_file():
        known = [folder.parent.name for folder in themes.glob("*/theme.yaml")]
        raise _Refused("unknown-theme", f"there is no theme `{name}`", place, suggest(name, known))
    import yaml

    # PyYAML's own types will do here, unlike in a log: there are three texts, and no number or date.
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        settings = yaml.load(path.read_text(encoding="utf-8"), Loader=loader)
    except (yaml.YAMLError, UnicodeDecodeError):
        settings = None
    known_keys = {"name", "title", "extends"}
    well_formed = isinstance(settings, dict) and settings.keys() <= known_keys
    if not well_formed or settings.get("name") != name or not all(isinstance(v, str) for v in settings.values()):
        message = f"the settings of the theme `{name}` are not well-formed"
        raise _Refused("theme-settings", message, Place(f"themes/{name}/theme.yaml"), f"name: {name}\ntitle: …")
    return {"title": name, **settings}


def _find_own(log: Path | None) -> Path | None:
    """The log's own folder of theme files, when it has one and nothing in it leads out."""
    own = Path(os.path.realpath(log), OWN_FOLDER) if log else None
    if own is None or not own.is_dir():
        return None
    # Also one that stays inside: a slip in following it would publish a file of the owner's, and a copy is no trouble.
    for link in _find_links(own):
        file = Path(OWN_FOLDER, link.relative_to(own)).as_posix()
        raise _Refused(
            "leads-out", f"`{file}` is a link; a theme must be made of plain files", Place(file), "copy the file"
        )
    return own


def _find_catalogue(language: str, own: Path | None, themes: Path) -> Catalogue:
    """The words of a language, the log's own ones first."""
    try:
        return find_catalogue(language, [*([own / FOLDER] if own else []), themes / FOLDER])
    except CatalogueRefused as refused:
        at = refused.file
        file = f"{OWN_FOLDER if own and at.is_relative_to(own) else themes.name}/{FOLDER}/{at.name}"
        message = f"these words of pages cannot be used: {refused}"
        help = "correct that line; what stands in brackets behind a `%` must be as in the English text"
        raise _Refused("own-words", message, Place(file, refused.line), help) from None


def _find_links(folder: Path) -> Iterator[Path]:
    """Every link in a folder, hidden ones and the folder itself included, none of them entered."""
    for base, folders, names in os.walk(folder):
        yield from (path for path in (Path(base, name) for name in ["", *folders, *names]) if path.is_symlink())


def _walk(folder: Path) -> Iterator[Path]:
    """The files below a folder in order, hidden ones left out."""
    for base, folders, names in os.walk(folder):
        # Sorted, or the order would be the disk's; hidden files are left behind by editors and systems.
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        yield from (Path(base, name) for name in sorted(names) if not name.startswith("."))


def _compile_own(environment: jinja2.Environment, own: Path) -> None:
    """Compile the log's own templates now, so that a slip in one is reported with all other problems."""
    import jinja2

    for path in _walk(own):
        name = path.relative_to(own).as_posix()
        try:
            if path.suffix.lower() in TEMPLATE_SUFFIXES:
                environment.get_template(name)
        except (jinja2.TemplateSyntaxError, UnicodeDecodeError) as error:
            line = error.lineno if isinstance(error, jinja2.TemplateSyntaxError) else 1
            raise _refuse_template(f"{OWN_FOLDER}/{name}", line, error) from None


def _refuse_template(file: str, line: int, error: Exception) -> _Refused:
    import jinja2

    # The first line alone: what follows says where it was, which the problem's place does better.
    words = (str(error).splitlines() or [type(error).__name__])[0].rstrip(".")
    if isinstance(error, jinja2.TemplateNotFound):  # its words are the name alone
        words = f"there is no template `{words}`"
    message = f"this template does not work: {words}"
    return _Refused("own-template", message, Place(file, line), "correct it, or delete the file to use the theme's own")
