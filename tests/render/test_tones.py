"""The colour that stands where a picture will be: near to the picture's, by a class, with legible words on it."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.render.pages.photos import name_tone, write_tones


@pytest.mark.parametrize(
    ("colour", "tone", "rule"),
    [
        ("#000000", "tone-000", ".tone-000{background-color:#000000;color:#fff}"),
        ("#ffffff", "tone-777", ".tone-777{background-color:#ffffff;color:#000}"),
        # 107 × 7 ÷ 255 = 2.9 → 3, 150 × 7 ÷ 255 = 4.1 → 4, 60 × 7 ÷ 255 = 1.6 → 2; × 255 ÷ 7: 109, 146, 73
        ("#6b963c", "tone-342", ".tone-342{background-color:#6d9249;color:#000}"),
    ],
)
def test_tone(colour: str, tone: str, rule: str) -> None:
    """Eight steps of each channel, evenly from 0 to 255."""
    assert name_tone(colour) == tone
    assert write_tones([tone]) == f"{rule}\n".encode()


def test_each_class_once_and_in_order() -> None:
    """The sheet depends on which tones are in use, not on how often or where."""
    assert write_tones(["tone-777", "tone-000", "tone-777"]) == write_tones(["tone-000", "tone-777"])
    assert write_tones([]) == b""


def luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance, written out again."""
    total = 0.0
    for weight, at in ((0.2126, 1), (0.7152, 3), (0.0722, 5)):
        share = int(colour[at : at + 2], 16) / 255
        total += weight * (share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4)
    return total


@given(st.binary(min_size=3, max_size=3))
def test_near_and_legible(pixel: bytes) -> None:
    """No channel is off by more than half a step, 255 / 14, and words keep 4.5 : 1 (WCAG 2.2, SC 1.4.3)."""
    text = write_tones([name_tone("#" + pixel.hex())]).decode()
    found = re.fullmatch(r"\.tone-[0-7]{3}\{background-color:(#[0-9a-f]{6});color:(#000|#fff)\}\n", text)
    assert found
    ground, ink = found[1], found[2]
    assert max(abs(one - other) for one, other in zip(pixel, bytes.fromhex(ground[1:]), strict=True)) <= 255 / 14 + 0.5
    light, dark = sorted((luminance(ground), 0.0 if ink == "#000" else 1.0), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5
