"""Draws the icon for home screens, `themes/margin/mark.png`, as `mark.svg` has it: `python -m tests.make_icon`.

The picture is kept in the theme, and `tests/render/test_hosting.py` draws it again: neither changes without the other.
"""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageDraw

MARGIN = Path(__file__).parent.parent / "themes/margin"
EDGE = 180
"Pixels: what telephones ask for; common practice, no source."
FINER = 8
"Times that the drawing is larger before it is made small, so that slanting and half pixels come out soft."


def draw_icon(svg: str) -> bytes:
    """The PNG of an icon made of one ground and straight lines along the axes."""
    units = int(re.findall(r'viewBox="0 0 (\d+) \d+"', svg)[0])
    scale = EDGE * FINER / units
    image = Image.new("RGB", (EDGE * FINER, EDGE * FINER), re.findall(r'<rect [^>]*fill="(#\w+)"', svg)[0])
    pen = ImageDraw.Draw(image)
    for path, colour, width in re.findall(r'<path d="([^"]+)" stroke="(#\w+)" stroke-width="([\d.]+)"', svg):
        half = float(width) / 2
        for x, y, way, end in re.findall(r"M([\d.]+) ([\d.]+)([HV])([\d.]+)", path):
            left, top, right, bottom = float(x), float(y), float(x), float(y)
            if way == "H":
                right, top, bottom = float(end), top - half, bottom + half
            else:
                bottom, left, right = float(end), left - half, right + half
            pen.rectangle([left * scale, top * scale, right * scale - 1, bottom * scale - 1], fill=colour)
    content = BytesIO()
    image.resize((EDGE, EDGE), Image.Resampling.BOX).save(content, "PNG", optimize=True)
    return content.getvalue()


if __name__ == "__main__":
    (MARGIN / "mark.png").write_bytes(draw_icon((MARGIN / "mark.svg").read_text(encoding="utf-8")))
