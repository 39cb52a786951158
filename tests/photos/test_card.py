"""The picture for whoever shares the site: its size, its bytes, what is in it and what is not, and that it is kept."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, ImageChops

from buildlog.photos import card as card_module
from buildlog.photos.cache import prune_cache
from buildlog.photos.card import HEIGHT, MARGIN, MARK, PICTURE_HEIGHT, TEXT, WIDTH, Card, draw_card, find_card
from buildlog.photos.publish import PhotoWork
from tests.photos.pictures import BOX, make_one, read, request, save

LETTERS = Path("/usr/share/fonts/truetype/dejavu/DejaVuSerif.ttf")
"Of the fonts that the browser has in tests (`tests/browser/fonts.conf`): `tests/run` installs them."
CARD = Card(name="Old Tom", state="On the road since 13 July 2024; 2 faults open.", picture=None, font=LETTERS)


def opened(content: bytes) -> Image.Image:
    return Image.open(BytesIO(content))


def is_plain(image: Image.Image, box: tuple[int, int, int, int]) -> bool:
    """Whether nothing but paper and rules is there: no pixel as dark as a letter."""
    return min(low for low, _ in image.crop(box).convert("RGB").getextrema()) > 150  # type: ignore[misc]  # three bands


def test_the_size_that_programs_cut_to() -> None:
    """1200 × 630, as a JPEG that every program shows."""
    shown = opened(draw_card(CARD))
    assert (shown.size, shown.format, shown.mode) == ((1200, 630), "JPEG", "RGB")


def test_the_same_card_is_the_same_bytes(tmp_path: Path) -> None:
    """Drawn twice, and by way of a cache or of none; another word is another picture."""
    first = draw_card(CARD)
    assert draw_card(CARD) == first == find_card(CARD, tmp_path / "cache") == find_card(CARD, tmp_path / "cache")
    assert draw_card(replace(CARD, state="Off the road.")) != first


def test_what_was_drawn_is_not_drawn_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Found by all that decides it, in the cache of photos; what is damaged there, or cannot be kept, is drawn anew."""
    cache = tmp_path / "cache"
    first = find_card(CARD, cache)

    def refuse(card: Card) -> bytes:
        raise AssertionError("drawn twice")

    monkeypatch.setattr(card_module, "draw_card", refuse)
    assert find_card(CARD, cache) == first
    for other in (replace(CARD, name="Tom"), replace(CARD, state="Off the road."), replace(CARD, font=None)):
        with pytest.raises(AssertionError, match="drawn twice"):
            find_card(other, cache)
    (kept,) = cache.glob("??/*.jpg")
    kept.write_bytes(b"")
    monkeypatch.undo()
    assert find_card(CARD, cache) == first
    (tmp_path / "file").write_bytes(b"")
    assert find_card(CARD, tmp_path / "file") == first


def test_the_machine_stands_above_and_the_words_below(tmp_path: Path) -> None:
    """The picture fills the width, its hidden spots stay covered, and the margin line goes through all of it."""
    made = make_one(save(tmp_path / "x.jpg", "AB/CD", cell=800), tmp_path / "cache", hide=(BOX,))
    shown = opened(draw_card(replace(CARD, picture=made.variants[0])))
    assert read(shown.crop((0, 0, WIDTH, PICTURE_HEIGHT)), 2, 1) in ("AB", "CD")
    for y in (10, PICTURE_HEIGHT + 10, HEIGHT - 10):
        pixel = shown.getpixel((MARGIN, y))
        assert max(abs(a - b) for a, b in zip(pixel, bytes.fromhex(MARK[1:]), strict=True)) < 40, (y, pixel)
    below = (TEXT, PICTURE_HEIGHT + 4, WIDTH, HEIGHT)
    assert not is_plain(shown, below)
    assert is_plain(opened(draw_card(replace(CARD, picture=made.variants[0], name="", state=""))), below)


def test_nothing_of_the_photo_but_its_pixels(tmp_path: Path) -> None:
    """No EXIF, no place, no comment, no profile: no segment but JFIF's own and tables (ITU-T T.81, B.2)."""
    source = tmp_path / "x.jpg"
    exif = Image.Exif()
    exif[0x010E] = "SECRET"
    Image.new("RGB", (1600, 1200), "red").save(source, exif=exif, comment=b"SECRET")
    content = draw_card(replace(CARD, picture=make_one(source, tmp_path / "cache").variants[0]))
    assert b"SECRET" not in content and b"Exif" not in content
    # Each segment by its marker; APP0 is JFIF's own head, COM would be a comment.
    markers, at = [], 2
    while content[at + 1] != 0xDA:
        markers.append(content[at + 1])
        at += 2 + int.from_bytes(content[at + 2 : at + 4])
    assert {marker for marker in markers if 0xE0 <= marker <= 0xEF or marker == 0xFE} == {0xE0}


def test_letters_that_the_font_lacks_are_left_out() -> None:
    """A row of boxes says nothing: what cannot be written is not, and the rest is."""
    shown = opened(draw_card(replace(CARD, name="\u4f4e\u8349")))
    assert not ImageChops.difference(shown, opened(draw_card(replace(CARD, name="")))).getbbox()
    assert is_plain(opened(draw_card(replace(CARD, font=None))), (TEXT, 0, WIDTH, HEIGHT))


def test_long_words_stay_on_the_card() -> None:
    """However long the name and the sentence: the right edge stays free."""
    long = replace(CARD, name="Wendmoor " * 20, state="Something is still to be done about it. " * 20)
    shown = opened(draw_card(long))
    assert is_plain(shown, (WIDTH - 40, 0, WIDTH, HEIGHT))
    assert not is_plain(shown, (WIDTH - 200, 0, WIDTH - 40, HEIGHT))


def test_a_photo_that_is_only_foreseen_is_left_out(tmp_path: Path) -> None:
    """The preview shows pages before their photos are made: the words stand alone until then."""
    made = make_one(save(tmp_path / "x.jpg"), tmp_path / "cache")
    foreseen = made.variants[0]._replace(stored="")
    assert draw_card(replace(CARD, picture=foreseen)) == draw_card(CARD)


def test_forgetting_photos_forgets_cards(tmp_path: Path) -> None:
    """A card is one photo more in the cache: what knows photos knows it, and no other file lies there."""
    cache = tmp_path / "cache"
    find_card(CARD, cache)
    with PhotoWork([request(save(tmp_path / "x.jpg"))], cache) as work:
        work.finish()
    assert prune_cache(cache, days=0).photos == 2
    assert [path for path in cache.rglob("*") if path.is_file() and "index" not in path.name] == []
