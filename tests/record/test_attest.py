"""What is put beside a seal, and what is told where it cannot be."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from buildlog.record.attest import attest_seal, check_signature, check_stamp
from buildlog.record.seals import Seal
from tests.outside.authority import Counter, reply, serve, set_up
from tests.record.logs import check_folder, seal, write_files


@pytest.fixture(scope="module")
def tools(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An authority's folder, and a key in it."""
    folder = set_up(tmp_path_factory.mktemp("tools"))
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(folder / "key")], check=True)
    return folder


@pytest.fixture
def counter(tools: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Counter]:
    monkeypatch.setenv("no_proxy", "127.0.0.1")
    with serve(lambda query: reply(tools, query)) as counter:
        yield counter


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return write_files(tmp_path / "log")


def seal_of(log: Path) -> Seal:
    done = seal(log)
    assert done.seal
    return done.seal


def list_names(log: Path) -> list[str]:
    return sorted(path.name for path in (log / "seals").iterdir() if not path.name.startswith("."))


def test_a_signature_and_a_stamp_lie_beside_the_seal_and_hold(log: Path, tools: Path, counter: Counter) -> None:
    """Both are over the seal's file, byte for byte; the certificate is kept; the seal itself is untouched."""
    latest = seal_of(log)
    content = (log / "seals/0001.json").read_bytes()
    done = attest_seal(log, latest, key=tools / "key", address=counter.address, certificates=tools / "ca.crt")
    assert done.problems == ()
    assert list_names(log) == ["0001.ca.pem", "0001.json", "0001.json.sig", "0001.tsr", "leaves.jsonl"]
    assert (log / "seals/0001.json").read_bytes() == content
    signature, stamp, authority = ((log / f"seals/0001{end}").read_bytes() for end in (".json.sig", ".tsr", ".ca.pem"))
    assert check_signature(content, signature).state == "holds"
    assert check_stamp(content, stamp, authority).state == "holds"
    signed, stamped = done.says
    assert signed.startswith("signature in `seals/0001.json.sig`: signed with ED25519 key SHA256:")
    assert stamped.startswith("stamp in `seals/0001.tsr`: stamped ")
    assert check_folder(log).failures == ()


def test_without_a_stamp_the_date_is_the_owner_s_word_and_that_is_said(log: Path, tools: Path) -> None:
    """A signature says who, not when."""
    word = "the date 2024-05-18 is only your word: a time stamp would confirm it (--stamp)"
    latest = seal_of(log)
    assert attest_seal(log, latest).says == (word,)
    assert attest_seal(log, latest, key=tools / "key").says[-1] == word


def test_what_lies_beside_a_seal_already_stays(log: Path, tools: Path, counter: Counter) -> None:
    """A second signature or stamp replaces nothing, and nobody is asked."""
    latest = seal_of(log)
    attest_seal(log, latest, key=tools / "key", address=counter.address)
    before = {name: (log / "seals" / name).read_bytes() for name in list_names(log)}
    done = attest_seal(log, latest, key=tools / "key", address=counter.address, certificates=tools / "ca.crt")
    assert done.says == (
        "seal 1 already has a signature, `0001.json.sig`: nothing was added",
        "seal 1 already has a stamp, `0001.tsr`: nothing was added",
    )
    assert {name: (log / "seals" / name).read_bytes() for name in list_names(log)} == before
    assert len(counter.asked) == 1


def test_what_fails_is_told_and_the_seal_stands(log: Path, tools: Path) -> None:
    """No key, no authority, no certificates: a problem each, and nothing half-made beside the seal."""
    latest = seal_of(log)
    done = attest_seal(log, latest, key=tools / "tsa.cnf", address="http://127.0.0.1:1/")
    assert [problem.rule for problem in done.problems] == ["no-signature", "no-stamp"]
    assert all(problem.message.split(": ")[0].endswith(", but the seal was made") for problem in done.problems)
    done = attest_seal(log, latest, address="http://127.0.0.1:1/", certificates=tools / "tsa.cnf")
    assert [problem.message for problem in done.problems] == [
        f"no stamp, but the seal was made: `{tools / 'tsa.cnf'}` contains no PEM certificates"
    ]
    assert list_names(log) == ["0001.json", "leaves.jsonl"]
    assert check_folder(log).failures == ()


def test_a_seal_may_be_attested_later(log: Path, tools: Path, counter: Counter) -> None:
    """The authority was away when the seal was made: the same seal is stamped afterwards."""
    seal_of(log)
    done = seal(log, 3)
    assert done.leaves == () and done.seal
    assert attest_seal(log, done.seal, address=counter.address).problems == ()
    assert list_names(log) == ["0001.json", "0001.tsr", "leaves.jsonl"]
