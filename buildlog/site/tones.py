"""The colour that stands where a picture will be: a class in the page, and a style sheet of the classes in use.

The site's policy allows no inline style, so a colour reaches a page by name: three steps of red, green and blue, eight
of each, as in `tone-352`. Words that stand in for a missing picture keep a contrast of at least 4.5 : 1 on it.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

PATH = "theme/tones.css"
"In the site, beside the theme's own sheets."
STEPS = 8
"Of each channel: a placeholder is off by at most 18 of 255."


@lru_cache(maxsize=4096)
def name_tone(colour: str) -> str:
    """The class of a colour `#rrggbb`."""
    channels = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "tone-" + "".join(str(round(channel * (STEPS - 1) / 255)) for channel in channels)


def write_tones(tones: Iterable[str]) -> bytes:
    """The style sheet for these classes, each once and in order."""
    return "".join(f".{tone}{{{_style(tone)}}}\n" for tone in sorted(set(tones))).encode()


def _style(tone: str) -> str:
    levels = [round(int(step) * 255 / (STEPS - 1)) for step in tone.removeprefix("tone-")]
    ink = "#000" if _lightness(levels) > 0.179 else "#fff"  # where black and white are equally far away
    return f"background-color:#{bytes(levels).hex()};color:{ink}"


def _lightness(levels: Iterable[int]) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    linear = [level / 255 / 12.92 if level <= 10 else ((level / 255 + 0.055) / 1.055) ** 2.4 for level in levels]
    return sum(weight * value for weight, value in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
