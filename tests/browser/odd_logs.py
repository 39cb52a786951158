"""Logs at the edges of what a page is laid out for: nothing there, far too much of it, and words of every script.

`ODD` has a writer for each by its name; each writes a log into an empty folder.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from PIL import Image, ImageDraw

SETTINGS = """machine: {{name: {name}, kind: {kind}}}
money: {{currency: {currency}}}
systems: {{fuel: Fuel, brakes: Brakes}}
public: {{prices: shown, suppliers: shown}}
site: {{id: odd, title: {name}}}
"""
LONG_NAME = "The " + "Grandmother-of-all-Threshing-Machines " * 3 + "XI"
"120 letters."
HEBREW, JAPANESE = "הטרקטור של סבא", "祖父のトラクター復元記録"


def write_log(folder: Path, heads: Mapping[str, str], name: str = "Ada", currency: str = "GBP") -> None:
    """A log of these entries, by their names; a head ends with its story after a line `---`."""
    (folder / "entries").mkdir(parents=True)
    settings = SETTINGS.format(name=f'"{name}"', kind="tractor", currency=currency)
    (folder / "log.yaml").write_text(settings, encoding="utf-8")
    for entry, head in heads.items():
        text = f"---\n{head}\n" if "\n---\n" in head else f"---\n{head}\n---\nWords about it.\n"
        (folder / f"entries/{entry}.md").write_text(text, encoding="utf-8")


def draw_photo(folder: Path, entry: str, file: str, size: tuple[int, int]) -> str:
    """A picture of bars, which show where it is stretched or cut; gives its line for `photos:`."""
    image = Image.new("RGB", size, "#8a9a7b")
    pen = ImageDraw.Draw(image)
    width, height = size
    for at in range(0, 10, 2):
        pen.rectangle((at * width // 10, height // 3, (at + 1) * width // 10, height), fill="#4b5a46")
    pen.ellipse((width // 3, height // 4, width // 3 + height // 2, height // 4 + height // 2), fill="#b5533c")
    (folder / "photos" / entry).mkdir(parents=True, exist_ok=True)
    data = io.BytesIO()
    image.save(data, "JPEG", quality=80)
    (folder / "photos" / entry / file).write_bytes(data.getvalue())
    return f"{{file: {file}, says: Bars and a disc}}"


def _list_photos(lines: Iterable[str]) -> str:
    return "".join(f"\n  - {line}" for line in lines)


def write_single(folder: Path) -> None:
    """One entry, without a photo, an amount, an hour."""
    write_log(folder, {"2024-05-18-begun": "date: 2024-05-18\ntitle: Begun"})


def write_named(folder: Path) -> None:
    """A name of 120 letters, a panorama, an upright picture, amounts of nine digits, and a month below zero."""
    panorama = draw_photo(folder, "2024-05-18-wide", "a.jpg", (6000, 750))
    upright = draw_photo(folder, "2024-06-18-high", "a.jpg", (900, 1300))
    bought = "bought: {from: A, paid: DAY, lines: [{what: Land, each: 123456789.01}, {what: Bolt, each: 2}]}"
    sold = "sold: {what: Land again, price: 987654321.09}"
    write_log(
        folder,
        {
            "2024-05-18-wide": f"date: 2024-05-18\ntitle: {LONG_NAME}\nhours: 3\nphotos:{_list_photos([panorama])}\n"
            + bought.replace("DAY", "2024-05-18"),
            "2024-06-18-high": f"date: 2024-06-18\ntitle: Sold\nphotos:{_list_photos([upright])}\n{sold}",
        },
        name=LONG_NAME,
    )


def write_scripts(folder: Path) -> None:
    """Hebrew and Japanese words, and one photo of 100 pixels."""
    photo = draw_photo(folder, "2024-05-18-small", "a.jpg", (100, 75))
    story = f"\n---\n{HEBREW}, {HEBREW}. {HEBREW}!\n\n{JAPANESE}。{JAPANESE}、{JAPANESE}。\n"
    write_log(
        folder,
        {
            "2024-05-17-hebrew": f'date: 2024-05-17\ntitle: "{HEBREW}"\nhours: 12{story}',
            "2024-05-18-small": f'date: 2024-05-18\ntitle: "{JAPANESE}"\nphotos:{_list_photos([photo])}{story}',
        },
        name=f"{HEBREW} {JAPANESE}",
    )


def write_years(folder: Path) -> None:
    """Forty years, an entry each."""
    years = range(1984, 2024)
    write_log(
        folder,
        {
            f"{year}-06-01-year": f"date: {year}-06-01\ntitle: Summer of {year}\nhours: {year % 7 + 1}\n"
            f"systems: [fuel]\nbought: {{from: A, paid: {year}-06-01, lines: {{what: Oil, each: {year % 9 * 20 + 5}}}}}"
            for year in years
        },
    )


def write_month(folder: Path) -> None:
    """A month of sixty entries."""
    write_log(
        folder,
        {
            f"2024-05-{at % 30 + 1:02}-{at}": f"date: 2024-05-{at % 30 + 1:02}\ntitle: Evening {at}\nhours: 1.5"
            for at in range(60)
        },
    )


def write_gallery(folder: Path, photos: int = 400) -> None:
    """An entry of four hundred photos."""
    shapes = [(1300, 900), (900, 1300), (1300, 700), (640, 480)]
    lines = [draw_photo(folder, "2024-05-18-all", f"{at:03}.jpg", shapes[at % 4]) for at in range(photos)]
    write_log(folder, {"2024-05-18-all": f"date: 2024-05-18\ntitle: All of them\nphotos:{_list_photos(lines)}"})


ODD: Mapping[str, Callable[[Path], None]] = {
    "single": write_single,
    "named": write_named,
    "scripts": write_scripts,
    "years": write_years,
    "month": write_month,
    "gallery": write_gallery,
}
