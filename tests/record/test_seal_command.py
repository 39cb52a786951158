"""What `buildlog seal` prints and how it ends."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from buildlog.cli import main
from buildlog.record.seals import read_seal
from tests.record.logs import check_folder, write_files

WORD = "the date {} is only your word: a time stamp would confirm it (--stamp)\n"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["seal", *map(str, arguments)], prog_name="buildlog")


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return write_files(tmp_path / "log")


def tell_seal(log: Path, number: int) -> str:
    seal = read_seal((log / f"seals/{number:04d}.json").read_bytes())
    return f"root {seal.root}\ncode {seal.code}\n"


def test_sealing_and_sealing_again(log: Path) -> None:
    """The first seal, then nothing to add: both end with 0, and say that the date is the owner's word."""
    first = run(log, "--as-of", "2024-05-18")
    told = tell_seal(log, 1) + WORD.format("2024-05-18")
    assert (first.exit_code, first.output) == (0, "seal 1 of 2024-05-18: 4 new; 4 files listed\n" + told)
    again = run(log, "--as-of", "2024-06-01")
    nothing = "nothing has changed since seal 1 of 2024-05-18: nothing was added\n"
    assert (again.exit_code, again.output) == (0, nothing + told)


def test_a_changed_file_ends_with_1_and_what_to_type(log: Path) -> None:
    """The whole output of a refusal, and of the same with a reason."""
    run(log, "--as-of", "2024-05-18")
    write_files(log, {"log.yaml": b"machine: {name: Other}\n"})
    refused = run(log, "--as-of", "2024-06-01")
    assert (refused.exit_code, refused.stdout, refused.stderr) == (
        1,
        "",
        "log.yaml:1:1: `log.yaml` has changed since it was sealed\n"
        '  say why; every reader will see it, for good: `buildlog seal --reason "typing error in the date"`\n'
        "  [reason-needed]\n"
        "\n"
        "1 error\n",
    )
    done = run(log, "--as-of", "2024-06-01", "--reason", "misspelt")
    assert done.exit_code == 0
    assert done.output == "seal 2 of 2024-06-01: 1 amended; 5 files listed\n" + tell_seal(log, 2) + WORD.format(
        "2024-06-01"
    )


def test_a_signature_by_the_command(log: Path, tmp_path: Path) -> None:
    """`--sign KEY`, and a key that signs nothing: the seal stands and the exit code is 1."""
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(tmp_path / "key")], check=True)
    done = run(log, "--as-of", "2024-05-18", "--sign", log / "log.yaml")
    assert done.exit_code == 1
    assert ":1:1: no signature, but the seal was made: " in done.stderr
    done = run(log, "--as-of", "2024-05-18", "--sign", tmp_path / "key")
    assert done.exit_code == 0
    assert "\nsignature in `seals/0001.json.sig`: signed with ED25519 key SHA256:" in done.output
    assert check_folder(log).failures == ()


def test_wrong_use_ends_with_2(log: Path, tmp_path: Path) -> None:
    """A certificate without an authority, a key that is not there, a folder that is not there."""
    assert run(log, "--stamp-ca", log / "log.yaml").exit_code == 2
    assert run(log, "--sign", tmp_path / "nothing").exit_code == 2
    assert run(tmp_path / "nothing").exit_code == 2
    assert not (log / "seals").exists()
