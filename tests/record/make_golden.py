"""Makes the golden bag of today's format of figures, by hand: `python -m tests.record.make_golden`.

The texts are the example's, so that every kind of figure is in it; its photos and papers are exchanged for small ones.
Two seals, both signed, the second stamped by an authority of the tests' own. A bag whose format was once released is
never made again: `test_golden_bags` holds every later version against it.
"""

from __future__ import annotations

import argparse
import datetime
import io
import os
import subprocess
import tempfile
import zipfile
from pathlib import Path

from PIL import Image

from buildlog.handover.figures_json import FORMAT
from buildlog.handover.pack import hand_over
from buildlog.record.attest import attest_seal
from buildlog.record.sealing import seal_log
from tests.outside.authority import reply, serve, set_up
from tests.record.logs import count_salts

EXAMPLE = Path(__file__).parent.parent.parent / "example_project"
GOLDEN = Path(__file__).parent / "golden"
DAY = datetime.date(2024, 11, 30)


def make_golden(out: Path) -> Path:
    """The bag, packed small, at a path."""
    with tempfile.TemporaryDirectory() as temporary:
        place = Path(temporary)
        log = _copy_small(place / "log")
        tools = set_up(place / "tools", days=36500)
        key = tools / "key"
        subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", "golden", "-f", str(key)], check=True)
        _seal(log, datetime.date(2024, 11, 24), key)
        (log / "papers/added.pdf").write_bytes(b"%PDF-1.4 added")
        os.environ["no_proxy"] = "127.0.0.1"
        with serve(lambda query: reply(tools, query)) as counter:
            _seal(log, DAY, key, address=counter.address, certificates=tools / "ca.crt")
        handed = hand_over(log, place / "bag.zip", as_of=DAY, withhold=["papers/added.pdf"])
        assert handed.handover, handed.problems
        _pack_small(place / "bag.zip", out)
    return out


def _copy_small(folder: Path) -> Path:
    for path in sorted(EXAMPLE.rglob("*")):
        name = path.relative_to(EXAMPLE).as_posix()
        if path.is_file() and name.startswith(("log.yaml", "entries/", "photos/", "papers/")):
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(_shrink(path))
    return folder


def _shrink(path: Path) -> bytes:
    if path.suffix.lower() in (".jpg", ".jpeg", ".png"):
        file = io.BytesIO()
        with Image.open(path) as picture:
            picture.convert("RGB").resize((16, 12)).save(file, "PNG" if path.suffix.lower() == ".png" else "JPEG")
        return file.getvalue()
    return path.read_bytes() if path.suffix in (".md", ".yaml") else b"%PDF-1.4 " + path.name.encode()


def _seal(
    log: Path, day: datetime.date, key: Path, *, address: str | None = None, certificates: Path | None = None
) -> None:
    sealing = seal_log(log, date=day, reason=None, make_salt=count_salts())
    assert sealing.seal, sealing.problems
    done = attest_seal(log, sealing.seal, key=key, address=address, certificates=certificates)
    assert not done.problems, done.problems


def _pack_small(bag: Path, out: Path) -> None:
    """The same files in the same order, deflated."""
    with zipfile.ZipFile(bag) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as target:
        for info in source.infolist():
            target.writestr(zipfile.ZipInfo(info.filename, info.date_time), source.read(info), zipfile.ZIP_DEFLATED, 9)


if __name__ == "__main__":
    # Whoever only asks what this does must not remake a bag that is never made again.
    argparse.ArgumentParser(description="Make the golden bag of today's format anew.").parse_args()
    print(make_golden(GOLDEN / f"format-{FORMAT}.zip"))
