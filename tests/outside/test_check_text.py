"""The commands of CHECK.md, run as they are written: coreutils, `openssl ts -verify`, `ssh-keygen -Y verify` judge."""

from __future__ import annotations

import datetime
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from buildlog.record.attest import attest_seal
from buildlog.record.sealing import seal_log
from tests.outside.authority import reply, serve, set_up
from tests.record.bags import find, hand, seal, verify, write_log

pytestmark = pytest.mark.outside


@pytest.fixture(scope="module")
def handed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A log under two seals, the second signed and stamped, handed over as a folder."""
    folder = tmp_path_factory.mktemp("checked")
    tools, log = set_up(folder / "tools"), write_log(folder / "log")
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(tools / "key")], check=True)
    seal(log)
    sealing = seal_log(write_log(log, MORE), date=DAY)
    assert sealing.seal
    with pytest.MonkeyPatch.context() as patch, serve(lambda query: reply(tools, query)) as counter:
        patch.setenv("no_proxy", "127.0.0.1")
        done = attest_seal(log, sealing.seal, key=tools / "key", address=counter.address, certificates=tools / "ca.crt")
    assert not done.problems, done.problems
    hand(log, folder / "bag")
    yield folder / "bag"


DAY = datetime.date(2024, 6, 4)
MORE = {"papers/more.pdf": b"%PDF-1.4 more"}


def list_commands(bag: Path) -> list[str]:
    """The indented lines of CHECK.md."""
    return re.findall(r"^ {4}(.+)$", (bag / "data/CHECK.md").read_text(encoding="utf-8"), re.MULTILINE)


def run(bag: Path, start: str) -> subprocess.CompletedProcess[str]:
    """The one command that begins so, run by `sh` in the bag's top folder."""
    [command] = [line for line in list_commands(bag) if line.startswith(start)]
    return subprocess.run(["sh", "-c", command], cwd=bag, capture_output=True, text=True, check=False)


@pytest.fixture
def copy(handed: Path, tmp_path: Path) -> Path:
    return shutil.copytree(handed, tmp_path / "copy")


STARTS = {
    "sha256sum --quiet -c tagmanifest": "",
    "sha256sum --quiet -c manifest": "",
    "(cut": "",
    "LC_ALL=C find": "",
    "wc -l": "8\n",
    "openssl ts -verify": "Verification: OK\n",
    "grep -c": "1\n",
}


@pytest.mark.parametrize("start", STARTS)
def test_a_command_says_that_all_is_well(handed: Path, start: str) -> None:
    """Exit code 0, and the output that CHECK.md promises."""
    done = run(handed, start)
    assert (done.returncode, done.stdout) == (0, STARTS[start])


def test_the_signature_is_verified_as_written(handed: Path) -> None:
    """By `ssh-keygen -Y verify`, with the keys that came along, in the namespace of this record."""
    done = run(handed, "ssh-keygen -Y verify")
    assert done.returncode == 0
    assert done.stdout.startswith('Good "buildlog" signature for owner with ED25519 key SHA256:')


def test_every_command_is_one_of_those(handed: Path) -> None:
    """No line of CHECK.md goes untried: the two that only print are run for their exit code."""
    others = [line for line in list_commands(handed) if not line.startswith((*STARTS, "ssh-keygen -Y verify"))]
    assert [line.split()[0] for line in others] == ["sha256sum", "grep"]
    for line in others:
        assert subprocess.run(["sh", "-c", line], cwd=handed, capture_output=True, check=False).returncode == 0


CHANGES = {
    "sha256sum --quiet -c tagmanifest": "bag-info.txt",
    "sha256sum --quiet -c manifest": "data/site/index.html",
    "openssl ts -verify": "data/seals/0002.json",
    "ssh-keygen -Y verify": "data/seals/0002.json",
}


@pytest.mark.parametrize("start", CHANGES)
def test_a_command_finds_a_change(copy: Path, start: str) -> None:
    """The same commands over changed bytes: another exit code than 0."""
    with open(copy / CHANGES[start], "ab") as file:
        file.write(b" ")
    assert run(copy, start).returncode != 0


def test_an_added_and_a_missing_file_are_printed(copy: Path) -> None:
    """What `sha256sum` alone would not notice."""
    (copy / "data/more.txt").write_text("more")
    (copy / "data/site/feed.xml").unlink()
    (copy / "beside.txt").write_text("more")
    (copy / "link.txt").symlink_to("bagit.txt")
    assert run(copy, "(cut").stdout == "beside.txt\ndata/more.txt\ndata/site/feed.xml\nlink.txt\n"


def test_a_link_and_a_name_that_hides_in_the_list_are_printed(copy: Path) -> None:
    """A link in the place of a file that is listed; a line break by which one name reads as two that are listed."""
    (copy / "data/site/feed.xml").rename(copy.parent / "feed.xml")
    (copy / "data/site/feed.xml").symlink_to(copy.parent / "feed.xml")
    hidden = copy / "data/CHECK.md\n./data/figures.json"
    hidden.parent.mkdir(parents=True)
    hidden.write_text("more")
    assert run(copy, "(cut").stdout == ""
    printed = run(copy, "LC_ALL=C find").stdout
    assert "./data/site/feed.xml\n" in printed
    assert "./data/CHECK.md" in printed


def test_a_seal_that_was_taken_away_is_seen(copy: Path) -> None:
    """The list of leaves is longer than CHECK.md says of the last seal, whatever manifests were made anew."""
    lines = (copy / "data/seals/leaves.jsonl").read_bytes().splitlines(keepends=True)
    (copy / "data/seals/leaves.jsonl").write_bytes(b"".join([*lines, lines[-1]]))
    assert f"prints more than {len(lines)}, a later" in (copy / "data/CHECK.md").read_text().replace("\n", " ")
    assert run(copy, "wc -l").stdout == f"{len(lines) + 1}\n"


def test_the_tool_says_the_same(handed: Path) -> None:
    """Questions 4 and 5 hold, and say that trust in authority and key is the reader's."""
    report = verify(handed)
    stamps, signatures = find(report, "stamps"), find(report, "signatures")
    assert (stamps.state, signatures.state) == ("holds", "holds")
    assert "CN = Test TSA" in stamps.says or "Test TSA" in stamps.says
    assert "which is not known here" in stamps.says
    assert "ask the owner" in signatures.says
    assert not report.failed


@pytest.mark.parametrize(("key", "name"), [("stamps", "0002.tsr"), ("signatures", "0002.json.sig")])
def test_the_tool_finds_a_forged_stamp_and_signature(copy: Path, key: str, name: str) -> None:
    """Some bytes of either exchanged: the question fails, in that file."""
    path = copy / "data/seals" / name
    data = path.read_bytes()
    path.write_bytes(data[:-30] + data[-30:][::-1] if key == "stamps" else data.replace(b"A", b"B"))
    finding = find(verify(copy), key)
    assert finding.state == "fails"
    assert finding.flaws[0].file == f"data/seals/{name}"


def test_a_stamp_without_certificates_cannot_be_checked(copy: Path) -> None:
    """What it says is told, and that nobody vouches for it."""
    (copy / "data/seals/0002.ca.pem").unlink()
    finding = find(verify(copy), "stamps")
    assert finding.state == "cannot be checked"
    assert "no certificate of that authority is included" in finding.says
