"""A signed log over four seals, handed over, and what a forger may make of it who knows how all of it is made.

Everything here is done with the project's own tools, which a forger has as well: what he lacks is the owner's key, and
whatever somebody kept outside.
"""

from __future__ import annotations

import datetime
import shutil
import subprocess
from collections.abc import Callable, Mapping
from pathlib import Path

from buildlog.handover.figures_json import write_figures
from buildlog.handover.handed_log import read_handed
from buildlog.handover.manifest import is_text, read_list
from buildlog.handover.pack import hand_over
from buildlog.handover.remake_pages import make_pages
from buildlog.record.attest import attest_seal
from buildlog.record.attestation_metadata import TIME_STAMP_INFO
from buildlog.record.sealing import seal_log
from tests.record.bags import load, pack_again, read_memory
from tests.record.logs import count_salts, write_files

Files = dict[str, bytes]
SETTINGS = b"machine: {name: Grey tender, meter: {unit: h}}\nmoney: {currency: GBP}\n"
DAYS = [datetime.date(2024, month, 2) for month in (2, 3, 4, 5)]
"Of the four seals; the entry of each is of the day before."
PRICES = ["10.00", "20.50", "30.25", "40.00"]
AS_OF = datetime.date(2024, 6, 1)
SECOND = "entries/2024-03-01-job.md"
"The entry that a forger would like to be cheaper: under seal 2."
LIST, INFO, SIGNERS, FIGURES = "data/handover.json", "bag-info.txt", "data/allowed_signers", "data/figures.json"


def write_entry(number: int) -> tuple[str, bytes]:
    day = DAYS[number] - datetime.timedelta(1)
    text = f"""---
title: Job {number + 1}
date: {day}
bought: {{from: A shop, paid: {day}, arrived: {day}, lines: [{{what: A part, each: {PRICES[number]}}}]}}
---
Done.
"""
    return f"entries/{day}-job.md", text.encode()


def make_key(folder: Path, name: str) -> Path:
    """An SSH key of nobody's."""
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", name, "-f", str(folder / name)], check=True)
    return folder / name


def seal(log: Path, day: datetime.date, key: Path | None, reason: str | None = None) -> None:
    done = seal_log(log, date=day, reason=reason, make_salt=count_salts())
    assert done.leaves, done.problems
    assert done.seal
    if key:
        assert not attest_seal(log, done.seal, key=key).problems


def make_log(folder: Path, key: Path | None, days: list[datetime.date] = DAYS) -> Path:
    """The log, each entry under its own seal of one of the days, each seal signed with the key."""
    write_files(folder, {"log.yaml": SETTINGS})
    for number, day in enumerate(days):
        write_files(folder, dict([write_entry(number)]))
        seal(folder, day, key)
    return folder


def hand(log: Path, as_of: datetime.date = AS_OF) -> Files:
    """The log's bag, as files."""
    out = log.with_name(f"{log.name}-bag")
    handed = hand_over(log, out, as_of=as_of)
    assert handed.handover, handed.problems
    files = load(out)
    shutil.rmtree(out)
    return files


def lie(raw: bytes) -> bytes:
    """The entry with another price."""
    assert b"20.50" in raw
    return raw.replace(b"20.50", b"12.50")


# ── by what the forger makes anew ────────────────────────────────────────────────────────────────────────────────


def change_entry(files: Files) -> Files:
    return files | {f"data/log/{SECOND}": lie(files[f"data/log/{SECOND}"])}


def remake(files: Files, *, site: bool) -> Files:
    """The figures, and the site too, made anew of the entries that are there."""
    handover = read_list(files[LIST])
    texts = {name[9:]: raw for name, raw in files.items() if name.startswith("data/log/") and is_text(name[9:])}
    figures = read_handed(texts, texts, handover.as_of).figures
    assert figures
    files = files | {FIGURES: write_figures(figures)}
    made = make_pages(read_memory(files), handover, figures) if site else {}
    assert made is not None
    return files | {name: content for name, content in made.items() if content is not None}


def seal_last_anew(log: Path, folder: Path, *, key: Path | None = None, stale: bool = False) -> Files:
    """Seals 1 to 3 as they were, the fourth made anew over the changed entry, and all that follows from it.

    `stale` keeps the owner's signature of the old fourth seal; `key` signs the new one.
    """
    shutil.copytree(log, folder)
    seals = folder / "seals"
    signature = (seals / "0004.json.sig").read_bytes()
    for name in ("0004.json", "0004.json.sig"):
        (seals / name).unlink()
    lines = (seals / "leaves.jsonl").read_bytes().splitlines(keepends=True)
    (seals / "leaves.jsonl").write_bytes(b"".join(lines[:-1]))
    (folder / SECOND).write_bytes(lie((folder / SECOND).read_bytes()))
    seal(folder, DAYS[-1], key, "typing error")
    if stale:
        (seals / "0004.json.sig").write_bytes(signature)
    return hand(folder)


def make_all_anew(folder: Path, key: Path | None) -> Files:
    """A log that says what it likes, with all its seals, in one evening."""
    write_files(folder, {"log.yaml": SETTINGS})
    for number, day in enumerate(DAYS):
        path, raw = write_entry(number)
        write_files(folder, {path: lie(raw) if path == SECOND else raw})
        seal(folder, day, key)
    return hand(folder)


# ── single lies ──────────────────────────────────────────────────────────────────────────────────────────────────


def replace(name: str, old: bytes, new: bytes) -> Callable[[Files], Files]:
    def change(files: Files) -> Files:
        assert old in files[name], (name, old)
        return files | {name: files[name].replace(old, new)}

    return change


def drop(*names: str) -> Callable[[Files], Files]:
    return lambda files: {name: raw for name, raw in files.items() if name not in names}


def add(name: str, raw: bytes) -> Callable[[Files], Files]:
    return lambda files: files | {name: raw}


def write_stamp(time: bytes) -> bytes:
    """The part of a time stamp's reply that says when (RFC 3161, section 2.4.2); no authority made it."""

    def value(tag: int, content: bytes) -> bytes:
        return bytes([tag, len(content)]) + content

    info = value(0x30, value(0x02, b"\1") + value(0x18, time))
    return TIME_STAMP_INFO + value(0xA0, value(0x04, info))


ALL_SIGNATURES = [f"data/seals/{number:04d}.json.sig" for number in range(1, 5)]
Lie = tuple[Callable[[Files], Files], str, str, str, str]
"What is done; the question, its state, the rule that is told, the file that is named."


def fail_info(old: bytes, new: bytes) -> Lie:
    return replace(INFO, old, new), "files", "fails", "info-differs", INFO


def fail_signers(change: Callable[[Files], Files]) -> Lie:
    return change, "signatures", "fails", "signers-differ", SIGNERS


def stray(name: str) -> Lie:
    return add(f"data/seals/{name}", b"x"), "seals", "fails", "stray-file", f"data/seals/{name}"


LIES: Mapping[str, Lie] = {
    "signers emptied": fail_signers(add(SIGNERS, b"")),
    "signers dropped": fail_signers(drop(SIGNERS)),
    "signers replaced": fail_signers(add(SIGNERS, b'owner namespaces="buildlog" ssh-ed25519 AAAA\n')),
    "signatures dropped": fail_signers(drop(*ALL_SIGNATURES)),
    "last signature dropped": (
        drop(ALL_SIGNATURES[-1]), "signatures", "cannot be checked", "last-not-signed", "data/seals/0004.json",
    ),
    "last two signatures dropped": (
        drop(*ALL_SIGNATURES[2:]), "signatures", "cannot be checked", "not-vouched", "data/seals/leaves.jsonl",
    ),
    "hidden in seals": stray(".kept"),
    "a folder in seals": stray("old/0001.json"),
    "seal naught": stray("0000.json"),
    "a stamp of no seal": stray("0009.tsr"),
    "certificates alone": (
        add("data/seals/0001.ca.pem", b"x"), "seals", "holds", "no-stamp-for-it", "data/seals/0001.ca.pem",
    ),
    "another machine in the description": fail_info(b"Identifier: Grey tender", b"Identifier: Red cruiser"),
    "another day in the description": fail_info(b"Bagging-Date: 2024-06-01", b"Bagging-Date: 2023-06-01"),
    "another program in the description": fail_info(b"Agent: buildlog", b"Agent: other"),
    "a day said twice in the description": fail_info(b"Bagging-Date", b"Bagging-Date: 2023-01-01\nBagging-Date"),
    "a line more in the description": (
        replace(INFO, b"Bagging-Date", b"Bag-Size: 3 TB\nBagging-Date"), "files", "holds", "info-more", INFO,
    ),
}  # fmt: skip
"Each by itself, the manifests made to fit."


def tell_lie(files: Files, name: str) -> Files:
    return pack_again(LIES[name][0](files))
