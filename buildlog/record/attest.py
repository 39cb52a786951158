"""What somebody else says of a seal, put beside it and checked: the owner's signature, an authority's time stamp.

Neither is needed, and a seal that is signed or stamped already stays as it is. A stamp is RFC 3161, asked over HTTP,
read and checked by `rfc3161-client`. The request carries the SHA-256 of the seal's file and a nonce, nothing else of
the log. An authority counts for as much as its root certificate is trusted: without that certificate beside the stamp,
only what was stamped can be checked.
"""

from __future__ import annotations

import datetime
import hashlib
import os
import re
import tempfile
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.record.attestation_metadata import CHECK_PATIENCE, NoAnswer, Verdict, ask_tool, read_value
from buildlog.record.sealing import exchange
from buildlog.record.seals import FOLDER, Seal, name_beside

if TYPE_CHECKING:
    from rfc3161_client import TimeStampResponse, TimeStampTokenInfo


WAIT = 30
"Seconds of silence after which an authority is given up."
LARGEST_REPLY = 100_000
"Bytes. Ours: a reply with a chain of certificates has about 6,000."
QUERY_TYPE, REPLY_TYPE = "application/timestamp-query", "application/timestamp-reply"
"RFC 3161, section 3.4."
SHA256 = "2.16.840.1.101.3.4.2.1"
"id-sha256 (RFC 5754, section 2.2)."
GRANTED = 0
"PKIStatus of a stamp that is what was asked for (RFC 3161, section 2.4.2)."
ANOTHER = "ask another authority"


@frozen
class Stamp:
    """What a time stamp says; whether it may say so is left to `check_stamp`."""

    time: datetime.datetime
    "genTime, in UTC, whole seconds"
    digest: str
    "SHA-256 of what was stamped, hexadecimal; empty where another kind of checksum was stamped"
    nonce: int | None
    "the number that the request gave"
    authority: str
    "the name that the authority gives itself, or nothing"


def ask_stamp(content: bytes, address: str, authority: bytes | None = None) -> bytes:
    """An authority's reply for the content, found to answer what was asked. Raises `NoAnswer`.

    `authority` holds the certificates that the authority is trusted by, as PEM; with them the reply is checked whole.
    """
    from rfc3161_client import HashAlgorithm, TimestampRequestBuilder

    builder = TimestampRequestBuilder().data(content).hash_algorithm(HashAlgorithm.SHA256)
    # A nonce, so that an old reply over the same bytes cannot pass for one of now; the certificate in the reply, so
    # that a buyer needs only the root.
    request = builder.nonce(nonce=True).cert_request(cert_request=True).build()
    reply = _send(request.as_bytes(), address)
    stamp = read_stamp(reply)
    # Before it is kept: whoever stands between here and there may answer `http://` in the authority's place.
    if stamp.digest != hashlib.sha256(content).hexdigest() or stamp.nonce != request.nonce:
        raise NoAnswer(f"`{address}` answered a different request", "try again, or ask another authority")
    # A stamp that does not hold is not put beside the seal: it would make the record fail for good.
    if authority is not None:
        verdict = check_stamp(content, reply, authority)
        if verdict.state != "holds":
            help = "give this authority's own root certificate with --stamp-ca"
            raise NoAnswer(f"the reply from `{address}` does not hold: {verdict.says}", help)
    return reply


def _send(query: bytes, address: str) -> bytes:
    """What the authority replies. Raises `NoAnswer`."""
    help = "give the address of a time-stamp authority (RFC 3161) that can be reached from here"
    # The library opens `file:` and `ftp:` as well, which no authority has.
    if not re.match(r"https?://", address, re.IGNORECASE):
        raise NoAnswer(f"`{address}` is not an address that begins with `http://` or `https://`", help)
    request = urllib.request.Request(address, data=query, headers={"Content-Type": QUERY_TYPE}, method="POST")
    try:
        with urllib.request.urlopen(request, timeout=WAIT) as response:
            kind = response.headers.get_content_type()
            # No further, whatever its header says of its length.
            reply: bytes = response.read(LARGEST_REPLY + 1)
    except (OSError, ValueError, urllib.error.HTTPError) as error:
        raise NoAnswer(f"`{address}` gave no time stamp: {error}", help) from None
    if kind != REPLY_TYPE or len(reply) > LARGEST_REPLY:
        raise NoAnswer(f"`{address}` sent no time stamp, but {len(reply)} bytes of `{kind}`", help)
    return reply


def read_stamp(reply: bytes) -> Stamp:
    """What the stamp in a reply says, for any bytes at all. Raises `NoAnswer`: refused, or no reply at all."""
    response = _decode(reply)
    try:
        if response.status != GRANTED:
            raise ValueError
        info = response.tst_info
        imprint = info.message_imprint
        return Stamp(
            time=info.gen_time.replace(microsecond=0),
            digest=imprint.message.hex() if imprint.hash_algorithm.dotted_string == SHA256 else "",
            nonce=info.nonce,
            authority=_name(info),
        )
    except Exception:  # a stranger's bytes: the reader raises whatever comes of them
        said = "; ".join(response.status_string)[:200]
        raise NoAnswer(f"there is no time stamp in the reply{said and f': {said}'}", ANOTHER) from None


def _decode(reply: bytes) -> TimeStampResponse:
    from rfc3161_client import decode_timestamp_response

    try:
        return decode_timestamp_response(_sort_certificates(reply))
    except ValueError:
        raise NoAnswer("there is no time stamp in the reply", ANOTHER) from None


WAY = "in past in past in in past past past".split()
"""From the top of a reply to its certificates (RFC 3161, section 2.4.2; RFC 5652, section 5.1): into TimeStampResp,
past its status, into ContentInfo, past its type, into `[0]`, into SignedData, past version, algorithms and content."""


def _sort_certificates(reply: bytes) -> bytes:
    """The reply with the certificates in the order that DER wants of a set (X.690, section 11.6).

    Authorities that run OpenSSL send them in another one; `rfc3161-client` takes this one alone. Nobody signs it.
    """
    at, certificates = 0, []
    try:
        for step in WAY:
            _, content, end = read_value(reply, at)
            at = end - len(content) if step == "in" else end
        tag, held, end = read_value(reply, at)
        start = at = end - len(held)
        while tag == CERTIFICATES and at < end:
            before = at
            _, _, at = read_value(reply, at)
            certificates.append(reply[before:at])
    except (ValueError, IndexError):
        return reply
    return reply[:start] + b"".join(sorted(certificates)) + reply[end:] if tag == CERTIFICATES else reply


CERTIFICATES = 0xA0
"Tag of the certificates in SignedData, `[0]` (RFC 5652, section 5.1)."


def _name(info: TimeStampTokenInfo) -> str:
    """How an authority calls itself: as RFC 4514 writes the name of a directory, or as it stands; or nothing."""
    from cryptography.x509 import DirectoryName

    try:
        name = info.name
        text = name.value.rfc4514_string() if isinstance(name, DirectoryName) else getattr(name, "value", "")
    except Exception:  # a kind of name, or of text in it, that the reader does not know
        return ""
    return str(text)[:200]


def check_stamp(content: bytes, reply: bytes, authority: bytes | None) -> Verdict:
    """Whether the reply stamps exactly this content, and whether the authority's certificates, as PEM, vouch for it.

    Certificates are judged as of the time of the stamp: an authority's own expire long before a record does.
    """
    if len(reply) > LARGEST_REPLY or len(authority or b"") > LARGEST_REPLY:
        return Verdict(state="fails", says=f"the time stamp or its certificates are larger than {LARGEST_REPLY} bytes")
    try:
        stamp = read_stamp(reply)
    except NoAnswer as why:
        return Verdict(state="fails", says=why.message)
    when = f"{stamp.time:%Y-%m-%d %H:%M:%S} UTC, by {stamp.authority or 'an unnamed authority'}"
    if stamp.digest != hashlib.sha256(content).hexdigest():
        return Verdict(state="fails", says=f"the time stamp of {when} is for other bytes")
    # Anybody can make a stamp that says anything: only a certificate tells whose it is.
    if authority is None:
        says = f"these bytes were stamped {when}; no certificate of that authority is included"
        return Verdict(state="cannot be checked", says=says)
    if not _vouch(authority, _decode(reply), content):
        return Verdict(state="fails", says=f"the authority's certificates do not vouch for the stamp of {when}")
    # By a certificate that a forger could have made as well: so its worth is left to the reader.
    known = f"with its certificate, of SHA-256 fingerprint {_name_root(authority)}, which is not known here"
    return Verdict(state="holds", says=f"stamped {when}, {known}; whether to trust it is for you to judge")


def _name_root(authority: bytes) -> str:
    """The fingerprint of the first certificate, as OpenSSL shows it: anybody can make one with the name of another."""
    from cryptography.hazmat.primitives import hashes
    from cryptography.x509 import load_pem_x509_certificates

    return load_pem_x509_certificates(authority)[0].fingerprint(hashes.SHA256()).hex(":").upper()


def _vouch(authority: bytes, response: TimeStampResponse, content: bytes) -> bool:
    """Whether certificates vouch for a stamp as of its own time."""
    from cryptography.x509 import load_pem_x509_certificates
    from rfc3161_client import VerifierBuilder

    try:
        verifier = VerifierBuilder(roots=load_pem_x509_certificates(authority)).build()
        return verifier.verify_message(response, content)
    except Exception:  # VerificationError, or whatever else comes of a stranger's bytes
        return False


NAMESPACE = "buildlog"
"What the signature is for; `ssh-keygen` refuses one that was made for anything else."
LARGEST_SIGNATURE = 20_000
"Bytes. Ours: the armour of an RSA signature of 16,384 bits, the largest key that OpenSSH takes, has under 7,000."


def sign(content: bytes, key: Path) -> bytes:
    """The signature over the content by a private key's file, armoured. Raises `NoAnswer`."""
    # By the program and not by a library of ours: it knows agents, hardware keys and passphrases, and the key is never
    # in our memory.
    answer = ask_tool(["ssh-keygen", "-Y", "sign", "-f", str(key), "-n", NAMESPACE], given=content)
    # Looked at as well as the exit code: what is put beside a seal stays there for good.
    if not answer.good or not answer.output.startswith(b"-----BEGIN SSH SIGNATURE-----"):
        help = "give the file of one of your SSH keys, as in `--sign ~/.ssh/id_ed25519`"
        raise NoAnswer(f"`{key}` did not sign: {answer.says}", help)
    return answer.output


def check_signature(content: bytes, signature: bytes) -> Verdict:
    """Whether the signature is over exactly this content, and by which key."""
    # A stranger's file: its size is bounded before another program gets it.
    if len(signature) > LARGEST_SIGNATURE:
        return Verdict(state="fails", says=f"the signature is larger than {LARGEST_SIGNATURE} bytes")
    # The program takes a signature from a file only. It gets a copy of ours, and no path of the bag's.
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "signature"
        path.write_bytes(signature)
        try:
            # Without a list of trusted signers: one that comes with the record is made by whoever made the record. A
            # forger can sign with a key of his own, which is why the key is told, and a change of key is told first.
            command = ["ssh-keygen", "-Y", "check-novalidate", "-n", NAMESPACE, "-s", str(path)]
            answer = ask_tool(command, given=content, patience=CHECK_PATIENCE)
        except NoAnswer as why:
            # A program that is missing here says nothing about the signature.
            return Verdict(state="cannot be checked", says=why.message)
    if not answer.good:
        return Verdict(state="fails", says="the signature is not for these bytes, or is not a signature")
    # Shown and not judged by: another version may word it otherwise, and then too much of its line is shown.
    key = answer.output.decode("utf-8", "replace").strip().rpartition(" with ")[2]
    return Verdict(state="holds", says=f"signed with {key}; ask the owner whose key that is")


@frozen
class Attestation:
    """What became of asking for a signature and a time stamp."""

    says: tuple[str, ...]
    "what stands beside the seal now, a line each"
    problems: tuple[Problem, ...] = ()
    "what does not, and why; the seal stands all the same"

    def __str__(self) -> str:
        return "\n".join(self.says)


def attest_seal(
    folder: Path, seal: Seal, *, key: Path | None = None, address: str | None = None, certificates: Path | None = None
) -> Attestation:
    """Put beside a seal the signature of a private key's file, and the time stamp of the authority at an address.

    `certificates` names a file of the certificates by which that authority is trusted. What is not asked for is left.
    """
    asked: list[tuple[str, Maker]] = []
    if key:
        asked.append(("signature", lambda content: _sign(content, key)))
    if address:
        asked.append(("stamp", lambda content: _stamp(content, address, certificates)))
    told = [_put_beside(folder, seal, what, make) for what, make in asked]
    says = [said for said in told if isinstance(said, str)]
    # Told each time: a date without a stamp is the weakest part of a record, and the easiest to mend today.
    if not (folder / FOLDER / name_beside(seal.number, "stamp")).exists():
        says.append(f"the date {seal.date} is only your word: a time stamp would confirm it (--stamp)")
    return Attestation(says=tuple(says), problems=tuple(said for said in told if isinstance(said, Problem)))


Maker = Callable[[bytes], tuple[dict[str, bytes], str]]
"What makes, for the bytes of a seal's file, the files to put beside it by what they are; and what is to be said."


def _sign(content: bytes, key: Path) -> tuple[dict[str, bytes], str]:
    signature = sign(content, key)
    return {"signature": signature}, check_signature(content, signature).says


def _stamp(content: bytes, address: str, certificates: Path | None) -> tuple[dict[str, bytes], str]:
    authority = _read_certificates(certificates) if certificates else None
    reply = ask_stamp(content, address, authority)
    # The certificates first: a run that is killed in between leaves certificates alone, which are told as such, and no
    # stamp that nobody can check.
    files = {"authority": authority} if authority else {}
    return files | {"stamp": reply}, check_stamp(content, reply, authority).says


def _read_certificates(path: Path) -> bytes:
    with open(path, "rb") as file:
        data = file.read(LARGEST_REPLY + 1)
    if len(data) > LARGEST_REPLY or b"-----BEGIN CERTIFICATE-----" not in data:
        raise NoAnswer(
            f"`{path}` contains no PEM certificates", "ask the authority for its root certificate in PEM form"
        )
    return data


def _put_beside(folder: Path, seal: Seal, what: str, make: Maker) -> str | Problem:
    """Put what is made beside a seal, unless something of the kind stands there; what is to be said of it."""
    place = folder / FOLDER / name_beside(seal.number, what)
    # Never replaced: a buyer may have it already. A link that leads nowhere counts as being there.
    if os.path.lexists(place):
        return f"seal {seal.number} already has a {what}, `{place.name}`: nothing was added"
    try:
        # Over the file as it lies there, and not over a seal that is written again: it is the file that others check.
        files, says = make((folder / FOLDER / seal.name).read_bytes())
        for kind, data in files.items():
            exchange(folder / FOLDER / name_beside(seal.number, kind), data)
    except NoAnswer as why:
        return _tell(seal, what, why.message, why.help)
    except OSError as error:
        return _tell(seal, what, str(error), "check that the file is there and can be written")
    return f"{what} in `{FOLDER}/{place.name}`: {says}"


def _tell(seal: Seal, what: str, message: str, help: str) -> Problem:
    place = Place(f"{FOLDER}/{seal.name}")
    return Problem(rule=f"no-{what}", message=f"no {what}, but the seal was made: {message}", place=place, help=help)
