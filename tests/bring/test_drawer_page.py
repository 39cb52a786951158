"""The guide's evening with a drawer full of receipts is gone through: each command prints what the page says.

A line `…` of the page stands for lines that it has shown before. `python -m tests.bring.test_drawer_page` writes what
is printed today into the page, to be looked at.
"""

from __future__ import annotations

import os
import re
import shlex
import tempfile
from pathlib import Path

import pytest
from click.testing import CliRunner

import buildlog
from buildlog.cli import main
from tests.bring.documents import write_camt, write_ubl
from tests.bring.drawers import put
from tests.bring.test_papers import make_pdf
from tests.photos.test_intake import paint, shoot

PAGE = Path(buildlog.__file__).parent / "guide" / "drawer.md"
EPOCH = "1719748800"
"The evening of 30 June 2024."
STEP = re.compile(r"^    (?P<command>buildlog [^\n]+)\n\n```text\n(?P<output>.*?)```$", re.MULTILINE | re.DOTALL)
SHOWN = re.compile(r"^`(?P<name>[\w./-]+)`:\n\n```(?:text|yaml)\n(?P<text>.*?)```$", re.MULTILINE | re.DOTALL)
INVOICE = {
    "currency": "EUR", "ref": "KM-77120", "delivered": "2024-05-16", "day": "2024-05-06",
    "lines": [
        {"qty": "1", "price": "118.40", "net": "118.40", "rate": "21", "what": "Lift pump", "number": "LP 4410-A"},
        {"qty": "2", "price": "7.35", "net": "14.70", "rate": "21", "what": "Lift pump seal", "number": "0410 223"},
    ],
    "extras": [{"charge": "true", "amount": "16.90", "what": "Carriage", "rate": "21"}],
    "tax": [{"base": "150.00", "tax": "31.50", "rate": "21"}], "tax_total": "31.50",
    "LineExtensionAmount": "133.10", "ChargeTotalAmount": "16.90", "TaxExclusiveAmount": "150.00",
    "TaxInclusiveAmount": "181.50", "PayableAmount": "181.50",
}  # fmt: skip


def fill_drawer(top: Path, page: str) -> None:
    """What the page says is in the drawer: the texts that it shows, and files that are no texts."""
    put(top, {match["name"]: match["text"] for match in SHOWN.finditer(page)})
    paid = [
        {"amount": "181.50", "day": "2024-05-21", "to": "Kanaal Motordelen B.V.", "text": "KM-77120"},
        {"amount": "64.00", "day": "2024-06-03", "to": "Shoes and more"},
    ]
    files = {
        "drawer/km-77120.xml": write_ubl(INVOICE),
        "drawer/statement-june.xml": write_camt(paid),
        "drawer/scan0003.pdf": make_pdf("Yard at the lock", "Receipt Y-118", "Thank you"),
        "drawer/scan0004.pdf": make_pdf("No. 5"),
    }
    put(top, files)
    for n, clock in enumerate(("2024:05:18 10:12:00", "2024:05:18 10:31:00", "2024:05:19 15:02:00"), 1):
        shoot(top / "drawer" / "phone" / f"IMG_{n:04}.jpg", n, clock, offset="+02:00")
    shoot(
        top / "drawer" / "phone" / "sent.jpg", 1, "2024:05:18 10:12:00", image=paint(1).resize((240, 180)), quality=60
    )


def run(command: str) -> str:
    """What a command prints, both on its output and beside it."""
    done = CliRunner().invoke(main, shlex.split(command)[1:], prog_name="buildlog", env={"SOURCE_DATE_EPOCH": EPOCH})
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return re.sub(r" +$", "", done.output, flags=re.MULTILINE).strip("\n") + "\n"


def test_each_command_prints_what_the_page_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From an empty log to its costs, in the order of the page."""
    page = PAGE.read_text(encoding="utf-8")
    fill_drawer(tmp_path, page)
    monkeypatch.chdir(tmp_path)
    steps = list(STEP.finditer(page))
    assert len(steps) > 5
    for step in steps:
        parts = step["output"].split("…\n")
        assert re.fullmatch(r"(.*\n)*".join(map(re.escape, parts)), run(step["command"])), step["command"]


def remake() -> None:
    page = PAGE.read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as top:
        fill_drawer(Path(top), page)
        os.chdir(top)
        page = STEP.sub(lambda step: f"    {step[1]}\n\n```text\n{run(step[1])}```", page)
        PAGE.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    remake()
