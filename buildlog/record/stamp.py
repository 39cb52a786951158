"""Whether a time-stamp authority saw a seal, and when: RFC 3161, asked over HTTP, checked by `openssl ts`.

The request carries the SHA-256 of the seal's file and a nonce, nothing else of the log. An authority counts for as much
as its root certificate is trusted: without that certificate beside the stamp, only what was stamped can be checked.
"""

from __future__ import annotations

import datetime
import hashlib
import re
import tempfile
import urllib.error
import urllib.request
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.record.stock_tools import NoAnswer, Verdict, ask_tool

WAIT = 30
"Seconds of silence after which an authority is given up."
LARGEST_REPLY = 100_000
"Bytes. Ours: a reply with a chain of certificates has about 6,000."
QUERY_TYPE, REPLY_TYPE = "application/timestamp-query", "application/timestamp-reply"
"RFC 3161, section 3.4."


@frozen
class Stamp:
    """What a time stamp says; whether it may say so is left to `check_stamp`."""

    time: datetime.datetime
    "genTime, in UTC, whole seconds"
    digest: str
    "sum of what was stamped, hexadecimal"
    nonce: str | None
    "the number that the request gave, as `openssl` writes it"
    authority: str
    "the name that the authority gives itself, or nothing"


def ask_stamp(content: bytes, address: str, authority: bytes | None = None) -> bytes:
    """An authority's reply for the content, found to answer what was asked. Raises `NoAnswer`.

    `authority` holds the certificates that the authority is trusted by, as PEM; with them the reply is checked whole.
    """
    digest = hashlib.sha256(content).hexdigest()
    query = ask_tool(["openssl", "ts", "-query", "-digest", digest, "-sha256", "-cert"])
    if not query.good:
        raise NoAnswer(f"`openssl` made no request: {query.says}", "see whether `openssl ts -query` works here")
    reply = _send(query.output, address)
    stamp = read_stamp(reply)
    if stamp.digest != digest or stamp.nonce != _find_nonce(query.output):
        raise NoAnswer(f"`{address}` answered another request than ours", "try again, or ask another authority")
    if authority is not None:
        verdict = check_stamp(content, reply, authority)
        if verdict.state != "holds":
            help = "give the root certificate of this very authority with --stamp-ca"
            raise NoAnswer(f"the reply of `{address}` does not hold: {verdict.says}", help)
    return reply


def _send(query: bytes, address: str) -> bytes:
    """What the authority replies. Raises `NoAnswer`."""
    help = "give the address of a time-stamp authority (RFC 3161) that can be reached from here"
    if not re.match(r"https?://", address, re.IGNORECASE):
        raise NoAnswer(f"`{address}` is no address that begins with `http://` or `https://`", help)
    request = urllib.request.Request(address, data=query, headers={"Content-Type": QUERY_TYPE}, method="POST")
    try:
        with urllib.request.urlopen(request, timeout=WAIT) as response:
            kind = response.headers.get_content_type()
            reply: bytes = response.read(LARGEST_REPLY + 1)
    except (OSError, ValueError, urllib.error.HTTPError) as error:
        raise NoAnswer(f"`{address}` gave no time stamp: {error}", help) from None
    if kind != REPLY_TYPE or len(reply) > LARGEST_REPLY:
        raise NoAnswer(f"`{address}` sent no time stamp, but {len(reply)} bytes of `{kind}`", help)
    return reply


def read_stamp(reply: bytes) -> Stamp:
    """What the stamp in a reply says, for any bytes at all. Raises `NoAnswer`: refused, or no reply at all."""
    help = "ask another authority"
    with tempfile.TemporaryDirectory() as folder:
        path, token = Path(folder) / "reply.tsr", Path(folder) / "token"
        path.write_bytes(reply)
        answer = ask_tool(["openssl", "ts", "-reply", "-in", str(path), "-token_out", "-out", str(token)])
        if not answer.good or not token.exists():
            raise NoAnswer(f"there is no time stamp in the reply{_find_refusal(path)}", help)
        # The token alone: a reply's own words could pretend to be lines of a token.
        text = ask_tool(["openssl", "ts", "-reply", "-in", str(token), "-token_in", "-text"]).output
    stamp = _read_text(text.decode("utf-8", "replace"))
    if stamp is None:
        raise NoAnswer("the time stamp cannot be read", help)
    return stamp


def _find_refusal(path: Path) -> str:
    text = ask_tool(["openssl", "ts", "-reply", "-in", str(path), "-text"]).output.decode("utf-8", "replace")
    said = re.search(r"^Status description: (.*)$", text, re.MULTILINE)
    return f": {said[1][:200]}" if said else ""


TIME = re.compile(r"^Time stamp: (\w{3}) +(\d{1,2}) (\d\d):(\d\d):(\d\d)(?:\.\d+)? (\d{4}) GMT$", re.MULTILINE)
MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
DUMP_ROW = re.compile(r"^ +[0-9a-f]{4} - ((?:[0-9a-f]{2}[ -])+)", re.MULTILINE)


def _read_text(text: str) -> Stamp | None:
    """The stamp in what `openssl` prints of a token; what a stranger worded comes behind all that is read for good."""
    time = TIME.search(text)
    if time is None or time[1] not in MONTHS or "\nHash Algorithm: sha256\n" not in text[: time.start()]:
        return None
    day, hour, minute, second, year = map(int, time.groups()[1:])
    rest = text[time.end() :]
    nonce, name = re.search(NONCE, rest, re.MULTILINE), re.search(r"^TSA: (.*)$", rest, re.MULTILINE)
    try:
        moment = datetime.datetime(year, MONTHS.index(time[1]) + 1, day, hour, minute, second, tzinfo=datetime.UTC)
    except ValueError:
        return None
    return Stamp(
        time=moment,
        digest=re.sub(r"[ -]", "", "".join(DUMP_ROW.findall(text[: time.start()]))),
        nonce=nonce[1] if nonce else None,
        authority=name[1].removeprefix("DirName:")[:200] if name else "",
    )


NONCE = r"^Nonce: (0x[0-9A-F]+)$"


def _find_nonce(query: bytes) -> str | None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "query.tsq"
        path.write_bytes(query)
        text = ask_tool(["openssl", "ts", "-query", "-in", str(path), "-text"]).output.decode("utf-8", "replace")
    found = re.search(NONCE, text, re.MULTILINE)
    return found[1] if found else None


def check_stamp(content: bytes, reply: bytes, authority: bytes | None) -> Verdict:
    """Whether the reply stamps exactly this content, and whether the authority's certificates, as PEM, vouch for it.

    Certificates are judged as of the time of the stamp: an authority's own expire long before a record does.
    """
    if len(reply) > LARGEST_REPLY or len(authority or b"") > LARGEST_REPLY:
        return Verdict(state="fails", says=f"the time stamp or its certificates are larger than {LARGEST_REPLY} bytes")
    try:
        return _check_read(content, reply, authority)
    except NoAnswer as why:
        missing = "not installed" in why.message
        return Verdict(state="cannot be checked" if missing else "fails", says=why.message)


def _check_read(content: bytes, reply: bytes, authority: bytes | None) -> Verdict:
    stamp = read_stamp(reply)
    when = f"{stamp.time:%Y-%m-%d %H:%M:%S} UTC, by {stamp.authority or 'an authority without a name'}"
    if stamp.digest != hashlib.sha256(content).hexdigest():
        return Verdict(state="fails", says=f"the time stamp of {when} is over other bytes")
    if authority is None:
        says = f"these bytes were stamped {when}; no certificate of that authority is given"
        return Verdict(state="cannot be checked", says=says)
    with tempfile.TemporaryDirectory() as folder:
        names = {"content": content, "reply.tsr": reply, "ca.pem": authority}
        paths = {name: str(Path(folder) / name) for name in names}
        for name, data in names.items():
            Path(paths[name]).write_bytes(data)
        command = ["openssl", "ts", "-verify", "-data", paths["content"], "-in", paths["reply.tsr"]]
        answer = ask_tool([*command, "-CAfile", paths["ca.pem"], "-attime", str(int(stamp.time.timestamp()))])
    if not answer.good:
        return Verdict(state="fails", says=f"the authority's certificates do not vouch for the stamp of {when}")
    return Verdict(
        state="holds", says=f"stamped {when}, whose certificate is given; whether to trust it, judge yourself"
    )
