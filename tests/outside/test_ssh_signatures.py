"""Signatures over seals by OpenSSH itself, with the commands that a stranger types (ssh-keygen(1), `-Y`)."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from buildlog.record.attest import LARGEST_SIGNATURE, check_signature, sign
from buildlog.record.attestation_metadata import NoAnswer

pytestmark = pytest.mark.outside

CONTENT = b'{"date":"2024-05-18","leaves":3}\n'


def run(command: str, folder: Path, given: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(command, shell=True, cwd=folder, input=given, capture_output=True, check=False)


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """A folder with a key, and a signature over CONTENT as the product makes it."""
    run("ssh-keygen -q -t ed25519 -N '' -C builder@example.org -f key", tmp_path)
    (tmp_path / "0001.json").write_bytes(CONTENT)
    (tmp_path / "0001.json.sig").write_bytes(sign(CONTENT, tmp_path / "key"))
    return tmp_path


def test_openssh_verifies_what_was_signed(bench: Path) -> None:
    """The commands as written: whose key it is by a list of signers, and without any list that it is some key's."""
    run(
        """printf 'builder@example.org namespaces="buildlog" %s\\n' "$(cut -d' ' -f1,2 key.pub)" > allowed_signers""",
        bench,
    )
    verify = "ssh-keygen -Y verify -f allowed_signers -I builder@example.org -n buildlog -s 0001.json.sig < 0001.json"
    done = run(verify, bench)
    assert done.returncode == 0
    assert done.stdout.startswith(b'Good "buildlog" signature for builder@example.org with ED25519 key SHA256:')
    assert run("ssh-keygen -Y check-novalidate -n buildlog -s 0001.json.sig < 0001.json", bench).returncode == 0
    (bench / "0001.json").write_bytes(CONTENT.replace(b"18", b"17"))
    assert run(verify, bench).returncode == 255


def test_openssh_signs_the_same_bytes(bench: Path) -> None:
    """Ed25519 is deterministic (RFC 8032, section 5.1.6): signing the file by name gives the very same signature."""
    ours = (bench / "0001.json.sig").read_bytes()
    (bench / "0001.json.sig").unlink()
    assert run("ssh-keygen -Y sign -f key -n buildlog 0001.json", bench).returncode == 0
    assert (bench / "0001.json.sig").read_bytes() == ours


def test_the_fingerprint_is_the_key_s(bench: Path) -> None:
    """What is told of a signature is the fingerprint that `ssh-keygen -l` prints for the key."""
    fingerprint = run("ssh-keygen -l -f key.pub", bench).stdout.decode().split()[1]
    verdict = check_signature(CONTENT, (bench / "0001.json.sig").read_bytes())
    assert (verdict.state, verdict.says) == (
        "holds", f"signed with ED25519 key {fingerprint}; ask the owner whose key that is",
    )  # fmt: skip


@pytest.mark.parametrize("at", range(0, 290, 13))
def test_a_changed_signature_does_not_hold(bench: Path, at: int) -> None:
    """One character of the armour changed, wherever it stands; line ends apart, which mean nothing."""
    signature = bytearray((bench / "0001.json.sig").read_bytes())
    if signature[at] == 10:
        at += 1
    signature[at] = ord("A") if signature[at] != ord("A") else ord("B")
    assert check_signature(CONTENT, bytes(signature)).state == "fails"


def test_a_signature_over_other_bytes_or_for_another_purpose_does_not_hold(bench: Path) -> None:
    """Changed content, another namespace, no signature at all, and one too large to be looked at."""
    good = (bench / "0001.json.sig").read_bytes()
    assert check_signature(CONTENT + b" ", good).state == "fails"
    other = run("ssh-keygen -Y sign -f key -n file", bench, CONTENT).stdout
    assert other.startswith(b"-----BEGIN SSH SIGNATURE-----")
    assert check_signature(CONTENT, other).state == "fails"
    assert check_signature(CONTENT, b"").state == "fails"
    assert check_signature(CONTENT, good + b"\n" * LARGEST_SIGNATURE).state == "fails"


def test_a_file_that_is_no_key_signs_nothing(bench: Path) -> None:
    """The owner is told which file did not sign, and what to give."""
    with pytest.raises(NoAnswer, match=r"`.*0001\.json` did not sign: ") as caught:
        sign(CONTENT, bench / "0001.json")
    assert caught.value.help == "give the file of one of your SSH keys, as in `--sign ~/.ssh/id_ed25519`"


def test_without_openssh_nothing_is_claimed(bench: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where `ssh-keygen` is missing, a signature neither holds nor fails."""
    good = (bench / "0001.json.sig").read_bytes()
    monkeypatch.setenv("PATH", str(bench))
    verdict = check_signature(CONTENT, good)
    assert (verdict.state, verdict.says) == ("cannot be checked", "`ssh-keygen` is not installed")
    with pytest.raises(NoAnswer):
        sign(CONTENT, bench / "key")
