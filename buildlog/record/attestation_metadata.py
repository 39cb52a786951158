"""What a signature and a time stamp say of themselves, and how a tool answers whoever asks whether it is true.

A site must be the same on every machine, whatever tools it has: its words are read without any, and are no check.
Whether they are true is left to `attest`. `ssh-keygen` is the tool by which a stranger checks signatures, and so do we:
a signature is a stranger's file, handed to it in a folder of its own. Whether it holds is told by the tool's exit code;
what the tool says of it is cut short, shown, and never decides anything.
"""

from __future__ import annotations

import base64
import binascii
import datetime
import hashlib
import re
import subprocess
from collections.abc import Sequence
from typing import Literal

from buildlog.frozen import frozen
from buildlog.text import replace_unprintable

PATIENCE = 300
"Seconds that a tool may take; a passphrase may be asked for."
CHECK_PATIENCE = 10
"Seconds that a tool may take over a stranger's file; it takes a hundredth of one."
LONGEST_SAYING = 300
"Characters of what a tool says that are passed on."


class NoAnswer(Exception):
    """A tool or an authority did not do what was asked of it; the message says why, `help` what to do."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.message = message
        "what is wrong: lower case, no full stop, values in backticks"
        self.help = help
        "what to do instead"


@frozen
class Answer:
    """How a tool ended."""

    good: bool
    "whether it ended with exit code 0"
    output: bytes
    "what it wrote on standard output"
    says: str
    "the last line of what it wrote on standard error, or else on standard output"


@frozen
class Verdict:
    """What became of checking a signature or a time stamp."""

    state: Literal["holds", "fails", "cannot be checked"]
    "the last where a program or a certificate is missing: nothing speaks against it, and nothing for it"
    says: str
    "what holds, or why it does not: lower case, no full stop"


def ask_tool(command: Sequence[str], *, given: bytes = b"", patience: float = PATIENCE) -> Answer:
    """Run a tool to its end, `given` on its standard input. Raises `NoAnswer` where it is missing or never ends."""
    try:
        # A list and no shell: nothing in a path or a name can become a command.
        done = subprocess.run(command, input=given, capture_output=True, timeout=patience, check=False)
    except FileNotFoundError:
        raise NoAnswer(f"`{command[0]}` is not installed", f"install {PACKAGES[command[0]]}") from None
    except (OSError, subprocess.TimeoutExpired) as error:
        raise NoAnswer(f"`{command[0]}` did not finish: {error}", "try again") from None
    # The last line: what went wrong stands at the end, and standard error comes behind standard output.
    lines = (done.stdout + b"\n" + done.stderr).decode("utf-8", "replace").split("\n")
    says = next((line.strip() for line in reversed(lines) if line.strip()), f"exit code {done.returncode}")
    return Answer(good=done.returncode == 0, output=done.stdout, says=says[:LONGEST_SAYING])


PACKAGES = {"ssh-keygen": "OpenSSH"}


TIME_STAMP_INFO = bytes.fromhex("060b2a864886f70d0109100104")
"id-ct-TSTInfo, 1.2.840.113549.1.9.16.1.4, in DER: what it leads is the stamp itself (RFC 3161, section 2.4.2)."
LONGEST_AUTHORITY = 200
"Characters of an authority's name that pages tell; RFC 5280, appendix A.1, allows 64 (ub-common-name)."
COMMON_NAME = bytes.fromhex("0603550403")
"id-at-commonName, 2.5.4.3, in DER (RFC 5280, appendix A.1)."


def read_key(signature: bytes) -> str:
    """The fingerprint of the key that an SSH signature names, `SHA256:…`; empty where there is none to read."""
    key = read_key_blob(signature)
    return "SHA256:" + base64.b64encode(hashlib.sha256(key).digest()).decode().rstrip("=") if key else ""


def read_key_blob(signature: bytes) -> bytes:
    """The public key that an SSH signature names, as `ssh-keygen` writes it behind its kind; empty where there is none.

    OpenSSH, PROTOCOL.sshsig: `SSHSIG`, a version of four bytes, then the public key as a string.
    """
    armour = re.search(rb"-----BEGIN SSH SIGNATURE-----([A-Za-z0-9+/=\s]+)-----END SSH SIGNATURE-----", signature)
    try:
        blob = base64.b64decode(re.sub(rb"\s", b"", armour[1] if armour else b""), validate=True)
    except binascii.Error:
        return b""
    length = int.from_bytes(blob[10:14], "big")
    # Only shown. A signature may name any key here; that it was made with it is for `ssh-keygen` to say.
    key = blob[14 : 14 + length]
    return key if blob[:10] == b"SSHSIG\0\0\0\1" and len(key) == length else b""


def read_stamp_words(reply: bytes) -> tuple[datetime.datetime | None, str]:
    """When a time-stamp reply says that it stamped, in UTC, and how the authority calls itself, where it does.

    None and an empty name for what cannot be read. RFC 3161, section 2.4.2: TSTInfo is a sequence whose genTime is its
    first GeneralizedTime, and whose last value may be the authority's name.
    """
    try:
        # Looked for by its bytes: nothing else of a stranger's reply needs to be gone through. One that has the same
        # bytes earlier can tell what it likes, as any can that nobody has checked.
        at = reply.index(TIME_STAMP_INFO) + len(TIME_STAMP_INFO)
        tag, wrapped, _ = read_value(reply, at)  # [0] EXPLICIT
        _, octets, _ = read_value(wrapped, 0) if tag == 0xA0 else (0, b"", 0)
        _, info, _ = read_value(octets, 0)
    except (ValueError, IndexError):
        return None, ""
    return _find_time(info), _find_name(info)


def read_value(data: bytes, at: int) -> tuple[int, bytes, int]:
    """Tag, content and end of the DER value at a place (X.690, sections 8.1 and 10.1). Raises `ValueError`."""
    tag, length, start = data[at], data[at + 1], at + 2
    if length > 0x80:
        size = length & 0x7F
        length, start = int.from_bytes(data[start : start + size], "big"), start + size
    # 0x80 is the open length of BER, which DER forbids.
    elif length == 0x80 or length > len(data):
        raise ValueError("no length in DER")
    if start + length > len(data):
        raise ValueError("a value is cut short")
    return tag, data[start : start + length], start + length


def _list_values(data: bytes) -> list[tuple[int, bytes]]:
    """The values that stand in a sequence, as far as they can be read."""
    values, at = [], 0
    try:
        while at < len(data):
            tag, content, at = read_value(data, at)
            values.append((tag, content))
    except (ValueError, IndexError):
        pass
    return values


def _find_time(info: bytes) -> datetime.datetime | None:
    # 0x18 is GeneralizedTime. Fractions of a second are dropped: no page shows them.
    text = next((content for tag, content in _list_values(info) if tag == 0x18), b"")
    digits = re.fullmatch(rb"(\d{14})(?:\.\d+)?Z", text)
    try:
        moment = datetime.datetime.strptime(digits[1].decode(), "%Y%m%d%H%M%S") if digits else None
    except ValueError:
        return None
    return moment and moment.replace(tzinfo=datetime.UTC)


def _find_name(info: bytes) -> str:
    """The common name in TSTInfo's `tsa` ([0], the last but for extensions), or nothing."""
    held = next((content for tag, content in _list_values(info) if tag == 0xA0), b"")
    # The last one: the parts of a name go from the country down to the name itself.
    at = held.rfind(COMMON_NAME)
    if at < 0:
        return ""
    rest = _list_values(held[at + len(COMMON_NAME) :])
    # 0x0C is UTF8String, 0x13 PrintableString: the two that RFC 5280 (section 4.1.2.4) wants in names.
    text = rest[0][1].decode("utf-8", "replace") if rest and rest[0][0] in (0x0C, 0x13) else ""
    return replace_unprintable(text, "")[:LONGEST_AUTHORITY]
