"""Which leaves a log gets, when it gets none, and that nothing sealed is ever rewritten."""

from __future__ import annotations

import datetime
import hashlib
import os
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.record import log_disk, sealing
from buildlog.record.rules import LONGEST_REASON
from buildlog.record.sealing import Sealing, draw_salt, hold_seals, seal_log
from tests.record.logs import DAY, FILES, LEFT_OUT, check_folder, seal, write_files

LIST = "seals/leaves.jsonl"


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return write_files(tmp_path / "log", {**FILES, **LEFT_OUT})


def list_files(log: Path) -> dict[str, bytes]:
    return {path.relative_to(log).as_posix(): path.read_bytes() for path in sorted(log.rglob("*")) if path.is_file()}


def list_rules(sealing: Sealing) -> list[tuple[str, str]]:
    return [(problem.rule, problem.place.file) for problem in sealing.problems]


def sum_of(path: str) -> str:
    return hashlib.sha256(FILES[path]).hexdigest()


def test_the_first_seal_byte_for_byte(log: Path) -> None:
    """One leaf a file in the order of paths, salts and sums written out; the seal's root by the rule of RFC 9162."""
    done = seal(log)
    lines = [
        f'{{"path":"{path}","salt":"{number:032x}","sha256":"{sum_of(path)}","size":{len(FILES[path])}}}'.encode()
        for number, path in enumerate(sorted(FILES), 1)
    ]
    assert (log / LIST).read_bytes() == b"".join(line + b"\n" for line in lines)
    one, two, three, four = (hashlib.sha256(b"\0" + line).digest() for line in lines)
    left, right = hashlib.sha256(b"\1" + one + two).digest(), hashlib.sha256(b"\1" + three + four).digest()
    root = hashlib.sha256(b"\1" + left + right).hexdigest()
    text = f'{{"date":"2024-05-18","leaves":4,"number":1,"previous":null,"root":"{root}"}}\n'
    assert (log / "seals/0001.json").read_text() == text
    assert sorted(os.listdir(log / "seals")) == [".lock", "0001.json", "leaves.jsonl"]
    assert str(done) == f"seal 1 of 2024-05-18: 4 new; 4 files listed\nroot {root}\ncode {done.seal and done.seal.code}"


def test_the_log_s_own_files_are_only_read(log: Path) -> None:
    """Sealing changes nothing outside `seals/`."""
    before = list_files(log)
    seal(log)
    assert {path: data for path, data in list_files(log).items() if not path.startswith("seals/")} == before


def test_sealing_twice_adds_nothing_and_says_so(log: Path) -> None:
    """The same bytes on disk, and the latest seal told."""
    first = seal(log)
    before = list_files(log)
    second = seal(log, 30)
    assert list_files(log) == before
    assert (second.seal, second.leaves, second.problems) == (first.seal, (), ())
    assert str(second).splitlines()[0] == "nothing has changed since seal 1 of 2024-05-18: nothing was added"


def test_what_is_new_is_sealed_without_a_reason(log: Path) -> None:
    """A new entry and a new photo, and nothing else, are added behind what was sealed."""
    seal(log)
    before = (log / LIST).read_bytes(), (log / "seals/0001.json").read_bytes()
    write_files(log, {"entries/2024-06-01-pump-in.md": b"---\n---\n", "photos/2024-06-01-pump-in/in.jpg": b"in"})
    done = seal(log, 14)
    assert [(leaf.path, leaf.amends, leaf.reason) for leaf in done.leaves] == [
        ("entries/2024-06-01-pump-in.md", None, None),
        ("photos/2024-06-01-pump-in/in.jpg", None, None),
    ]
    assert (log / LIST).read_bytes().startswith(before[0])
    assert (log / "seals/0001.json").read_bytes() == before[1]
    assert done.seal and done.seal.previous == hashlib.sha256(before[1]).hexdigest()


def change_three(log: Path) -> None:
    """One file changed, one gone, one back that was gone."""
    write_files(log, {"papers/back.pdf": b"once"})
    seal(log)
    (log / "papers/back.pdf").unlink()
    seal(log, 1, "lost")
    write_files(log, {"log.yaml": b"machine: {name: Other}\n", "papers/back.pdf": b"found"})
    (log / "papers/invoice.pdf").unlink()


def test_what_was_sealed_changes_only_for_a_reason(log: Path) -> None:
    """Each such file is named with what to type, and nothing is written."""
    change_three(log)
    before = list_files(log)
    done = seal(log, 2)
    assert list_files(log) == before
    assert done.leaves == ()
    assert [problem.message for problem in done.problems] == [
        "`log.yaml` has changed since it was sealed",
        "`papers/invoice.pdf` has gone since it was sealed",
        "`papers/back.pdf` has come back since it was sealed",
    ]
    assert {problem.rule for problem in done.problems} == {"reason-needed"}
    assert {problem.help for problem in done.problems} == {
        'say why; every reader will see it, for good: `buildlog seal --reason "typing error in the date"`'
    }


def test_each_amendment_names_the_leaf_before_it_and_the_reason(log: Path) -> None:
    """Changed, gone and back are leaves of their own; what is gone has no sum."""
    change_three(log)
    write_files(log, {"papers/new.pdf": b"new"})
    done = seal(log, 2, "sorted out")
    assert [(leaf.path, leaf.amends, leaf.reason, leaf.digest is None) for leaf in done.leaves] == [
        ("log.yaml", 1, "sorted out", False),
        ("papers/back.pdf", 5, "sorted out", False),
        ("papers/invoice.pdf", 3, "sorted out", True),
        ("papers/new.pdf", None, None, False),
    ]
    assert str(done).startswith("seal 3 of 2024-05-20: 1 new, 2 amended, 1 gone; 10 files listed\n")
    assert check_folder(log).failures == ()
    assert not check_folder(log).files.differs


def test_what_is_gone_stays_gone_in_silence(log: Path) -> None:
    """A file sealed as gone needs no further leaf."""
    seal(log)
    (log / "papers/invoice.pdf").unlink()
    assert seal(log, 1, "not ours").leaves
    assert seal(log, 2).leaves == ()


@pytest.mark.parametrize("reason", ["", " ", "a\nb", "r" * (LONGEST_REASON + 1)])
def test_a_reason_that_says_nothing_is_refused(log: Path, reason: str) -> None:
    """It is refused before anything is read, and no folder is made."""
    assert list_rules(seal(log, reason=reason)) == [("unfit-reason", "seals")]
    assert not (log / "seals").exists()


def test_a_folder_that_is_no_log_is_not_sealed(tmp_path: Path) -> None:
    """Without `log.yaml` there is no log."""
    assert list_rules(seal(tmp_path)) == [("missing-file", "log.yaml")]
    assert list(tmp_path.iterdir()) == []


def test_a_seal_is_never_dated_before_the_one_before(log: Path) -> None:
    """Seals follow each other in time; on the same day there may be several."""
    seal(log, 5)
    write_files(log, {"papers/new.pdf": b"new"})
    done = seal(log, 4)
    assert list_rules(done) == [("date-falls", "seals/0001.json")]
    assert done.problems[0].message == "the previous seal, `0001.json`, is dated 2024-05-23, later than 2024-05-22"
    assert seal(log, 5).leaves


@pytest.mark.parametrize("where", ["papers/link.pdf", "papers/folder", "photos", "log.yaml"])
def test_what_is_a_link_is_refused(log: Path, tmp_path: Path, where: str) -> None:
    """A seal speaks of bytes in the log, not of where a link leads today."""
    target = tmp_path / "outside"
    write_files(target, {"log.yaml": b"machine: {}\n"})
    path = log / where
    if path.exists():
        path.rename(tmp_path / "aside")
    path.symlink_to(target / "log.yaml" if where.endswith((".pdf", ".yaml")) else target)
    done = seal(log)
    assert list_rules(done) == [("linked-file", where)]
    assert not (log / LIST).exists()


def test_a_link_in_the_place_of_a_sealed_file_does_not_pass_as_gone(log: Path) -> None:
    """Even with a reason nothing is sealed while a file cannot be looked at."""
    seal(log)
    (log / "papers/invoice.pdf").unlink()
    (log / "papers/invoice.pdf").symlink_to("nowhere")
    assert list_rules(seal(log, 1, "moved")) == [("linked-file", "papers/invoice.pdf")]


def test_seals_behind_a_link_are_refused(log: Path, tmp_path: Path) -> None:
    """Nothing is written outside the log."""
    (tmp_path / "elsewhere").mkdir()
    (log / "seals").symlink_to(tmp_path / "elsewhere")
    assert list_rules(seal(log)) == [("linked-file", "seals")]
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_a_pipe_is_refused_and_not_waited_for(log: Path) -> None:
    """What is no file has no bytes to seal."""
    os.mkfifo(log / "papers/pipe.pdf")
    assert list_rules(seal(log)) == [("linked-file", "papers/pipe.pdf")]


@pytest.mark.parametrize("name", [b"a\xffb.pdf", b"a\nb.pdf", b"a\\b.pdf"])
def test_names_that_other_systems_cannot_hold_are_refused(log: Path, name: bytes) -> None:
    """No UTF-8, a line end, another system's separator: told, and nothing is sealed."""
    with open(os.fsencode(log) + b"/papers/" + name, "wb"):
        pass
    assert [problem.rule for problem in seal(log).problems] == ["name-not-sealable"]


def test_names_are_one_however_their_letters_are_composed(log: Path) -> None:
    """A log that came by way of a system that decomposes names is unchanged; two such names at once are refused."""
    composed, decomposed = (unicodedata.normalize(form, "papers/ölpumpe.pdf") for form in ("NFC", "NFD"))
    write_files(log, {decomposed: b"pump"})
    assert composed in [leaf.path for leaf in seal(log).leaves]
    (log / decomposed).rename(log / composed)
    assert seal(log, 1).leaves == () and seal(log, 1).problems == ()
    write_files(log, {decomposed: b"another"})
    assert [problem.rule for problem in seal(log, 1).problems] == ["same-name-twice"]


def test_a_file_that_is_written_meanwhile_is_not_sealed(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A camera that is still copying: half a photo is never committed to."""
    real, waiting = os.read, ["the rest"]

    def read_while_it_grows(handle: int, size: int) -> bytes:
        data = real(handle, size)
        if data.startswith(b"%PDF") and waiting:
            with open(log / "papers/invoice.pdf", "a") as file:
                file.write(waiting.pop())
        return data

    monkeypatch.setattr(log_disk.os, "read", read_while_it_grows)
    done = seal(log)
    assert list_rules(done) == [("unreadable-file", "papers/invoice.pdf")]
    assert done.problems[0].message == "`papers/invoice.pdf` is being written at the moment"
    assert not (log / LIST).exists()


def test_seals_that_do_not_hold_are_not_added_to(log: Path) -> None:
    """A new seal would cover the damage; the failure is told under its own name."""
    seal(log)
    data = (log / LIST).read_bytes()
    assert b'"size":30}' in data
    (log / LIST).write_bytes(data.replace(b'"size":30}', b'"size":31}'))
    write_files(log, {"papers/new.pdf": b"new"})
    before = list_files(log)
    assert list_rules(seal(log, 1, "why not")) == [("root-differs", "seals/0001.json")]
    assert list_files(log) == before


def test_two_runs_at_once_are_kept_apart(log: Path) -> None:
    """The second is told to wait and touches nothing."""
    with hold_seals(log):
        done = seal(log)
        assert list_rules(done) == [("seals-busy", "seals")]
    assert seal(log).leaves


def test_a_full_list_takes_no_more(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The limit that readers have is the writer's too."""
    monkeypatch.setattr(sealing, "MOST_LEAVES", 3)
    assert [problem.rule for problem in seal(log).problems] == ["seals-too-many"]


def test_a_disk_that_cannot_be_written_is_a_problem(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the system says is passed on; what was sealed before stands, and the next run finishes."""
    seal(log)
    write_files(log, {"papers/new.pdf": b"new"})

    def fail(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    done = seal(log, 1)
    assert [problem.message for problem in done.problems] == [
        "`seals` cannot be read or written: No space left on device"
    ]
    monkeypatch.undo()
    assert [leaf.path for leaf in seal(log, 1).leaves] == ["papers/new.pdf"]
    assert check_folder(log).failures == ()


def test_salts_are_drawn_anew() -> None:
    """128 bits each, as 32 hexadecimal digits; no two alike."""
    salts = {draw_salt() for _ in range(1000)}
    assert len(salts) == 1000
    assert all(len(bytes.fromhex(salt)) == 16 for salt in salts)


PATHS = st.sampled_from(["papers/a.pdf", "papers/b/c.pdf", "photos/x/1.jpg", "entries/a.md", "log.yaml"])
STEPS = st.lists(st.dictionaries(PATHS, st.none() | st.binary(max_size=3), min_size=1), min_size=1, max_size=6)


@settings(max_examples=25)
@given(STEPS)
def test_any_history_holds_and_ends_as_the_folder_is(steps: list[dict[str, bytes | None]]) -> None:
    """However files come, change, go and come back: each seal keeps all lines before it, and the last says what is."""
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        log = write_files(Path(name), {"log.yaml": b"machine: {}\n"})
        lines = b""
        for step in steps:
            for path, data in step.items():
                if data is not None:
                    write_files(log, {path: data})
                elif path != "log.yaml":
                    (log / path).unlink(missing_ok=True)
            assert seal_log(log, date=DAY, reason="why").problems == ()
            report = check_folder(log)
            assert report.failures == () and not report.files.differs
            after = (log / LIST).read_bytes()
            assert after.startswith(lines)
            lines = after


def test_the_day_is_given(log: Path) -> None:
    """A seal has the day that it is told, and no clock is asked."""
    done = seal_log(log, date=datetime.date(1999, 12, 31))
    assert done.seal and done.seal.date == datetime.date(1999, 12, 31)
