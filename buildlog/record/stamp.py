"""Whether a time-stamp authority saw a seal, and when: RFC 3161, asked over HTTP, read and checked by `rfc3161-client`.

The request carries the SHA-256 of the seal's file and a nonce, nothing else of the log. An authority counts for as much
as its root certificate is trusted: without that certificate beside the stamp, only what was stamped can be checked.
"""

from __future__ import annotations

import datetime
import hashlib
import re
import urllib.error
import urllib.request
from typing import TYPE_CHECKING

from buildlog.frozen import frozen
from buildlog.record.attestation_metadata import read_value
from buildlog.record.external_tools import NoAnswer, Verdict

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
