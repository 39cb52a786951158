"""The preview for a phone in the same network, behind a code that works once; photos can be sent from there.

The code is told where the preview was started, and nowhere else. What the phone holds afterwards is a secret of its
own, in a cookie that no script reads and no other site makes a browser send (RFC 6265bis, `HttpOnly` and `SameSite`).
Nothing of it is encrypted: whoever can listen in this network can read along, so it is for one's own.

A photo that was sent goes into today's entry, by the rules of every intake: nothing is overwritten, nothing goes in
that could not be published, and nothing that the log has already. The entry's text is its owner's and stays as it is;
until the photo is listed there, the page says so.
"""

from __future__ import annotations

import hmac
import io
import ipaddress
import os
import secrets
import socket
import tempfile
import threading
from collections.abc import Callable
from dataclasses import replace
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

from buildlog.paths import simplify_stem
from buildlog.photos.decode import BrokenPhoto
from buildlog.photos.intake import LONGEST_STEM, place_photo, plan_photo
from buildlog.photos.recipe import FORMATS
from buildlog.preview.notice import STYLE, Notice, dress_page
from buildlog.preview.serving import PreviewHandler, PreviewServer
from buildlog.preview.site import PreviewSite
from buildlog.read.records import Entry, Log

HERE = Path(__file__).parent
LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"None that is taken for another one: no 0 and O, no 1 and I."
CODE_LETTERS = 8
"Forty bits: a million million codes, of which a stranger may try a few."
MOST_WRONG = 10
"Wrong codes after which no other is taken: one that is typed badly is typed well the second time."
ENTER, PHONE_SCRIPT, SEND = "preview/enter", "preview/phone.js", "preview/photo"
OPEN_FILES = {"preview/enter.js": HERE / "enter.js", STYLE: HERE / "live.css"}
"What the page for the code needs, given to whoever asks: it is the same for every log, and says nothing of any."
ENTER_PAGE = b"""\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>Preview</title>
<link rel="stylesheet" href="/preview/live.css">
<script src="/preview/enter.js" defer></script>
</head>
<body id="preview-enter">
<main>
<h1>Preview</h1>
<p><label for="code">The code that the preview shows in the terminal</label>
<input id="code" autocomplete="off" autocapitalize="characters"><button type="button">Enter</button></p>
<p role="status"></p>
</main>
</body>
</html>
"""


class Door:
    """Who may come in: whoever says the code, once; then whoever holds what was given for it."""

    def __init__(self, tell: Callable[[str], None]) -> None:
        self._tell = tell
        self._lock = threading.Lock()
        self._wrong = 0
        self._tokens: list[str] = []
        self.code = make_code()

    @property
    def closed(self) -> bool:
        return self._wrong >= MOST_WRONG

    def enter(self, code: str) -> str | None:
        """A secret for whoever says the code, and another code for the next one; None for a wrong one."""
        typed = "".join(letter for letter in code.upper() if letter.isalnum())
        with self._lock:
            if self.closed:
                return None
            # In a time that tells nothing of how much of it was right.
            if not hmac.compare_digest(typed.encode(), self.code.encode()):
                self._wrong += 1
                if self.closed:
                    self._tell(
                        f"NO PHONE IS LET IN ANY MORE: {MOST_WRONG} wrong codes were tried. If it was not you, "
                        "somebody on your network is trying to get in. End the preview and start it again to let "
                        "a phone in."
                    )
                return None
            self.code = make_code()
            self._tokens.append(secrets.token_urlsafe(32))
            self._tell(f"a phone has been let in; the code for another one is {show_code(self.code)}")
            return self._tokens[-1]

    def knows(self, token: str) -> bool:
        """Whether this was given to somebody."""
        return any(hmac.compare_digest(token.encode(), known.encode()) for known in self._tokens)


def make_code() -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(CODE_LETTERS))


def show_code(code: str) -> str:
    """`ABCD-2345`, as it is read aloud."""
    return f"{code[:4]}-{code[4:]}"


def find_address() -> str:
    """This machine's address in its own network. Raises OSError where it is in none, or is open to all of the world."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Nothing is sent: the system only says by which way it would be. The address is for examples (RFC 5737).
            probe.connect(("192.0.2.1", 9))
            address = ipaddress.ip_address(probe.getsockname()[0])
        except OSError:
            raise OSError("this computer is not on a network, so no phone can reach it") from None
    if address.is_loopback or not address.is_private:
        raise OSError(f"{address} is not an address on a home network, so no phone is let in there")
    return str(address)


def show_way_in(server: PhoneServer) -> str:
    """Where a phone has to go, in words and as a QR code (ISO/IEC 18004) for its camera."""
    import segno

    drawn = io.StringIO()
    # The code stands behind `#`, which no browser sends: whoever only looks at the link does not use it up.
    segno.make(f"{server.address}{ENTER}#{server.door.code}", micro=False).terminal(out=drawn, compact=True)
    return f"{drawn.getvalue()}\nphone: {server.address} with the code {show_code(server.door.code)}"


class PhoneServer(PreviewServer):
    """Serves the same site at an address of the network, to those who came through the door."""

    def __init__(self, site: PreviewSite, address: tuple[str, int], tell: Callable[[str], None]) -> None:
        super().__init__(site, address, PhoneHandler)
        self.door = Door(tell)
        self.hosts = frozenset([f"{address[0]}:{self.server_address[1]}"])

    @property
    def cookie(self) -> str:
        """Its name; cookies of one host go to all of its ports."""
        return f"preview-{self.server_address[1]}"


class PhoneHandler(PreviewHandler):
    """One connection from the network."""

    server: PhoneServer

    def do_GET(self) -> None:
        path = self.find_path()
        if path is None:
            return
        if path == ENTER:
            self.send(HTTPStatus.OK, ENTER_PAGE, f"{path}.html")
        elif path in OPEN_FILES:
            self.send(HTTPStatus.OK, OPEN_FILES[path].read_bytes(), path)
        elif not self._is_known():
            self.begin(HTTPStatus.SEE_OTHER, {"Location": f"/{ENTER}", "Content-Length": "0"})
        elif path == PHONE_SCRIPT:
            self.send(HTTPStatus.OK, (HERE / "phone.js").read_bytes(), path)
        else:
            self.give(path)

    def do_POST(self) -> None:
        path = self.find_path()
        if path is None:
            return
        # A browser always says on whose behalf it posts (Fetch Standard, section 3.2).
        if self.headers.get("Origin") is None:
            self.refuse(HTTPStatus.FORBIDDEN, "Only a page of this preview can send something.")
        elif path == ENTER:
            self._enter()
        elif path == SEND and self._is_known():
            self._take_photo()
        else:
            self.refuse(HTTPStatus.NOT_FOUND, "Nothing can be sent there.")

    def dress(self, page: bytes, notice: Notice, version: str) -> bytes:
        dressed = dress_page(page, notice, version)
        return dressed.replace(
            b" defer></script>\n", f' defer></script>\n<script src="/{PHONE_SCRIPT}" defer></script>\n'.encode(), 1
        )

    def _is_known(self) -> bool:
        try:
            found = SimpleCookie(self.headers.get("Cookie", "")).get(self.server.cookie)
        except CookieError:
            return False
        return found is not None and self.server.door.knows(found.value)

    def _measure_body(self) -> int:
        """The bytes that follow; -1 where that is not told as a number."""
        told = self.headers.get_all("Content-Length") or []
        return int(told[0]) if len(told) == 1 and told[0].isascii() and told[0].isdigit() else -1

    def _enter(self) -> None:
        size = self._measure_body()
        if not 0 <= size <= 100:
            self.refuse(HTTPStatus.BAD_REQUEST, "This is not a code.")
            return
        token = self.server.door.enter(self.rfile.read(size).decode("utf-8", "replace"))
        if token is None:
            closed = "No more phones are let in." if self.server.door.closed else "This is not the code."
            self.refuse(HTTPStatus.FORBIDDEN, closed)
            return
        cookie = f"{self.server.cookie}={token}; Path=/; HttpOnly; SameSite=Strict"
        self.begin(HTTPStatus.NO_CONTENT, {"Set-Cookie": cookie})

    def _take_photo(self) -> None:
        size = left = self._measure_body()

        def read(most: int) -> bytes:
            nonlocal left
            piece = self.rfile.read(min(most, left))
            left -= len(piece)
            return piece

        name = parse_qs(urlsplit(self.path).query).get("name", [""])[0]
        try:
            words = take_photo(self.server.site, name, size, read)
        except NotTaken as why:
            # A connection that is closed with something unread on it breaks off, and the answer may go with it.
            while left > 0 and size <= LARGEST_PHOTO and read(PIECE):
                pass
            self.refuse(HTTPStatus.UNPROCESSABLE_ENTITY, str(why))
        except OSError as error:
            self.refuse(HTTPStatus.INSUFFICIENT_STORAGE, f"It could not be saved: {error.strerror or error}.")
        else:
            self.send(HTTPStatus.CREATED, f"{words}\n".encode(), "answer.txt")


LARGEST_PHOTO = 64 << 20
"Bytes: four times what a phone's camera makes of its most pixels."
PIECE = 1 << 16
"Bytes that are read at once."
_ONE = threading.Lock()
"One photo is taken in at a time: each is looked through in memory, and numbered after those that are there."


class NotTaken(Exception):
    """Why a photo was not taken in, in one sentence."""


def take_photo(site: PreviewSite, name: str, size: int, read: Callable[[int], bytes]) -> str:
    """A photo of so many bytes taken into today's entry; says where it is now. Raises `NotTaken`, and OSError.

    `name` is what the phone calls it, and only a few plain letters of it are kept.
    """
    suffix = os.path.splitext(name)[1].lower()
    if suffix not in FORMATS:
        raise NotTaken(f"Photos are .jpg, .png, .webp or .heic files, and this one is called `{name[:80]}`.")
    if not 0 < size <= LARGEST_PHOTO:
        raise NotTaken(f"A photo may have at most {LARGEST_PHOTO >> 20} MB, and must not be empty.")
    log, entry = find_entry(site)
    # Not in the log before it was looked at; a name of our own, whatever the phone's was.
    with _ONE, tempfile.TemporaryDirectory() as folder:
        photo = Path(folder) / f"{simplify_stem(name, longest=LONGEST_STEM)}{suffix}"
        with open(photo, "xb") as file:
            while size:
                piece = read(min(size, PIECE))
                if not piece:
                    raise NotTaken("The photo did not arrive complete: send it again.")
                file.write(piece)
                size -= len(piece)
        try:
            take = plan_photo(photo, log=_look_again(log, entry.name), entry=entry.name)
        except BrokenPhoto as broken:
            raise NotTaken(f"The photo {broken.message}: {broken.help}.") from None
        assert log.folder is not None
        path = place_photo(take, log.folder, entry.name)
    return f"In `photos/{entry.name}/`, as `{path.name}`. List it under `photos:` in the entry."


def find_entry(site: PreviewSite) -> tuple[Log, Entry]:
    """The log as it was last found sound, and its entry of today, the last one by name. Raises `NotTaken`."""
    log, day = site.log, site.find_day()
    entries = [entry for entry in log.entries if entry.date == day] if log else []
    if log is None or not entries:
        raise NotTaken(f"There is no entry of {day} to put it in: `buildlog write` starts one.")
    return log, entries[-1]


def _look_again(log: Log, entry: str) -> Log:
    """The log with the entry's photos as they are now: one that came just before may not have been read yet."""
    home = log.locate(f"photos/{entry}")
    names = sorted(name for name in os.listdir(home) if not name.startswith(".")) if home.is_dir() else []
    return replace(log, photos={**log.photos, entry: tuple(names)})
