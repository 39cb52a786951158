"""One byte of a bag changed, anywhere: found, by a question that names the file, and told in words of ours.

1,200 places are drawn by a seed: most are found by sums alone, those in the log's texts are computed again as well.
`BUILDLOG_FLIPS=20000 BUILDLOG_FLIPS_SEED=7 pytest tests/record/test_flips.py` tries more, and others.
"""

from __future__ import annotations

import os
import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from buildlog.handover.findings import Finding
from tests.record.bags import answer, find, hand, load, pack_again, verify, write_sealed, write_zip

FLIPS = int(os.environ.get("BUILDLOG_FLIPS", "1200"))
"How many bytes are changed, all in all."
SEED = int(os.environ.get("BUILDLOG_FLIPS_SEED", "1"))
SHARE = 4
"Of so many flips one is in a text of the log, where a reader can stumble over it."
Files = dict[str, bytes]
PROGRAMMERS = re.compile(
    r"\b[A-Z]\w+(Error|Exception|Iteration|Warning)\b|Traceback|could not be finished|this program stops"
)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Files:
    folder = tmp_path_factory.mktemp("flips")
    hand(write_sealed(folder / "log"), folder / "bag", "papers/loan.pdf")
    return load(folder / "bag")


def flip(files: Files, name: str, chance: random.Random) -> tuple[Files, int]:
    """The files with one byte of one of them made another one, and at which place."""
    data = bytearray(files[name])
    at = chance.randrange(len(data))
    data[at] ^= chance.randrange(1, 256)
    return files | {name: bytes(data)}, at


def draw(files: Files, count: int, seed: int) -> Iterator[tuple[str, int, Files]]:
    """Flips over all bytes of these files alike."""
    chance = random.Random(seed)
    names = sorted(files)
    for name in chance.choices(names, weights=[len(files[name]) for name in names], k=count):
        changed, at = flip(files, name, chance)
        yield name, at, changed


def tells(findings: list[Finding], name: str) -> bool:
    """Whether a failing question names the file: as its place, or as the manifest that lists another sum."""
    return any(name in str(flaw) for finding in findings for flaw in finding.flaws if finding.state == "fails")


def test_any_byte_of_a_bag(sound: Files) -> None:
    """Wherever it lies, sums find it, and say in which file."""
    passed = [
        f"{name}:{at}"
        for name, at, changed in draw(sound, FLIPS - FLIPS // SHARE, SEED)
        if not tells([answer(changed)["files"]], name)
    ]
    assert passed == []


def test_any_byte_of_the_log_s_words(sound: Files, tmp_path: Path) -> None:
    """In an entry or in `log.yaml`: sums and seals fail with the file, an entry's page fails, and it is told in words.

    Byte for byte the words may be no UTF-8 any more, no YAML, no entry, another amount or the same one.
    """
    texts = {
        name: raw for name, raw in sound.items() if name.startswith("data/log/") and name.endswith((".md", ".yaml"))
    }
    for name, at, changed in draw(texts, FLIPS // SHARE, SEED):
        report = verify(write_zip(tmp_path / "bag.zip", sound | changed))
        where = f"{name}:{at}"
        for key in ("files", "sealed"):
            assert tells([find(report, key)], name), where
        if name.endswith(".md"):  # an entry's page carries the proof of its file
            assert find(report, "pages").state == "fails", where
        assert not PROGRAMMERS.search(report.as_text()), where


def test_any_byte_of_what_is_parsed_with_every_sum_mended(sound: Files) -> None:
    """Lists, seals and leaves that a forger bent by a byte never stop the program: each question has an answer."""
    parsed = {name: raw for name, raw in sound.items() if name.startswith("data/seals/") or name.endswith(".json")}
    for name, at, changed in draw(parsed, FLIPS // SHARE, SEED + 1):
        assert len(answer(pack_again(sound | changed))) == 6, f"{name}:{at}"
