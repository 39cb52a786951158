"""A small log that is sealed and handed over, and the ways in which somebody may lay hands on what was handed over.

The log is invented. Sums are made here with hashlib, so that a forger needs nothing of ours.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from buildlog.handover.pack import hand_over
from buildlog.record.sealing import seal_log
from tests.record import forgeries

SETTINGS = """\
machine: {name: Grey tender, kind: boat, meter: {unit: h}}
acquired: {date: 2024-01-06, price: 300.00, reading: 410}
money: {currency: GBP, budget: {hull: 200.00}}
systems: {hull: Hull, motor: Motor}
public: {prices: totals}
site: {id: grey tender, title: Grey tender, language: en-GB}
"""
ENTRIES = {
    "2024-02-03-planks.md": """\
---
date: 2024-02-03
hours: 4
bought: {from: Wharf Timber, ref: W-1, paid: 2024-02-02, arrived: 2024-02-03, paper: papers/wharf bill № 1.pdf,
  lines: [{what: larch plank, qty: 3, each: 18.40, for: hull}, {what: copper nails, each: 7.05, for: hull}]}
photos: {file: plank.jpg, says: A plank on two trestles}
---
# Planks

Two planks out, two in.
""",
    "2024-03-09-motor.md": """\
---
date: 2024-03-09
reading: 412
bought: {from: Lock Stores, ref: L-7, paid: 2024-03-08, arrived: 2024-03-09, paper: papers/store-bill.pdf,
  lines: [{what: impeller, each: 21.30, for: motor}]}
returned: {ref: W-1, refund: 7.05, date: 2024-03-10}
---
# An impeller

The impeller had lost two blades.
""",
    "2024-04-20-afloat.md": """\
---
date: 2024-04-20
reading: 413
hours: 2
sold: {what: old trailer, price: 40.00}
---
# Afloat

She floats.
""",
}


def make_log(folder: Path) -> Path:
    """The log on disk, with a paper whose name no bag takes as it is."""
    (folder / "entries").mkdir(parents=True)
    (folder / "log.yaml").write_text(SETTINGS, encoding="utf-8")
    for name, text in ENTRIES.items():
        (folder / "entries" / name).write_text(text, encoding="utf-8")
    papers = folder / "papers"
    papers.mkdir()
    for name in ("wharf bill № 1.pdf", "store-bill.pdf", "Größe.pdf", "loan.pdf"):
        (papers / name).write_bytes(b"%PDF-1.4\n% an invented paper: " + name.encode() + b"\n")
    photos = folder / "photos" / "2024-02-03-planks"
    photos.mkdir(parents=True)
    Image.new("RGB", (640, 480), "#8a6f52").save(photos / "plank.jpg")
    return folder


def seal_twice(log: Path) -> None:
    """Two seals, the second of which amends an entry."""
    assert seal_log(log, date=datetime.date(2024, 4, 21)).seal
    entry = log / "entries" / "2024-04-20-afloat.md"
    entry.write_text(entry.read_text(encoding="utf-8") + "\nAnd she steers.\n", encoding="utf-8")
    assert seal_log(log, date=datetime.date(2024, 5, 2), reason="a sentence forgotten").seal


def make_bag(log: Path, out: Path) -> Path:
    """The log handed over, one paper withheld."""
    handed = hand_over(log, out, as_of=datetime.date(2024, 6, 1), withhold=("papers/loan.pdf",))
    assert handed.handover, handed.problems
    return out


def flip(path: Path, at: int = -9) -> None:
    """Change one bit of one byte."""
    data = bytearray(path.read_bytes())
    data[at] ^= 1
    path.write_bytes(data)


def replace_text(path: Path, old: str, new: str) -> None:
    """Replace a text that is there."""
    text = path.read_text(encoding="utf-8")
    assert old in text, f"{path} does not say {old}"
    path.write_text(text.replace(old, new, 1), encoding="utf-8", newline="")


def list_again(bag: Path) -> None:
    """Make both manifests and the count anew, as a forger would who knows how a bag is made (RFC 8493)."""

    def line(path: Path) -> str:
        return f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.relative_to(bag).as_posix()}\n"

    files = sorted((path for path in (bag / "data").rglob("*") if path.is_file()), key=lambda path: path.as_posix())
    (bag / "manifest-sha256.txt").write_text("".join(map(line, files)))
    info = bag / "bag-info.txt"
    counted = f"Payload-Oxum: {sum(path.stat().st_size for path in files)}.{len(files)}"
    lines = [counted if row.startswith("Payload-Oxum") else row for row in info.read_text().splitlines()]
    info.write_text("".join(f"{row}\n" for row in lines))
    tags = ("START-HERE.html", "bag-info.txt", "bagit.txt", "manifest-sha256.txt")
    tags = tuple(name for name in tags if (bag / name).exists())
    (bag / "tagmanifest-sha256.txt").write_text("".join(line(bag / name) for name in tags))


def forge(change: Callable[[Path], None]) -> Callable[[Path], None]:
    """A change, and the manifests made to fit it."""

    def do(bag: Path) -> None:
        change(bag)
        list_again(bag)

    return do


def swap(first: Path, second: Path) -> None:
    """Exchange what two files hold."""
    held = first.read_bytes()
    first.write_bytes(second.read_bytes())
    second.write_bytes(held)


ENTRY = "data/log/entries/2024-03-09-motor.md"
LEAVES = "data/seals/leaves.jsonl"
PAGE = "data/site/entries/2024-03-09-motor.html"


def change_figures(bag: Path, change: Callable[[dict], None]) -> None:  # type: ignore[type-arg]  # any JSON
    """Change figures.json as a value."""
    change_json(bag / "data/figures.json", change)


def add_second_name(bag: Path) -> None:
    """A second file that stands for `log.yaml`."""
    (bag / "data/log/papers/a.pdf").write_bytes(b"machine: {name: Another}")
    change_json(bag / "data/handover.json", lambda value: value["names"].update({"papers/a.pdf": "log.yaml"}))


def change_json(path: Path, change: Callable[[dict], None]) -> None:  # type: ignore[type-arg]  # any JSON
    """Change a file as a value; it is written back canonically, as all its keys are ASCII."""
    value = json.loads(path.read_bytes())
    change(value)
    path.write_text(
        json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")) + "\n", encoding="utf-8"
    )


def name_picture_else(bag: Path, path: str) -> None:
    """The list calls another file of the site a picture of the photo."""

    def change(value: dict) -> None:  # type: ignore[type-arg]  # any JSON
        [pictures] = value["pictures"].values()
        pictures["variants"].append([path, 640, 480, "image/jpeg"])

    change_json(bag / "data/handover.json", change)


def move_lines(bag: Path) -> None:
    """Exchange the first two lines of the list of leaves."""
    lines = (bag / LEAVES).read_bytes().splitlines(keepends=True)
    (bag / LEAVES).write_bytes(b"".join([lines[1], lines[0], *lines[2:]]))


TAMPERING: dict[str, Callable[[Path], object]] = {
    # one byte
    "flip-entry": lambda bag: flip(bag / ENTRY),
    "flip-settings": lambda bag: flip(bag / "data/log/log.yaml"),
    "flip-paper": lambda bag: flip(bag / "data/log/papers/store-bill.pdf"),
    "flip-photo": lambda bag: flip(bag / "data/log/photos/2024-02-03-planks/plank.jpg"),
    "flip-page": lambda bag: flip(bag / PAGE),
    "flip-figures": lambda bag: flip(bag / "data/figures.json"),
    "flip-list": lambda bag: flip(bag / "data/handover.json"),
    "flip-seal": lambda bag: flip(bag / "data/seals/0001.json"),
    "flip-leaf": lambda bag: flip(bag / LEAVES),
    "flip-words": lambda bag: flip(bag / "data/CHECK.md"),
    "flip-checker": lambda bag: flip(bag / "data/check.html"),
    "flip-manifest-sum": lambda bag: flip(bag / "manifest-sha256.txt", 3),
    "flip-manifest-name": lambda bag: flip(bag / "manifest-sha256.txt", 80),
    "flip-tag-manifest": lambda bag: flip(bag / "tagmanifest-sha256.txt", 3),
    "flip-declaration": lambda bag: flip(bag / "bagit.txt"),
    "flip-info": lambda bag: flip(bag / "bag-info.txt", -2),
    # dropped
    "drop-entry": lambda bag: (bag / ENTRY).unlink(),
    "drop-seal": lambda bag: (bag / "data/seals/0002.json").unlink(),
    "drop-first-seal": lambda bag: (bag / "data/seals/0001.json").unlink(),
    "drop-leaves": lambda bag: (bag / LEAVES).unlink(),
    "drop-page": lambda bag: (bag / PAGE).unlink(),
    "drop-figures": lambda bag: (bag / "data/figures.json").unlink(),
    "drop-list": lambda bag: (bag / "data/handover.json").unlink(),
    "drop-manifest": lambda bag: (bag / "manifest-sha256.txt").unlink(),
    "drop-tag-manifest": lambda bag: (bag / "tagmanifest-sha256.txt").unlink(),
    "drop-declaration": lambda bag: (bag / "bagit.txt").unlink(),
    # added
    "add-entry": lambda bag: (bag / "data/log/entries/2024-05-01-more.md").write_text(
        "---\ndate: 2024-05-01\n---\nMore.\n"
    ),
    "add-seal": lambda bag: shutil.copy(bag / "data/seals/0002.json", bag / "data/seals/0003.json"),
    "add-beside-seal": lambda bag: (bag / "data/seals/note.txt").write_text("x"),
    "add-in-data": lambda bag: (bag / "data/more.txt").write_text("x"),
    "add-on-top": lambda bag: (bag / "more.txt").write_text("x"),
    "add-line-end": lambda bag: (bag / "data" / "CHECK.md\n.figures.json").write_bytes(b"more"),
    "add-hidden": lambda bag: (bag / ".hidden").write_text("x"),
    # exchanged, cut, renamed
    "swap-papers": lambda bag: swap(
        bag / "data/log/papers/store-bill.pdf", bag / "data/log/papers/wharf-bill-No-1.pdf"
    ),
    "swap-seals": lambda bag: swap(bag / "data/seals/0001.json", bag / "data/seals/0002.json"),
    "truncate-entry": lambda bag: (bag / ENTRY).write_bytes((bag / ENTRY).read_bytes()[:-1]),
    "truncate-leaves": lambda bag: (bag / LEAVES).write_bytes((bag / LEAVES).read_bytes()[:-1]),
    "empty-seal": lambda bag: (bag / "data/seals/0002.json").write_bytes(b""),
    "rename-entry": lambda bag: (bag / ENTRY).rename(bag / "data/log/entries/2024-03-09-engine.md"),
    "rename-seal": lambda bag: (bag / "data/seals/0002.json").rename(bag / "data/seals/0003.json"),
    # by somebody who makes the manifests anew
    "forge-nothing": forge(lambda bag: None),
    "forge-entry": forge(lambda bag: replace_text(bag / ENTRY, "21.30", "11.30")),
    "forge-dropped-entry": forge(lambda bag: (bag / ENTRY).unlink()),
    "forge-added-paper": forge(lambda bag: (bag / "data/log/papers/more.pdf").write_bytes(b"%PDF-1.4\n")),
    "forge-second-name": forge(add_second_name),
    "forge-stray": forge(lambda bag: (bag / "data/more.txt").write_text("x")),
    "forge-leaf-order": forge(move_lines),
    "forge-leaf-spaced": forge(lambda bag: replace_text(bag / LEAVES, '"path":', '"path": ')),
    "forge-last-seal-dropped": forge(lambda bag: (bag / "data/seals/0002.json").unlink()),
    "forge-first-seal-dropped": forge(lambda bag: (bag / "data/seals/0001.json").unlink()),
    "forge-seal-date": forge(lambda bag: replace_text(bag / "data/seals/0001.json", "2024-04-21", "2023-04-21")),
    "forge-seal-root": forge(lambda bag: flip(bag / "data/seals/0001.json", -5)),
    "forge-seals-dropped": forge(lambda bag: shutil.rmtree(bag / "data/seals")),
    "forge-not-withheld": forge(lambda bag: (bag / "data/log/papers/loan.pdf").write_bytes(b"%PDF-1.4\n")),
    "forge-withheld-sum": forge(
        lambda bag: replace_text(bag / "data/handover.json", '"withheld":[{"leaf":', '"withheld":[{"leaf":1')
    ),
    "forge-names": forge(lambda bag: replace_text(bag / "data/handover.json", "Größe", "Grösse")),
    "forge-page-as-picture": forge(lambda bag: name_picture_else(bag, "index.html")),
    "forge-script-as-picture": forge(lambda bag: name_picture_else(bag, "theme/margin.js")),
    "forge-picture-of-another-entry": forge(lambda bag: name_picture_else(bag, "photos/2024-03-09-motor/a.jpg")),
    "forge-list-spaced": forge(lambda bag: replace_text(bag / "data/handover.json", '"format":1', '"format": 1')),
    "forge-landed": forge(lambda bag: change_figures(bag, lambda value: value["lines"][0].update(landed="1.00"))),
    "forge-spent": forge(lambda bag: change_figures(bag, lambda value: value["costs"].update(spent="1.00"))),
    "forge-system": forge(lambda bag: change_figures(bag, lambda v: v["costs"]["by_system"][0].update(amount="9.99"))),
    "forge-month": forge(
        lambda bag: change_figures(bag, lambda value: value["costs"]["months"][0].update(running="0.01"))
    ),
    "forge-no-line": forge(lambda bag: change_figures(bag, lambda value: value["costs"].update(lines=[0, 1, 99]))),
    "forge-proof-leaf": forge(lambda bag: replace_text(bag / PAGE, "path&#34;", "Path&#34;")),
    "forge-proof-root": forge(
        lambda bag: replace_text(bag / PAGE, '<code id="proof-root">', '<code id="proof-root">0')
    ),
}
"""Ways to lay hands on a bag, by name."""


def pack(bag: Path, out: Path, *, top: str = "grey-tender", method: int = zipfile.ZIP_STORED) -> Path:
    """The folder as a zip of our own making: with another packer, all in one folder."""
    with zipfile.ZipFile(out, "w", method) as zip:
        for path in sorted(bag.rglob("*")):
            if path.is_file():
                zip.write(path, f"{top}/{path.relative_to(bag).as_posix()}")
    return out


def add_member(out: Path, name: str, data: bytes, **fields: int) -> None:
    """Append a member to a zip, with fields of its entry set as a stranger would."""
    with zipfile.ZipFile(out, "a") as zip:
        info = zipfile.ZipInfo(name)
        for field, value in fields.items():
            setattr(info, field, value)
        zip.writestr(info, data)


def patch(path: Path, old: bytes, new: bytes) -> None:
    """Exchange bytes of the same length that are there, the last ones."""
    data = path.read_bytes()
    at = data.rindex(old)
    path.write_bytes(data[:at] + new + data[at + len(old) :])


def flip_packed(out: Path, name: str) -> None:
    """Change one bit among the bytes of a member, packed as they are."""
    with zipfile.ZipFile(out) as zip:
        [info] = [info for info in zip.infolist() if info.filename.endswith(name)]
    flip(out, info.header_offset + 30 + len(info.filename) + info.compress_size - 9)  # APPNOTE 4.3.7


BOMB = bytes(30_000_000)

ZIP_TAMPERING: dict[str, Callable[[Path], object]] = {
    "as-packed": lambda out: None,
    "trailing-byte": lambda out: out.write_bytes(out.read_bytes() + b"x"),
    "leading-bytes": lambda out: out.write_bytes(b"before" + out.read_bytes()),
    "cut-short": lambda out: out.write_bytes(out.read_bytes()[:-40]),
    "no-zip": lambda out: out.write_bytes(b"%PDF-1.4\n" * 100),
    "empty": lambda out: out.write_bytes(b""),
    "flip-content": lambda out: patch(out, b"lost two blades", b"lost one blades"),
    "flip-seal": lambda out: patch(out, b'"date":"2024-04-21"', b'"date":"2023-04-21"'),
    "flip-header-name": lambda out: patch(out, b"grey-tender/bagit.txtBagIt", b"grey-tendes/bagit.txtBagIt"),
    "flip-packed": lambda out: flip_packed(out, ENTRY),
    "flip-directory": lambda out: patch(out, b"PK\1\2", b"PK\1\3"),
    "escape": lambda out: add_member(out, "grey-tender/../../escaped.txt", b"x"),
    "absolute": lambda out: add_member(out, "/etc/passwd", b"x"),
    "drive": lambda out: add_member(out, "grey-tender/C:/x.txt", b"x"),
    "device": lambda out: add_member(out, "grey-tender/data/log/papers/nul.pdf", b"x"),
    "markup": lambda out: add_member(out, "grey-tender/data/<img src=x onerror=alert(1)>", b"x"),
    "link": lambda out: add_member(out, "grey-tender/data/link", b"/etc/passwd", external_attr=0o120777 << 16),
    "case": lambda out: add_member(out, "grey-tender/BAGIT.txt", b"x"),
    "two-tops": lambda out: add_member(out, "other/x.txt", b"x"),
    "added": lambda out: add_member(out, "grey-tender/data/more.txt", b"x"),
    "bomb": lambda out: add_member(out, "grey-tender/data/bomb", BOMB, compress_type=zipfile.ZIP_DEFLATED),
    "packed-otherwise": lambda out: add_member(out, "grey-tender/data/x", b"x" * 99, compress_type=zipfile.ZIP_LZMA),
}
"""Ways to lay hands on a zip, by name."""
IN_THE_OPEN = frozenset({"flip-content", "flip-seal", "flip-header-name"})
"""Those that exchange words of files, which stand in a zip whose files are stored as they are."""


# ── a signed record, and what a forger makes of it ───────────────────────────────────────────────────────────────


def make_forgeries(place: Path) -> dict[str, dict[str, bytes]]:
    """Bags of a signed log, sound and forged, as files by name: those of `tests/record/forgeries.py`."""
    key, forger = forgeries.make_key(place, "owner"), forgeries.make_key(place, "forger")
    log = forgeries.make_log(place / "log", key)
    sound = forgeries.hand(log)
    days = forgeries.DAYS
    made = {
        "sound": sound,
        "last seal anew": forgeries.seal_last_anew(log, place / "anew"),
        "last seal anew, another key": forgeries.seal_last_anew(log, place / "signed", key=forger),
        "everything anew": forgeries.make_all_anew(place / "all", forger),
        "figures of March": forgeries.hand(log, datetime.date(2024, 3, 15)),
        "the year 1": forgeries.hand(forgeries.make_log(place / "first", None, [datetime.date(1, 1, 1), *days[1:]])),
        "the year 9999": forgeries.hand(forgeries.make_log(place / "last", None, [*days[:3], datetime.date.max])),
        "before its day": forgeries.hand(
            forgeries.make_log(place / "before", None, [*days[:2], datetime.date(2024, 3, 15), days[3]])
        ),
    }
    return made | {name: forgeries.tell_lie(sound, name) for name in forgeries.LIES}


FORGERIES = (
    "sound", "last seal anew", "last seal anew, another key", "everything anew", "figures of March", "the year 1",
    "the year 9999", "before its day", *forgeries.LIES,
)  # fmt: skip
