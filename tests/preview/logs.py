"""A small log for the preview's tests, and what publishing would make of it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path

from buildlog.output.write import Content
from buildlog.preview.site import PreviewSite
from buildlog.stages import Run, run_stages
from tests.photos.pictures import save

DAY = datetime.date(2024, 7, 1)
SETTINGS = """\
machine: {name: The Sedge, kind: road vehicle, meter: {unit: mi, digits: 6}}
money: {currency: GBP}
systems: {fuel: Fuel, brakes: Brakes}
public: {prices: shown, papers: shown}
site: {id: sedge, title: The Sedge, address: "https://example.org/"}
"""
ENTRIES = {
    "2024-05-18-pump": (
        "date: 2024-05-18\ntitle: Pump\nhours: 2\nsystems: [fuel]\n"
        "bought: {from: A, paid: 2024-05-18, arrived: 2024-05-18, lines: [{part: pump, each: 61.00, for: fuel}]}\n"
        "photos: [{file: bench.png, says: On the bench}, {file: seal.png, says: The seal}]",
        "Off it came.\n\n![](seal.png)\n\nAnd there it was.\n",
    ),
    "2024-05-25-fitted": (
        "date: 2024-05-25\ntitle: Fitted\nhours: 1.5\nfitted: pump",
        "See [before](2024-05-18-pump.md).\n",
    ),
    "2024-06-02-brakes": ("date: 2024-06-02\ntitle: Brakes\nhours: 3\nsystems: [brakes]", "New pipes.\n"),
}


def write_entry(log: Path, name: str, head: str, story: str) -> Path:
    path = log / f"entries/{name}.md"
    path.write_text(f"---\n{head}\n---\n{story}", encoding="utf-8")
    return path


def make_log(folder: Path) -> Path:
    """Three entries, one of them with two photos."""
    (folder / "entries").mkdir(parents=True)
    (folder / "log.yaml").write_text(SETTINGS, encoding="utf-8")
    for name, (head, story) in ENTRIES.items():
        write_entry(folder, name, head, story)
    photos = folder / "photos/2024-05-18-pump"
    photos.mkdir(parents=True)
    save(photos / "bench.png", cell=20)
    save(photos / "seal.png", "EF", cell=30)
    return folder


def open_site(log: Path, day: datetime.date = DAY) -> PreviewSite:
    site = PreviewSite(log, lambda: day)
    site.refresh()
    return site


def publish(log: Path, day: datetime.date = DAY) -> Mapping[str, Content] | None:
    """Every file that publishing would write, by path; None where it writes nothing."""
    run = run_stages(Run(folder=log, as_of=day), until="render")
    return run.site.files if run.site else None


def read(content: Content) -> bytes:
    return content if isinstance(content, bytes) else Path(content).read_bytes()


def look(site: PreviewSite, path: str) -> str:
    """A page as the preview makes it, before anything is added to it."""
    return take(site, path).decode()


def take(site: PreviewSite, path: str) -> bytes:
    """A file of the preview, once the photos are made that it shows."""
    site.answer(path)
    site.settle()
    return read(site.answer(path).content)
