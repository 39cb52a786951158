"""That the guide to seals says what is so: its commands run as written, its tables name the keys that are on disk."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path

import pytest

import buildlog
from buildlog.cli import main
from buildlog.record.attest import attest_seal
from buildlog.record.seals import read_seal
from tests.outside.authority import reply, serve, set_up
from tests.record.logs import seal_three_times

GUIDE = (Path(buildlog.__file__).parent / "guide/seals.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"```sh\n(.*?)\n```", GUIDE, re.DOTALL)


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log under three seals; the first is signed and stamped."""
    folder = tmp_path_factory.mktemp("log")
    tools = set_up(tmp_path_factory.mktemp("tools"))
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(tools / "key")], check=True)
    seal_three_times(folder)
    first = read_seal((folder / "seals/0001.json").read_bytes())
    with pytest.MonkeyPatch.context() as patch, serve(lambda query: reply(tools, query)) as counter:
        patch.setenv("no_proxy", "127.0.0.1")
        done = attest_seal(folder, first, key=tools / "key", address=counter.address, certificates=tools / "ca.crt")
    assert done.problems == ()
    return folder


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_runs_as_written(log: Path, command: str) -> None:
    """In a log whose first seal is signed and stamped, each ends with 0."""
    done = subprocess.run(command, shell=True, cwd=log, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_sums_are_those_in_the_record(log: Path) -> None:
    """What `sha256sum` prints for a file and for a seal stands where the guide says."""
    leaves = [json.loads(line) for line in (log / "seals/leaves.jsonl").read_text(encoding="utf-8").splitlines()]
    latest = [leaf for leaf in leaves if leaf["path"] == "log.yaml"][-1]
    second = json.loads((log / "seals/0002.json").read_bytes())
    for command, expected in (
        ("sha256sum log.yaml", latest["sha256"]),
        ("sha256sum seals/0001.json", second["previous"]),
    ):
        assert command in COMMANDS
        assert (
            subprocess.run(command, shell=True, cwd=log, capture_output=True, check=True).stdout.decode()[:64]
            == expected
        )


def test_the_tables_name_the_keys_on_disk(log: Path) -> None:
    """Each key of a leaf and of a seal has its row, and there is no other."""
    leaves = [json.loads(line) for line in (log / "seals/leaves.jsonl").read_bytes().splitlines()]
    for head, keys in (
        ("A leaf", set().union(*leaves)),
        ("A seal", set(json.loads((log / "seals/0002.json").read_bytes()))),
    ):
        table = GUIDE.split(f"**{head}**")[1].split("\n\n")[1]
        assert set(re.findall(r"^\| `(\w+)` \|", table, re.MULTILINE)) == keys


def test_the_options_are_those_of_the_command() -> None:
    """No option is told that its command does not have, and none that `seal` has is left out."""
    verify = {option for line in re.findall("buildlog verify .*", GUIDE) for option in re.findall(OPTION, line)}
    assert verify <= list_options("verify")
    assert set(re.findall(OPTION, GUIDE)) - verify == list_options("seal") - {"--as-of"}


OPTION = r"--[a-z][a-z-]+"


def list_options(command: str) -> set[str]:
    return {name for option in main.commands[command].params for name in option.opts if name.startswith("--")}
