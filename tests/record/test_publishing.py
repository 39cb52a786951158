"""What pages are told of the seals: states, proofs that hold by the rule of RFC 9162, words of signature and stamp."""

from __future__ import annotations

import datetime
import hashlib
import shutil
import subprocess
from pathlib import Path

import pytest

from buildlog.record.attest import read_stamp, sign
from buildlog.record.attestation_metadata import read_key, read_stamp_words
from buildlog.record.hashing import hash_leaf, hash_node
from buildlog.record.log_disk import read_seal_folder
from buildlog.record.published import EntryProof, PublishedRecord
from buildlog.record.publishing import publish_record, read_published
from buildlog.record.sealing import seal_log
from buildlog.record.seals import Digest
from tests.outside.authority import reply, set_up

NAMES = tuple(f"entries/2024-0{n}-01-work.md" for n in range(1, 8))


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Seven entries, a paper and log.yaml, sealed in May but for the last entry, sealed in June."""
    folder = tmp_path / "log"
    for path in (*NAMES, "papers/a.pdf", "log.yaml"):
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(f"{path}\n", encoding="utf-8")
    last = folder / NAMES[-1]
    held = last.read_bytes()
    last.unlink()
    seal_log(folder, date=datetime.date(2024, 5, 1))
    last.write_bytes(held)
    seal_log(folder, date=datetime.date(2024, 6, 1))
    return folder


def prove(record: PublishedRecord, path: str) -> EntryProof:
    proof = record.entries[path].proof
    assert proof
    return proof


def test_every_proof_holds(log: Path) -> None:
    """Each entry is as sealed, and its proof leads from its leaf to its seal's root, hashed as the page says."""
    record = read_published(log, NAMES)
    for path in NAMES:
        assert record.entries[path].state == "as sealed"
        proof = prove(record, path)
        found = hash_leaf(proof.leaf.encode())
        for step in proof.path:
            other = bytes.fromhex(step.hash)
            found = hash_node(other, found) if step.side == "left" else hash_node(found, other)
        assert found.hex() == proof.root
        assert proof.sha256 == hashlib.sha256((log / path).read_bytes()).hexdigest()
        assert proof.sha256 in proof.leaf
    assert record.failures == ()
    assert dict(record.sealed) == {"entries": 7, "log.yaml": 1, "papers": 1}


def test_a_later_seal_leaves_a_proof_as_it_is(log: Path) -> None:
    """An entry is proved under the seal that added it: the pages of older entries do not change."""
    before = read_published(log, NAMES)
    assert [prove(before, path).seal for path in NAMES] == [1, 1, 1, 1, 1, 1, 2]
    (log / NAMES[2]).write_text("amended\n")
    seal_log(log, date=datetime.date(2024, 7, 1), reason="a slip")
    after = read_published(log, NAMES)
    changed = [path for path in NAMES if before.entries[path] != after.entries[path]]
    assert changed == [NAMES[2]]
    assert (prove(after, NAMES[2]).seal, prove(after, NAMES[2]).reason) == (3, "a slip")
    last = after.seals[-1]
    assert (last.new, last.amended, last.gone, last.leaves, last.reasons) == (0, 1, 0, 10, ("a slip",))


def test_what_is_not_as_sealed(log: Path) -> None:
    """A changed entry keeps the proof of what it was; a new one, and one sealed as gone and back, is not sealed."""
    (log / NAMES[0]).write_text("other\n")
    (log / "entries/2024-09-01-new.md").write_text("new\n")
    (log / NAMES[1]).unlink()
    seal_log(log, date=datetime.date(2024, 9, 2), reason="taken out")
    (log / NAMES[0]).write_text("other again\n")
    (log / NAMES[1]).write_text("back\n")
    (log / "entries/2024-09-03-newer.md").write_text("newer\n")
    record = read_published(log, (*NAMES, "entries/2024-09-01-new.md", "entries/2024-09-03-newer.md"))
    assert [
        (entry.state, entry.proof is not None) for path, entry in record.entries.items() if path not in NAMES[2:]
    ] == [
        ("changed", True),
        ("not sealed", False),
        ("as sealed", True),
        ("not sealed", False),
    ]


def test_no_proof_where_the_seals_do_not_hold(log: Path) -> None:
    """Seals that were meddled with prove nothing: the failure is told, with the file, and no proof is given."""
    seal = log / "seals/0001.json"
    seal.write_bytes(seal.read_bytes().replace(b"2024-05-01", b"2023-05-01"))
    record = read_published(log, NAMES)
    assert record.failures == ("`seals/0002.json`: the checksum it names is not that of `0001.json`",)
    assert {entry.proof for entry in record.entries.values()} == {None}


def test_nothing_is_sealed(log: Path) -> None:
    """Without seals there is nothing to tell, and no file is read for it."""
    shutil.rmtree(log / "seals")
    assert read_published(log, ["entries/not-there.md"]) == PublishedRecord()


def test_bytes_in_memory_tell_the_same(log: Path) -> None:
    """A bag gives the same pages as the log on disk."""
    digests = {}
    for path in NAMES:
        data = (log / path).read_bytes()
        digests[path] = Digest(size=len(data), sha256=hashlib.sha256(data).hexdigest())
    assert publish_record(read_seal_folder(log), digests, {}) == read_published(log, NAMES)


def test_the_key_of_a_signature(log: Path, tmp_path: Path) -> None:
    """The fingerprint is the one that `ssh-keygen -l` prints of the key; what is no signature has none."""
    key = tmp_path / "key"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", "x", "-f", str(key)], check=True)
    told = subprocess.run(["ssh-keygen", "-l", "-f", f"{key}.pub"], check=True, capture_output=True, text=True).stdout
    signature = sign((log / "seals/0002.json").read_bytes(), key)
    (log / "seals/0002.json.sig").write_bytes(signature)
    assert told.split()[1] == read_key(signature)
    assert [seal.key for seal in read_published(log, NAMES).seals] == [None, read_key(signature)]
    for broken in (b"", b"x", signature[:60], signature.replace(b"U1NI", b"U1NJ")):
        assert read_key(broken) == ""


def test_the_time_of_a_stamp(log: Path, tmp_path: Path) -> None:
    """Time and authority are those that `rfc3161-client` reads; a cut or changed reply does no harm."""
    folder = set_up(tmp_path / "authority")
    digest = hashlib.sha256((log / "seals/0001.json").read_bytes()).hexdigest()
    command = ["openssl", "ts", "-query", "-digest", digest, "-sha256", "-cert"]
    stamp = reply(folder, subprocess.run(command, check=True, capture_output=True).stdout)
    time, authority = read_stamp_words(stamp)
    wanted = read_stamp(stamp)
    assert (time, authority) == (wanted.time, "Test TSA")
    assert authority in wanted.authority
    (log / "seals/0001.tsr").write_bytes(stamp)
    (log / "seals/0001.ca.pem").write_bytes((folder / "ca.crt").read_bytes())
    told = read_published(log, NAMES).seals[0].stamp
    assert told and (told.time, told.authority, told.certificates) == (wanted.time, "Test TSA", True)
    for length in range(len(stamp)):
        read_stamp_words(stamp[:length])
    for at in range(0, len(stamp), 3):
        read_stamp_words(stamp[:at] + bytes([stamp[at] ^ 0x80]) + stamp[at + 1 :])
    assert read_stamp_words(b"no stamp") == (None, "")
