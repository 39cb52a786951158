"""Time stamps by RFC 3161: an authority run with `openssl ts`, asked over HTTP; what we read and judge, openssl judges.

Our own reading is by `rfc3161-client`; OpenSSL's program is another implementation. LibreSSL's lacks `-attime`.
"""

from __future__ import annotations

import datetime
import hashlib
import itertools
import re
import shlex
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, load_pem_private_key
from cryptography.x509 import CertificateBuilder, load_pem_x509_certificate
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.record.attest import LARGEST_REPLY, ask_stamp, check_stamp, read_stamp
from buildlog.record.attestation_metadata import NoAnswer
from tests.outside.authority import Counter, reply, serve, set_up

pytestmark = pytest.mark.outside

STARTED = datetime.datetime.now(datetime.UTC).replace(microsecond=0)
CONTENT = b'{"date":"2024-05-18","leaves":3}\n'


@pytest.fixture(scope="module")
def authority(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return set_up(tmp_path_factory.mktemp("authority"))


@pytest.fixture
def counter(authority: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Counter]:
    monkeypatch.setenv("no_proxy", "127.0.0.1")
    with serve(lambda query: reply(authority, query)) as counter:
        yield counter


@pytest.fixture(scope="module")
def stamped(authority: Path) -> bytes:
    """The authority's reply over CONTENT."""
    return reply(authority, make_query(CONTENT))


def make_query(content: bytes) -> bytes:
    """A request that `openssl` makes."""
    command = ["openssl", "ts", "-query", "-digest", hashlib.sha256(content).hexdigest(), "-sha256", "-cert"]
    return subprocess.run(command, check=True, capture_output=True).stdout


def test_a_stamp_is_what_a_stranger_can_check(counter: Counter, authority: Path, tmp_path: Path) -> None:
    """What was asked for over HTTP is verified by `openssl ts -verify` as written, and over other bytes it is not."""
    ca = (authority / "ca.crt").read_bytes()
    (tmp_path / "0001.tsr").write_bytes(ask_stamp(CONTENT, counter.address, ca))
    (tmp_path / "0001.json").write_bytes(CONTENT)
    (tmp_path / "0001.ca.pem").write_bytes(ca)
    command = "openssl ts -verify -data 0001.json -in 0001.tsr -CAfile 0001.ca.pem"
    good = subprocess.run(command, shell=True, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (good.returncode, good.stdout) == (0, "Verification: OK\n")
    (tmp_path / "0001.json").write_bytes(CONTENT + b" ")
    assert subprocess.run(command, shell=True, cwd=tmp_path, capture_output=True, check=False).returncode == 1


def test_the_request_gives_away_a_sum_and_nothing_else(counter: Counter) -> None:
    """RFC 3161, section 3.4: its content type; section 2.4.1: version, sum, nonce, and that certificates are wanted."""
    ask_stamp(CONTENT, counter.address)
    ask_stamp(CONTENT, counter.address)
    (kind, first), (_, second) = counter.asked
    assert kind == "application/timestamp-query"
    assert hashlib.sha256(CONTENT).digest() in first
    assert len(first) < 80
    assert first != second, "each request has a nonce of its own"


def print_stamp(folder: Path, stamped: bytes) -> str:
    """What `openssl` prints of a reply."""
    (folder / "printed.tsr").write_bytes(stamped)
    command = ["openssl", "ts", "-reply", "-in", str(folder / "printed.tsr"), "-text"]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def test_what_is_read_of_a_stamp_is_what_openssl_prints(stamped: bytes, tmp_path: Path) -> None:
    """Time, sum, nonce and name of the token, read by another implementation."""
    stamp, printed = read_stamp(stamped), print_stamp(tmp_path, stamped)
    said = dict(re.findall(r"^([A-Z][A-Za-z ]+): (.*)$", printed, re.MULTILINE))
    assert stamp.time == datetime.datetime.strptime(said["Time stamp"], "%b %d %H:%M:%S %Y GMT").replace(
        tzinfo=datetime.UTC
    )
    assert STARTED <= stamp.time <= datetime.datetime.now(datetime.UTC)
    dump = re.findall(r"^ +[0-9a-f]{4} - ((?:[0-9a-f]{2}[ -])+)", printed, re.MULTILINE)
    assert stamp.digest == re.sub("[ -]", "", "".join(dump)) == hashlib.sha256(CONTENT).hexdigest()
    assert stamp.nonce == int(said["Nonce"], 16)
    assert (stamp.authority, said["TSA"]) == ("CN=Test TSA", "DirName:/CN=Test TSA")


def test_a_time_with_fractions_is_read(authority: Path, tmp_path: Path) -> None:
    """RFC 3161, section 2.4.2, allows fractions of a second in genTime; whole ones are told."""
    folder = Path(shutil.copytree(authority, tmp_path / "precise"))
    config = (folder / "tsa.cnf").read_text().replace("secs:1", "secs:1\nclock_precision_digits = 6")
    (folder / "tsa.cnf").write_text(config)
    stamped = reply(folder, make_query(CONTENT))
    whole = re.search(r"Time stamp: \w+ +\d+ ([0-9:]+)\.\d+ ", print_stamp(tmp_path, stamped))
    assert whole and whole[1] == f"{read_stamp(stamped).time:%H:%M:%S}"
    assert check_stamp(CONTENT, stamped, (authority / "ca.crt").read_bytes()).state == "holds"


def ask_openssl(folder: Path, content: bytes, stamped: bytes, certificates: bytes) -> bool:
    """Whether `openssl ts -verify` ends well, as of the time that stands in the reply."""
    for name, data in {"content": content, "a.tsr": stamped, "ca.pem": certificates}.items():
        (folder / name).write_bytes(data)
    try:
        at = str(int(read_stamp(stamped).time.timestamp()))
    except NoAnswer:
        at = "0"
    command = ["openssl", "ts", "-verify", "-data", "content", "-in", "a.tsr", "-CAfile", "ca.pem", "-attime", at]
    return subprocess.run(command, cwd=folder, capture_output=True, check=False).returncode == 0


def test_whatever_openssl_refuses_is_refused(stamped: bytes, authority: Path, tmp_path: Path) -> None:
    """Byte for byte along the reply, in other content and by other certificates: nothing holds that OpenSSL refuses."""
    ca = (authority / "ca.crt").read_bytes()
    stranger = (set_up(tmp_path / "other") / "ca.crt").read_bytes()
    cases = [(CONTENT, stamped, ca), (CONTENT + b" ", stamped, ca), (CONTENT, stamped, stranger), (CONTENT, b"", ca)]
    cases += [(CONTENT, stamped, (authority / "tsa.crt").read_bytes()), (CONTENT, stamped, stranger + ca)]
    cases += [(CONTENT, stamped, b"no certificate"), (CONTENT, stamped, b"")]
    for at in range(0, len(stamped), 13):
        changed = bytearray(stamped)
        changed[at] ^= 1 << at % 8
        cases.append((CONTENT, bytes(changed), ca))
    ours = [check_stamp(*case).state == "holds" for case in cases]
    assert ours[:8] == [ask_openssl(tmp_path, *case) for case in cases[:8]] == [True, *[False] * 4, True, False, False]
    holding = [case for case, holds in zip(cases, ours, strict=True) if holds]
    assert all(ask_openssl(tmp_path, *case) for case in holding)


def test_an_authority_below_another_is_trusted_by_its_root(authority: Path, tmp_path: Path) -> None:
    """The certificate between may come with the reply, or stand beside the root: OpenSSL and we agree on both."""
    folder = set_up(tmp_path / "chain")
    for command in BELOW.splitlines():
        subprocess.run(command, shell=True, cwd=folder, check=True, capture_output=True)
    root, middle = ((folder / name).read_bytes() for name in ("ca.crt", "middle.crt"))
    bare = reply(folder, make_query(CONTENT))
    config = (folder / "tsa.cnf").read_text().replace("tsa_name", "certs = ./middle.crt\ntsa_name")
    (folder / "tsa.cnf").write_text(config)
    chained = reply(folder, make_query(CONTENT))
    assert len(chained) > len(bare)
    for stamped, certificates, wanted in (
        (chained, root, True), (bare, root, False), (bare, root + middle, True), (chained, middle, False),
    ):  # fmt: skip
        assert ask_openssl(tmp_path, CONTENT, stamped, certificates) == wanted
        assert (check_stamp(CONTENT, stamped, certificates).state == "holds") == wanted


BELOW = """\
openssl ecparam -name prime256v1 -genkey -noout -out middle.key
openssl req -new -key middle.key -subj "/CN=Test Middle" -config tsa.cnf -out middle.csr
openssl x509 -req -in middle.csr -CA ca.crt -CAkey ca.key -CAcreateserial -days 10 -extfile tsa.cnf -extensions v3_ca -out middle.crt
openssl x509 -req -in tsa.csr -CA middle.crt -CAkey middle.key -CAcreateserial -days 10 -extfile tsa.cnf -extensions v3_tsa -out tsa.crt
"""  # noqa: E501 — one command a line


def test_the_verdicts(stamped: bytes, authority: Path, tmp_path: Path) -> None:
    """It holds by the authority's own root; or is over other bytes, or vouched for by nobody, or by somebody else."""
    ca, when = (authority / "ca.crt").read_bytes(), f"{read_stamp(stamped).time:%Y-%m-%d %H:%M:%S} UTC, by CN=Test TSA"
    verdict = check_stamp(CONTENT, stamped, ca)
    shown = ["openssl", "x509", "-noout", "-fingerprint", "-sha256", "-in", str(authority / "ca.crt")]
    fingerprint = subprocess.run(shown, capture_output=True, text=True, check=True).stdout.strip().partition("=")[2]
    assert (verdict.state, verdict.says) == (
        "holds",
        f"stamped {when}, with its certificate, of SHA-256 fingerprint {fingerprint}, which is not known here; "
        "whether to trust it is for you to judge",
    )
    verdict = check_stamp(CONTENT + b" ", stamped, ca)
    assert (verdict.state, verdict.says) == ("fails", f"the time stamp of {when} is for other bytes")
    verdict = check_stamp(CONTENT, stamped, None)
    assert (verdict.state, verdict.says) == (
        "cannot be checked", f"these bytes were stamped {when}; no certificate of that authority is included",
    )  # fmt: skip
    stranger = (set_up(tmp_path / "other") / "ca.crt").read_bytes()
    verdict = check_stamp(CONTENT, stamped, stranger)
    assert (verdict.state, verdict.says) == (
        "fails", f"the authority's certificates do not vouch for the stamp of {when}",
    )  # fmt: skip


def test_no_changed_byte_makes_a_stamp_say_anything_else(stamped: bytes, authority: Path) -> None:
    """A bit flipped at every 61st byte: the stamp fails, or, in what CMS does not sign (RFC 5652, section 5.3: the name
    of the signature's algorithm), says the very same."""
    ca = (authority / "ca.crt").read_bytes()
    survivors = []
    for at in range(0, len(stamped), 61):
        changed = bytearray(stamped)
        changed[at] ^= 1
        if check_stamp(CONTENT, bytes(changed), ca).state != "fails":
            survivors.append(at)
            assert read_stamp(bytes(changed)) == read_stamp(stamped)
    assert len(survivors) <= 2


@given(st.lists(st.tuples(st.integers(0), st.binary(max_size=4), st.integers(0, 4)), min_size=1, max_size=8))
@settings(max_examples=400, deadline=None)
def test_no_damage_stops_the_reader(stamped: bytes, authority: Path, cuts: list[tuple[int, bytes, int]]) -> None:
    """Bytes exchanged, put in and taken out, in several places: a verdict in words, whatever the reader makes of it."""
    changed = stamped
    for place, put, taken in cuts:
        at = place % (len(changed) + 1)
        changed = changed[:at] + put + changed[at + taken :]
    verdict = check_stamp(CONTENT, changed, (authority / "ca.crt").read_bytes())
    assert verdict.state == "fails" or read_stamp(changed).time == read_stamp(stamped).time


def test_a_name_that_cannot_be_read_is_no_name(stamped: bytes, authority: Path) -> None:
    """The kind of text in an authority's name exchanged for one that nobody knows: no name is told, and it fails."""
    at = stamped.index(b"Test TSA") - 2
    assert stamped[at] == 0x0C  # UTF8String
    changed = stamped[:at] + b"\x6c" + stamped[at + 1 :]
    assert read_stamp(changed).authority == ""
    assert check_stamp(CONTENT, changed, (authority / "ca.crt").read_bytes()).state == "fails"


@pytest.mark.parametrize("bad", [b"", b"x" * 500, bytes(LARGEST_REPLY + 1)], ids=["empty", "noise", "huge"])
def test_what_is_no_stamp_fails(bad: bytes, authority: Path) -> None:
    """Anything at all may lie where a stamp should: it fails, and nothing crashes."""
    assert check_stamp(CONTENT, bad, (authority / "ca.crt").read_bytes()).state == "fails"
    assert check_stamp(CONTENT, bad, None).state == "fails"


def test_a_stamp_holds_after_its_certificates_have_expired(tmp_path: Path) -> None:
    """Certificates are judged as of the stamp: where `openssl` by today's clock finds them expired, the stamp holds."""
    folder = set_up(tmp_path / "short")
    stamped = stamp_just_in_time(folder)
    (folder / "content").write_bytes(CONTENT)
    command = "openssl ts -verify -data content -in resp.tsr -CAfile ca.crt 2>&1"
    while not (code_and_told := subprocess.getstatusoutput(f"cd {shlex.quote(str(folder))} && {command}"))[0]:
        time.sleep(0.2)  # until the clock by which `openssl` judges has passed the end
    assert "certificate has expired" in code_and_told[1]
    assert check_stamp(CONTENT, stamped, (folder / "ca.crt").read_bytes()).state == "holds"


def stamp_just_in_time(folder: Path) -> bytes:
    """A stamp by a certificate that ends a few seconds after it; a few more where the machine is too busy for these."""
    for seconds in itertools.count(3, 5):
        end = renew_for_seconds(folder, seconds)
        stamped = reply(folder, make_query(CONTENT))
        if read_stamp(stamped).time < end:
            return stamped
    raise AssertionError


def renew_for_seconds(folder: Path, seconds: int) -> datetime.datetime:
    """Give the authority a certificate that is about to end; the end of it."""
    old = load_pem_x509_certificate((folder / "tsa.crt").read_bytes())
    key = load_pem_private_key((folder / "ca.key").read_bytes(), None)
    assert isinstance(key, EllipticCurvePrivateKey)
    end = datetime.datetime.now(datetime.UTC).replace(microsecond=0) + datetime.timedelta(seconds=seconds)
    builder = CertificateBuilder(old.issuer, old.subject, old.public_key(), old.serial_number + 1)
    builder = builder.not_valid_before(end - datetime.timedelta(days=1)).not_valid_after(end)
    for extension in old.extensions:
        builder = builder.add_extension(extension.value, extension.critical)
    (folder / "tsa.crt").write_bytes(builder.sign(key, SHA256()).public_bytes(Encoding.PEM))
    return end


def refuse(counter: Counter, authority: bytes | None = None) -> str:
    with pytest.raises(NoAnswer) as caught:
        ask_stamp(CONTENT, counter.address, authority)
    return caught.value.message


def test_an_authority_that_refuses_is_quoted(counter: Counter, authority: Path) -> None:
    """RFC 3161, section 2.4.2: a rejection has a reason in words and no token."""
    config = authority / "tsa.cnf"
    text = config.read_text()
    config.write_text(text.replace("digests = sha256, sha384, sha512", "digests = sha512"))
    try:
        assert refuse(counter) == "there is no time stamp in the reply: Message digest algorithm is not supported."
    finally:
        config.write_text(text)


def test_an_old_reply_and_another_s_are_refused(counter: Counter, stamped: bytes, authority: Path) -> None:
    """A reply with another nonce was made for another request, and is not taken (RFC 3161, section 2.4.2)."""
    counter.answer = lambda query: stamped
    assert refuse(counter) == f"`{counter.address}` answered a different request"


def test_a_web_page_is_no_stamp(counter: Counter) -> None:
    """A server that answers with something else is told by what it sent."""
    counter.kind, counter.answer = "text/html", lambda query: b"<html>"
    assert refuse(counter) == f"`{counter.address}` sent no time stamp, but 6 bytes of `text/html`"


def test_an_endless_reply_is_cut(counter: Counter) -> None:
    """No more is read than a reply may have."""
    counter.answer = lambda query: bytes(LARGEST_REPLY + 1000)
    size = LARGEST_REPLY + 1
    assert (
        refuse(counter) == f"`{counter.address}` sent no time stamp, but {size} bytes of `application/timestamp-reply`"
    )


def test_certificates_of_another_authority_are_told_at_once(counter: Counter, tmp_path: Path) -> None:
    """Better now than when a buyer checks."""
    stranger = (set_up(tmp_path / "other") / "ca.crt").read_bytes()
    message = refuse(counter, stranger)
    assert message.startswith(f"the reply from `{counter.address}` does not hold: the authority's certificates do not")


@pytest.mark.parametrize("address", ["file:///etc/passwd", "ftp://127.0.0.1/", "127.0.0.1", "http://127.0.0.1:1/"])
def test_an_address_that_nothing_answers_at_is_told(address: str) -> None:
    """Only HTTP is spoken; a dead address is named."""
    with pytest.raises(NoAnswer, match=f"`{address}`"):
        ask_stamp(CONTENT, address)


def test_no_word_of_anybody_s_decides() -> None:
    """An authority's refusal is a reply without a stamp, whatever it says: it fails, and never counts as unchecked."""
    words = b"the module is not installed"
    text = bytes([0x0C, len(words)]) + words
    strings = bytes([0x30, len(text)]) + text
    status = b"\x02\x01\x02" + strings  # PKIStatusInfo: rejection (RFC 3161, section 2.4.2)
    refusal = bytes([0x30, len(status) + 2, 0x30, len(status)]) + status
    verdict = check_stamp(CONTENT, refusal, None)
    assert (verdict.state, verdict.says) == ("fails", f"there is no time stamp in the reply: {words.decode()}")


def test_stamps_need_no_program_of_the_machine(
    stamped: bytes, authority: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The verdict is the same where no `openssl` is installed, or another one."""
    monkeypatch.setenv("PATH", str(tmp_path))
    assert check_stamp(CONTENT, stamped, (authority / "ca.crt").read_bytes()).state == "holds"
