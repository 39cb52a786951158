"""The picture that stands beside a link to the site: the machine, what it is called and what state it is in.

Drawn from a published picture, in which what must not be seen is filled and nothing else is left, and from words that
readers see anyway. Kept in the cache of photos by all that decides it, so that the same card is drawn once.
"""

from __future__ import annotations

import hashlib
import json
import os
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.frozen import frozen
from buildlog.photos.recipe import Variant

if TYPE_CHECKING:
    from PIL import Image, ImageDraw, ImageFont

WIDTH, HEIGHT = 1200, 630
"Pixels. Programs that show links cut a picture to 1.91 : 1 or thereabouts; common practice, no source."
EDITION = "1"
"Changes when the same card is drawn in another way than before."
PICTURE_HEIGHT = 426
"Pixels of the machine's picture, from the top."
SKY = 0.78
"Of what is cut off a picture that is too high, the share above: machines stand on the ground."
MARGIN = 132
"Pixels from the left to the margin line."
TEXT = MARGIN + 36
"Pixels from the left to the words."
RULE = 38
"Pixels between two feint rules, on which the small words stand."
PAPER, INK, SOFT, FEINT, MARK = "#f4f0e5", "#1b2836", "#556069", "#c6ced0", "#a3153b"
"The colours of the theme in the light."
NAME_SIZES = (72, 62, 54, 46)
"Pixels of the name's letters: the largest at which it fits on one line."
STATE_SIZES = (29, 27, 25)
"The same of the sentence, on two lines: at a third of its width, as on a phone, it can still be read."
MOST_STATE_LINES = 2
QUALITY = 82
"Of the JPEG: some 100 kB with a photo."


@frozen
class Card:
    """What is drawn."""

    name: str
    "of the machine, as the owner calls it"
    state: str
    "one sentence on the state it is in; empty: none"
    picture: Variant | None
    "of the machine; None: the words stand alone"
    font: Path | None
    "its letters; None: without words, and words in other letters are left out"


def find_card(card: Card, cache: Path | None) -> bytes:
    """The card as a JPEG: from the cache where it was drawn before, else drawn, and kept there."""
    if cache is None:
        return draw_card(card)
    from buildlog.photos.cache import is_whole, keep, locate, name_variant
    from buildlog.photos.index import Index
    from buildlog.photos.variants import Developed, Encoded

    key = _make_key(card)
    try:
        with Index(cache) as index:
            kept = index.find_entries((key,)).get(key)
            if kept is None or not is_whole(str(cache), key, kept):
                content = draw_card(card)
                drawn = Encoded(edge=WIDTH, width=WIDTH, height=HEIGHT, format="JPEG", content=content)
                keep(str(cache), index, key, Developed(encoded=(drawn,), width=WIDTH, height=HEIGHT, colour=PAPER))
                return content
            return Path(locate(str(cache), key) + name_variant(kept.files[0])).read_bytes()
    except OSError:  # a cache that cannot be used costs time and nothing else
        return draw_card(card)


def _make_key(card: Card) -> str:
    """64 hexadecimal digits, of all that decides what is drawn."""
    # The name in the cache has the whole key of the photo; where it lies and which entry shows it is not among it.
    picture = os.path.basename(card.picture.stored) if card.picture else ""
    font = hashlib.sha256(card.font.read_bytes()).hexdigest() if card.font else ""
    return hashlib.sha256(json.dumps(["card", EDITION, card.name, card.state, picture, font]).encode()).hexdigest()


def draw_card(card: Card) -> bytes:
    """The card as a JPEG with nothing in it but its pixels; the same card gives the same bytes."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (WIDTH, HEIGHT), PAPER)
    pen = ImageDraw.Draw(image)
    shown = _find_picture(card)
    top = PICTURE_HEIGHT if shown else 0
    for y in range(HEIGHT - RULE // 2, top, -RULE):
        pen.line([(0, y), (WIDTH, y)], fill=FEINT, width=1)
    if shown:
        image.paste(shown, (0, 0))
    pen.line([(MARGIN, 0), (MARGIN, HEIGHT)], fill=MARK, width=5)
    _write_words(card, pen, top)
    content = BytesIO()
    image.save(content, "JPEG", quality=QUALITY, progressive=True)
    return content.getvalue()


def _find_picture(card: Card) -> Image.Image | None:
    """The machine as wide as the card, cut above and below; None where there is no picture."""
    from PIL import Image, ImageOps

    # One that was only foreseen lies nowhere yet.
    if card.picture is None or not card.picture.stored:
        return None
    with Image.open(card.picture.stored) as found:
        shown = found.convert("RGB")
        return ImageOps.fit(shown, (WIDTH, PICTURE_HEIGHT), Image.Resampling.LANCZOS, centering=(0.5, SKY))


def _write_words(card: Card, pen: ImageDraw.ImageDraw, top: int) -> None:
    """The name, and under it the state, on the rules."""
    from PIL import ImageFont

    if card.font is None:
        return

    def load(size: int) -> ImageFont.FreeTypeFont:
        # The plain way of setting letters: the other one hangs on a library that a system may have or not.
        return ImageFont.truetype(str(card.font), size, layout_engine=ImageFont.Layout.BASIC)

    room = WIDTH - TEXT - 48
    state, name = (words if _has_letters(load(NAME_SIZES[-1]), words) else "" for words in (card.state, card.name))
    fonts = [*map(load, STATE_SIZES)]
    small = next((font for font in fonts if len(_break_lines(font, state, room)) <= MOST_STATE_LINES), fonts[-1])
    fonts = [*map(load, NAME_SIZES)]
    large = next((font for font in fonts if font.getlength(name) <= room), fonts[-1])
    # On the rules, but for a hair: the name on the third from below, or in the middle where there is no picture.
    base = HEIGHT - RULE // 2 - (2 if top else 7) * RULE
    pen.text((TEXT, base - 13), _cut(large, name, room), fill=INK, font=large, anchor="ls")
    for number, line in enumerate(_cut_lines(small, _break_lines(small, state, room), room), start=1):
        pen.text((TEXT, base + number * RULE - 6), line, fill=SOFT, font=small, anchor="ls")


def _has_letters(font: ImageFont.FreeTypeFont, words: str) -> bool:
    """Whether the font has every letter: a name in boxes is worse than none."""
    # What no font has looks like whatever this one lacks.
    lacking = bytes(font.getmask("\uffff"))
    return not any(bytes(font.getmask(c)) == lacking for c in set(words) - {" "})


def _break_lines(font: ImageFont.FreeTypeFont, text: str, room: int) -> list[str]:
    """The words on as many lines as they need."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and font.getlength(longer) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _cut_lines(font: ImageFont.FreeTypeFont, lines: list[str], room: int) -> list[str]:
    """As many of the lines as there is room for, the last with an ellipsis where there are more."""
    shown, rest = lines[: MOST_STATE_LINES - 1], lines[MOST_STATE_LINES - 1 :]
    return [_cut(font, line, room) for line in (*shown, *([" ".join(rest)] if rest else []))]


def _cut(font: ImageFont.FreeTypeFont, text: str, room: int) -> str:
    """The text, with an ellipsis where it is wider than its room."""
    if font.getlength(text) <= room:
        return text
    while text and font.getlength(f"{text}…") > room:
        text = text[:-1]
    return f"{text.rstrip()}…"
