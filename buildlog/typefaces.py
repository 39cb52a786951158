"""Which letters does a site bring along? A serif and a sans from packages that have fonts, cut down to what pages need.

The letters do not hang on what a log says, but on its language alone: fonts that were cut down to the words of one
would tell which rare letters its closed parts have. What they lack, as Japanese or Arabic, the reader's system has.

Under the SIL Open Font License 1.1 a changed font may not bear a name that is reserved, so the cut ones have names of
our own, and the licence lies beside them. To cut one takes a while: it is kept in the user's cache, known by the
versions of all that decides its bytes, and believed if its checksum holds. Nothing of a log is in it.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import msgspec

from buildlog.frozen import frozen
from buildlog.runs import prepare_python

EDITION = "2"
"Changes with what is made of the same fonts."
STATIC_FOLDER = "theme"
SHEET = "theme/type.css"
"Where the style sheet stands in a site that brings its own letters."
ASKS = "theme/type.js"
"The script by which a page asks for them before its style sheets have come."
LIBRARIES: Mapping[str, str] = {
    "fonttools": "fontTools",
    "brotli": "brotli",
    "font-source-serif-pro": "font_source_serif_pro",
    "font-source-sans-pro": "font_source_sans_pro",
}
"The distributions that decide the bytes, each with a module of it."


@frozen
class Face:
    """One font of the site."""

    file: str
    "its name in the site"
    family: str
    "what style sheets call it"
    style: str
    "`normal` or `italic`"
    weights: str
    "the weights that it stands for; of others the browser makes what it can"
    source: str
    "its file in the package of the family"
    # A third of a serif's bytes: seen in headings, and not in small letters.
    kerned: bool
    "whether pairs of letters keep their own distance"
    scale: int = 100
    "percent of its size, so that small print stays as large as a system's"


SERIF, SANS = "Log Serif", "Log Sans"
LICENCES = {SERIF: "serif-licence.txt", SANS: "sans-licence.txt"}
"The text under which each family may be passed on, beside its files."
FACES = (
    Face(file="serif.woff2", family=SERIF, style="normal", weights="400",
         source="SourceSerifPro-Regular.ttf", kerned=True),
    Face(file="serif-italic.woff2", family=SERIF, style="italic", weights="400",
         source="SourceSerifPro-It.ttf", kerned=True),
    Face(file="sans.woff2", family=SANS, style="normal", weights="400",
         source="SourceSansPro-Regular.ttf", kerned=False, scale=108),
    Face(file="sans-bold.woff2", family=SANS, style="normal", weights="600 700",
         source="SourceSansPro-Semibold.ttf", kerned=False, scale=108),
)  # fmt: skip

WHOLE = (
    Face(file="SourceSerifPro-Regular.ttf", family=SERIF, style="normal", weights="400",
         source="SourceSerifPro-Regular.ttf", kerned=True),
    Face(file="SourceSerifPro-It.ttf", family=SERIF, style="italic", weights="400",
         source="SourceSerifPro-It.ttf", kerned=True),
    Face(file="SourceSerifPro-Semibold.ttf", family=SERIF, style="normal", weights="600",
         source="SourceSerifPro-Semibold.ttf", kerned=True),
    Face(file="SourceSansPro-Regular.ttf", family=SANS, style="normal", weights="400",
         source="SourceSansPro-Regular.ttf", kerned=True),
    Face(file="SourceSansPro-Semibold.ttf", family=SANS, style="normal", weights="600",
         source="SourceSansPro-Semibold.ttf", kerned=True),
)  # fmt: skip
"Those of a printed book, as they come: whatever sets its pages takes the letters out of them that it needs."

LETTERS = frozenset([*range(0x20, 0x7F), *range(0xC0, 0x100), *map(ord, "\u00a0£€¥§«»°±²³µ·×½¼¾–—‘’“”„…•←→−Ω≤≥")])
"ASCII, the letters of Latin-1 (ISO 8859-1), and the signs that pages set."
MORE = {
    **dict.fromkeys("az bs cs cy eo et hr hu lt lv mt pl ro sk sl sq tr".split(), range(0x100, 0x180)),
    **dict.fromkeys("be bg kk mk ru sr uk".split(), range(0x400, 0x460)),
    "el": range(0x384, 0x3CF),
}
"Blocks of Unicode that a language needs beyond those: Latin Extended-A, Cyrillic, Greek and Coptic."

FIRST_SEEN = ("serif.woff2", "sans.woff2")
"Those that the first screen of every page is set in; the others come when they are needed."

SAMPLE = (
    "the pump came off with the tray still in place and the old seal was hard so it wept when warm"
    " a new one is on order for the rear axle"
)
"Letters as often as English has them, about; by their mean width a font of the system is made as wide as ours."


@frozen
class StandIn:
    """A font of many systems that is shown until ours has come, made as wide and as high as it."""

    family: str
    "the font that it stands in for"
    name: str
    "what style sheets call it"
    locals: tuple[str, ...]
    "names under which systems have it, or one of the same widths"
    # Not read from the font, which this machine need not have; a test does, where it has.
    width: float
    "mean width of the letters of `SAMPLE`, in em"
    digits: float
    "width of each digit, in em: pages have lines of little else, and a font may have wide ones to its letters"


STAND_INS = (
    StandIn(family=SERIF, name="Log Serif Times", width=0.3971, digits=0.5,
            locals=("Times New Roman", "TimesNewRomanPSMT", "Liberation Serif")),
    StandIn(family=SERIF, name="Log Serif DejaVu", locals=("DejaVu Serif",), width=0.5082, digits=0.6362),
    StandIn(family=SANS, name="Log Sans Arial", width=0.4372, digits=0.5562,
            locals=("Arial", "ArialMT", "Liberation Sans")),
    StandIn(family=SANS, name="Log Sans DejaVu", locals=("DejaVu Sans",), width=0.502, digits=0.6362),
)  # fmt: skip
GENERIC = {SERIF: ("--book", "serif"), SANS: ("--plain", "sans-serif")}
"The token of the style sheet that names each, and what stands behind it where nothing else is there."


def find_missing() -> str:
    """The distribution that is not there, without which no font is made; empty: all are."""
    return next((name for name, module in LIBRARIES.items() if not _is_there(module)), "")


@lru_cache(maxsize=8)
def _is_there(module: str) -> bool:
    return find_spec(module) is not None


@lru_cache(maxsize=1)
def _find_versions() -> tuple[str, ...]:
    # Only now: it reads e-mail headers and zip files, and nobody else needs that to publish.
    from importlib.metadata import version

    return tuple(f"{name} {version(name)}" for name in LIBRARIES)


def make_typefaces(language: str) -> dict[str, bytes]:
    """The fonts, their style sheet and licences, by path in the site; the same bytes for the same language everywhere.

    Not to be asked where `find_missing` names something.
    """
    return dict(_make(frozenset(MORE.get(language.lower().split("-")[0], ()))))


def read_whole_faces() -> dict[str, bytes]:
    """The fonts in `WHOLE` by path in the site; not to be asked where `find_missing` names something."""
    folders = _find_folders()
    return {f"{STATIC_FOLDER}/{face.file}": (folders[face.family] / face.source).read_bytes() for face in WHOLE}


@lru_cache(maxsize=8)
def _make(more: frozenset[int]) -> tuple[tuple[str, bytes], ...]:
    letters = LETTERS | more
    decides = [EDITION, repr(FACES), repr(STAND_INS), repr(sorted(letters)), *_find_versions()]
    folder = _find_cache() / hashlib.sha256("\n".join(decides).encode()).hexdigest()[:32]
    names = ("type.css", "type.js", *(face.file for face in FACES), *LICENCES.values())
    files = {name: content for name in names if (content := _recall(folder / name)) is not None}
    if len(files) < len(names):
        files = _cut_apart(letters)
        for name, content in files.items():
            _keep(folder / name, content)
    return tuple((f"{STATIC_FOLDER}/{name}", files[name]) for name in sorted(files))


# ── cut ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def _cut_apart(letters: frozenset[int]) -> dict[str, bytes]:
    """`_cut_all` in a process of its own: what it loads and leaves behind, 24 MiB, is gone before pages are made."""
    command, environment = prepare_python("-m", "buildlog.typefaces")
    given = json.dumps(sorted(letters)).encode()
    try:
        done = subprocess.run(command, input=given, capture_output=True, env=environment, check=True)
        return msgspec.msgpack.decode(done.stdout, type=dict[str, bytes])
    except (OSError, subprocess.SubprocessError, msgspec.MsgspecError):
        return _cut_all(letters)


def _cut_all(letters: frozenset[int]) -> dict[str, bytes]:
    made: dict[str, bytes] = {}
    rules: list[str] = []
    fonts: dict[str, Any] = {}
    for face in FACES:
        font, made[face.file] = _cut(face, letters)
        if face.style == "normal":
            fonts.setdefault(face.family, (font, face.scale))
        rules.append(_write_face(face, font))
    rules += [_write_stand_in(one, *fonts[one.family]) for one in STAND_INS]
    for family, (token, generic) in GENERIC.items():
        stack = ", ".join(f'"{name}"' for name in (family, *(one.name for one in STAND_INS if one.family == family)))
        rules.append(f":root {{ {token}: {stack}, {generic}; }}")
    # Else some systems set each letter to a whole pixel, and quotation marks run into words.
    rules.append(":root { text-rendering: geometricPrecision; }")
    made["type.css"] = "\n".join(rules).encode() + b"\n"
    made["type.js"] = _write_asking()
    for family, folder in _find_folders().items():
        made[LICENCES[family]] = (folder / "LICENSE.txt").read_bytes()
    return made


def _cut(face: Face, letters: frozenset[int]) -> tuple[Any, bytes]:
    """A font with these letters alone, and its bytes as WOFF2."""
    # By which fontTools writes WOFF2; without it, it would say so behind the work.
    import brotli  # noqa: F401
    from fontTools import subset

    options = subset.Options()
    options.flavor = "woff2"
    options.hinting = False  # screens of today draw these sizes well without, and it is a third of the bytes
    options.layout_features = ["kern"] if face.kerned else []  # their figures are tabular as they are
    options.name_IDs = [0, 13, 14]  # who made it and under which licence, which has to stay
    options.notdef_outline = True
    options.recalc_timestamp = False  # the same bytes tomorrow
    font = subset.load_font(io.BytesIO((_find_folders()[face.family] / face.source).read_bytes()), options)
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=letters)
    cutter.subset(font)
    shape = "Italic" if face.style == "italic" else "Bold" if face.weights.startswith("600") else "Regular"
    whole = f"{face.family} {shape}"
    for number, text in ((1, face.family), (2, shape), (3, whole), (4, whole), (6, whole.replace(" ", ""))):
        font["name"].setName(text, number, 3, 1, 0x409)
    made = io.BytesIO()
    subset.save_font(font, made, options)
    return font, made.getvalue()


def _write_face(face: Face, font: Any) -> str:
    adjust = f" size-adjust: {face.scale}%;" if face.scale != 100 else ""
    return (
        f'@font-face {{ font-family: "{face.family}"; font-style: {face.style}; font-weight: {face.weights}; '
        f'font-display: swap;{adjust} {_write_heights(font, 100)} src: url("{face.file}") format("woff2"); }}'
    )


def _write_asking() -> bytes:
    """A script that asks for the letters of the first screen at once, where a browser would wait for all style sheets.

    So they are there when the page is first shown, and no line of it breaks anew. No `<link rel=preload>` in the page:
    from a disk nothing comes late, and there a browser refuses it (Fetch: a file has an opaque origin) and complains.
    """
    return f"""\
if (location.protocol !== "file:") {{
  for (const file of {json.dumps(FIRST_SEEN)}) {{
    const href = new URL(file, document.currentScript.src).href;
    const wanted = {{ rel: "preload", as: "font", type: "font/woff2", crossOrigin: "", href }};
    document.head.append(Object.assign(document.createElement("link"), wanted));
  }}
}}
""".encode()


def _write_stand_in(one: StandIn, font: Any, scale: int) -> str:
    """Its letters as wide as ours on average, and its lines as high: then nothing moves when ours come."""
    sources = ", ".join(f'local("{name}")' for name in one.locals)
    rules = []
    for measured, text, letters in ((one.width, SAMPLE, ""), (one.digits, "0123456789", " unicode-range: U+30-39;")):
        size = scale * measure_width(font, text) / measured
        rules.append(
            f'@font-face {{ font-family: "{one.name}"; size-adjust: {size:.2f}%; '
            f"{_write_heights(font, 100 * scale / size)}{letters} src: {sources}; }}"
        )
    return "\n".join(rules)


def _write_heights(font: Any, percent: float) -> str:
    """A font's own heights, said, since systems read them from different tables; of a stand-in before it is scaled."""
    em, heights = font["head"].unitsPerEm, font["hhea"]
    up, down, gap = (percent * value / em for value in (heights.ascent, -heights.descent, heights.lineGap))
    return f"ascent-override: {up:.2f}%; descent-override: {down:.2f}%; line-gap-override: {gap:.2f}%;"


def measure_width(font: Any, text: str = SAMPLE) -> float:
    """The mean width of a text's letters, in em."""
    names, widths = font.getBestCmap(), font["hmtx"]
    total: int = sum(widths[names[ord(letter)]][0] for letter in text)
    return total / len(text) / float(font["head"].unitsPerEm)


def _find_folders() -> dict[str, Path]:
    """Where the fonts of each family are, and their licence."""
    import font_source_sans_pro
    import font_source_serif_pro

    return {SERIF: Path(font_source_serif_pro.font_directory), SANS: Path(font_source_sans_pro.font_directory)}


# ── kept ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def _find_cache() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("buildlog", appauthor=False) / "type"


def _recall(path: Path) -> bytes | None:
    """What was kept, if it is whole."""
    try:
        data = path.read_bytes()
    except OSError:
        return None
    content, told = data[:-32], data[-32:]
    return content if hashlib.sha256(content).digest() == told else None


def _keep(path: Path, content: bytes) -> None:
    """Keep it for the next run, exchanged whole; where that is not possible it is cut again."""
    with contextlib.suppress(OSError):
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        beside = path.with_name(f"{path.name}.{os.getpid()}")
        beside.write_bytes(content + hashlib.sha256(content).digest())
        os.replace(beside, path)


if __name__ == "__main__":
    sys.stdout.buffer.write(msgspec.msgpack.encode(_cut_all(frozenset(json.load(sys.stdin)))))
