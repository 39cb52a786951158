"""Small logs handed over, and bags in memory to tamper with."""

from __future__ import annotations

import datetime
import hashlib
import io
import zipfile
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import BinaryIO

from PIL import Image

from buildlog.handover.bag import INFO, MANIFEST, PAYLOAD, START_PAGE, TAG_MANIFEST
from buildlog.handover.findings import Finding, Report
from buildlog.handover.hashed_bag import HashedBag, hash_bag
from buildlog.handover.pack import HandedOver, hand_over
from buildlog.handover.recompute import recheck
from buildlog.handover.verify import answer_uncomputed, examine_bag, verify_bag
from buildlog.photos.cache import make_cache_key
from buildlog.photos.held import NAME_DIGITS
from buildlog.read.numbers import Box
from buildlog.record.sealing import seal_log
from tests.made_up import ELSEWHERE, make_vin
from tests.record.logs import count_salts

DAY = datetime.date(2024, 11, 30)
VIN = make_vin(f"{ELSEWHERE}WMS25", "M")
SETTINGS = """\
machine: {name: Old Tom, vin: NUMBER, market: elsewhere, meter: {unit: km, digits: 6, statement: actual}}
acquired: {date: 2024-01-01, from: The Seller, price: 900.00, reading: 112000, paper: papers/bill of sale.pdf}
money: {currency: GBP}
systems: {fuel: Fuel}
service: {oil: {name: Engine oil, every: {months: 12, distance: 10000}}}
public: {prices: hidden, vin: hidden}
""".replace("NUMBER", VIN)
ENTRY = """\
---
date: 2024-05-18
title: Lift pump
hours: 4.5
reading: 112530
systems: [fuel]
bought:
  from: A shop
  ref: A-1
  arrived: 2024-05-18
  paid: 2024-05-18
  paper: papers/Rechnung Öl.pdf
  lines:
    - {part: lift-pump, number: LP 4410-A, each: 118.40}
    - {part: seal, number: "0410 223", qty: 2, each: 7.35}
fitted: [lift-pump, seal]
serviced: [oil]
photos: [{file: IMG 1.jpg, says: The pump, shows: [lift-pump], hide: [[0, 0, 0.5, 0.5]]}]
---
The pump came off. ![the pump](IMG%201.jpg)
"""
SECOND = """\
---
date: 2024-06-02
title: First drive
reading: 112600
---
It drove.
"""


def draw_photo() -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (64, 48), (120, 40, 40)).save(file, "JPEG")
    return file.getvalue()


def name_picture() -> str:
    """Where the site in the bag has the one picture that is made of the photo."""
    half = Box(*(Decimal(side) for side in ("0", "0", "0.5", "0.5")))
    key = make_cache_key(hashlib.sha256(draw_photo()).hexdigest(), ".jpg", (half,))
    return f"data/site/photos/2024-05-18-lift-pump/{key[:NAME_DIGITS]}-64.jpg"


def list_log() -> dict[str, bytes]:
    """The files of a small log with names that no bag can have."""
    return {
        "log.yaml": SETTINGS.encode(),
        "entries/2024-05-18-lift-pump.md": ENTRY.encode(),
        "entries/2024-06-02-first-drive.md": SECOND.encode(),
        "papers/bill of sale.pdf": b"%PDF-1.4 sale",
        "papers/Rechnung Öl.pdf": b"%PDF-1.4 order",
        "papers/loan.pdf": b"%PDF-1.4 a loan that nobody shall see",
        "photos/2024-05-18-lift-pump/IMG 1.jpg": draw_photo(),
    }


def write_log(folder: Path, files: Mapping[str, bytes] | None = None) -> Path:
    for path, data in (files or list_log()).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    return folder


def seal(folder: Path, day: datetime.date = datetime.date(2024, 6, 3), reason: str | None = None) -> None:
    sealing = seal_log(folder, date=day, reason=reason, make_salt=count_salts())
    assert not sealing.problems, sealing.problems


def write_sealed(folder: Path) -> Path:
    """The small log under two seals, the second with an amendment."""
    write_log(folder)
    seal(folder)
    path = folder / "entries/2024-06-02-first-drive.md"
    path.write_bytes(path.read_bytes() + b"And home.\n")
    seal(folder, datetime.date(2024, 6, 10), "the way home was forgotten")
    return folder


def hand(folder: Path, out: Path, *withhold: str) -> HandedOver:
    handed = hand_over(folder, out, as_of=DAY, withhold=withhold)
    assert handed.handover, handed.problems
    return handed


def verify(path: Path) -> Report:
    """Every answer, computed in this process, which is faster than in one of its own."""
    return verify_bag(path, recheck)


def states(report: Report) -> dict[str, str]:
    return {finding.key: finding.state for finding in report.findings}


def find(report: Report, key: str) -> Finding:
    return next(finding for finding in report.findings if finding.key == key)


# ── in memory ────────────────────────────────────────────────────────────────────────────────────────────────────


class MemoryBag:
    """A bag whose files are bytes."""

    def __init__(self, files: Mapping[str, bytes]) -> None:
        self.files = files
        self.sizes = {name: len(data) for name, data in files.items()}

        self.places = None

    def open(self, name: str) -> BinaryIO:
        return io.BytesIO(self.files[name])

    def list_chunks(self, name: str) -> Iterator[bytes]:
        yield self.files[name]


def load(folder: Path) -> dict[str, bytes]:
    """The files of a bag in a folder, by name."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def read_memory(files: Mapping[str, bytes]) -> HashedBag:
    """A bag in memory, read through."""
    bag = MemoryBag(files)
    return hash_bag(bag, bag)


def answer(files: Mapping[str, bytes], today: datetime.date | None = None) -> dict[str, Finding]:
    """The answers that need no computing, about a bag in memory."""
    bag = read_memory(files)
    return {finding.key: finding for finding in answer_uncomputed(bag, examine_bag(bag, today))}


def pack_again(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The same files with manifests that agree with them: what a cheat would do."""
    payload = {name: data for name, data in files.items() if name.startswith(PAYLOAD)}
    info = files[INFO].decode().splitlines()
    oxum = f"Payload-Oxum: {sum(map(len, payload.values()))}.{len(payload)}"
    made = {
        "bagit.txt": files["bagit.txt"],
        INFO: "".join(f"{oxum if line.startswith('Payload-Oxum') else line}\n" for line in info).encode(),
        MANIFEST: list_checksums(payload),
        **{name: files[name] for name in (START_PAGE,) if name in files},
    }
    return {**payload, **made, TAG_MANIFEST: list_checksums(made)}


def list_checksums(files: Mapping[str, bytes]) -> bytes:
    return "".join(f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in sorted(files.items())).encode()


def write_zip(path: Path, files: Mapping[str, bytes], top: str = "bag/") -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in files.items():
            archive.writestr(top + name, data)
    return path
