"""Who may ask the preview for what, over HTTP: a browser on this machine, for files of the site and nothing else.

Any page of the web can make a browser send requests to 127.0.0.1, and by a name of its own that it lets lead there (DNS
rebinding) even read the answers. So a request must name this server as its host (RFC 9110, section 7.2), and where it
tells on whose behalf it comes (RFC 6454, section 7), that must be this server too. A path is looked up among those that
the site has; none is ever joined to a folder.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Mapping
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, unquote, urlsplit

from buildlog.output.write import make_content
from buildlog.preview.notice import POLICY, SCRIPT, STYLE, Notice, dress_page
from buildlog.preview.site import PreviewSite

HERE = Path(__file__).parent
OWN_FILES = {SCRIPT: HERE / "live.js", STYLE: HERE / "live.css"}
CHANGES = "preview/changes"
"Tells of each change of the site, as server-sent events (HTML Standard, section 9.2)."
MEDIA_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".xml": "application/xml; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".webp": "image/webp",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".ico": "image/x-icon",
    ".woff2": "font/woff2",
    ".woff": "font/woff",
    ".ttf": "font/ttf",
    ".otf": "font/otf",
    ".pdf": "application/pdf",
}
"By suffix, and by no table of this system's; anything else is not shown but saved."
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}
"Of every answer. Nothing is kept by a browser: what is shown next is made from what was saved last."
HEARTBEAT_S = 10.0
"Seconds after which a page that follows is sent an empty line: so it is found out that it is there no more."
PATIENCE_S = 30.0
"Seconds that a connection may say nothing while a request is read."
MOST_CONNECTIONS = 100
"At one time: a browser has six, and each costs a thread."
PIECE = 1 << 16
"Bytes of a file that are sent at once."


class PreviewServer(ThreadingHTTPServer):
    """Serves one site until `shutdown`."""

    daemon_threads = True
    allow_reuse_address = (
        os.name != "nt"
    )  # elsewhere it frees a port that nobody listens on any more; there it shares one
    request_queue_size = 32

    def __init__(
        self, site: PreviewSite, address: tuple[str, int], handler: type[PreviewHandler] | None = None
    ) -> None:
        """Raises OSError where nothing can listen at that address."""
        self.site = site
        self._free = threading.BoundedSemaphore(MOST_CONNECTIONS)
        super().__init__(address, handler or PreviewHandler)
        port = self.server_address[1]
        self.hosts = frozenset(f"{name}:{port}" for name in ("127.0.0.1", "localhost"))
        "what a request may call this server, as `Host` has it"

    @property
    def address(self) -> str:
        """Where the front page is."""
        return f"http://{self.server_address[0]!s}:{self.server_address[1]}/"

    def process_request(self, request: Any, client_address: Any) -> None:
        if not self._free.acquire(blocking=False):
            self.shutdown_request(request)
            return
        super().process_request(request, client_address)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._free.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Nothing: a connection that breaks off is the browser's business. What is our fault is told by the handler."""


class PreviewHandler(BaseHTTPRequestHandler):
    """One connection."""

    server: PreviewServer
    protocol_version = "HTTP/1.1"
    timeout = PATIENCE_S
    server_version, sys_version = "buildlog", ""
    disable_nagle_algorithm = True  # a page is sent in two pieces, and the second would wait for the first's receipt

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing: the terminal is for what the owner has to know."""

    def do_GET(self) -> None:
        path = self.find_path()
        if path is None:
            return
        self.give(path)

    def do_HEAD(self) -> None:
        self.do_GET()

    def find_path(self) -> str | None:
        """The path in the site, or None where the request was refused, which then is answered."""
        hosts = self.headers.get_all("Host") or []
        if len(hosts) != 1 or hosts[0].lower() not in self.server.hosts:
            self.refuse(HTTPStatus.MISDIRECTED_REQUEST, "This server answers to its own address only.")
            return None
        origin = self.headers.get("Origin")
        if origin is not None and origin not in {f"http://{host}" for host in self.server.hosts}:
            self.refuse(HTTPStatus.FORBIDDEN, "Requests on behalf of other pages are not answered.")
            return None
        # A page elsewhere that opens this one in a frame, or as a picture, sends no origin, but says so here.
        if self.headers.get("Sec-Fetch-Site") == "cross-site" and self.headers.get("Sec-Fetch-Mode") != "navigate":
            self.refuse(HTTPStatus.FORBIDDEN, "Requests on behalf of other pages are not answered.")
            return None
        if not self.path.startswith("/") or self.headers.get("Transfer-Encoding") or self._has_body():
            self.refuse(HTTPStatus.BAD_REQUEST, "This is not a request for a page.")
            return None
        path = unquote(urlsplit(self.path).path, errors="replace")[1:]
        return f"{path}index.html" if path == "" else path

    def _has_body(self) -> bool:
        return self.command in ("GET", "HEAD") and self.headers.get("Content-Length", "0") != "0"

    def give(self, path: str) -> None:
        """Answer with what is at a path of the site, or of the preview itself."""
        if path == CHANGES:
            self._follow()
            return
        if path in OWN_FILES:
            self.send(HTTPStatus.OK, OWN_FILES[path].read_bytes(), path)
            return
        site = self.server.site
        # Before the page is made: should the log change meanwhile, the page asks once too often.
        version = site.version
        answer = site.answer(path)
        status = HTTPStatus.OK if answer.found else HTTPStatus.NOT_FOUND
        content = make_content(answer.content)
        if isinstance(content, bytes):
            if answer.notice is not None:
                self.send(status, self.dress(content, answer.notice, version), "index.html")
            else:
                self.send(status, content, path)
            return
        try:
            with open(content, "rb") as file:
                self._send_head(HTTPStatus.OK, os.fstat(file.fileno()).st_size, path)
                while self.command == "GET" and (piece := file.read(PIECE)):
                    self.wfile.write(piece)
        except FileNotFoundError:  # gone since the site was made: the next state will not have it
            self.refuse(HTTPStatus.NOT_FOUND, "This file is not there any more.")

    def dress(self, page: bytes, notice: Notice, version: str) -> bytes:
        """A page with what the preview adds to it."""
        return dress_page(page, notice, version)

    def _follow(self) -> None:
        """Tell of changes until the browser goes, or the preview ends."""
        site = self.server.site
        version = parse_qs(urlsplit(self.path).query).get("since", [""])[0]
        self.close_connection = True
        self.begin(HTTPStatus.OK, {"Content-Type": "text/event-stream", "Connection": "close"})
        # How long the browser waits before it asks again, once the preview was ended and is started anew.
        self.wfile.write(b"retry: 500\n\n")
        while self.command == "GET" and not site.ended:
            now = site.wait(version, HEARTBEAT_S)
            self.wfile.write(f"data: {now}\n\n".encode() if now != version else b":\n\n")
            version = now

    # ── answers ──────────────────────────────────────────────────────────────────────────────────────────────────

    def refuse(self, status: HTTPStatus, words: str) -> None:
        """Answer with one sentence, and end the connection: what else is on it is not looked at."""
        self.close_connection = True
        self.send(status, f"{words}\n".encode(), "refusal.txt")

    def send(self, status: HTTPStatus, content: bytes, path: str) -> None:
        self._send_head(status, len(content), path)
        if self.command != "HEAD":
            self.wfile.write(content)

    def _send_head(self, status: HTTPStatus, size: int, path: str) -> None:
        suffix = os.path.splitext(path)[1].lower()
        headers = {"Content-Type": MEDIA_TYPES.get(suffix, "application/octet-stream"), "Content-Length": str(size)}
        if path.startswith("photos/"):
            # The address says what is in it, so it never comes to be another picture.
            headers["Cache-Control"] = "private, max-age=31536000, immutable"
        if self.close_connection:
            headers["Connection"] = "close"
        self.begin(status, headers)

    def begin(self, status: HTTPStatus, headers: Mapping[str, str]) -> None:
        self.send_response(status)
        for name, value in (HEADERS | dict(headers)).items():
            self.send_header(name, value)
        self.end_headers()

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """What the library says of a request that is none, or of a method that is not there, in our own way."""
        self.refuse(HTTPStatus(code), f"{HTTPStatus(code).phrase}.")


def listen(site: PreviewSite, port: int | None, default: int) -> PreviewServer:
    """A server on 127.0.0.1 at that port; where none is asked for, at the default or, if that is taken, at any.

    Raises OSError where the port that was asked for cannot be had.
    """
    try:
        return PreviewServer(site, ("127.0.0.1", default if port is None else port))
    except OSError:
        if port is not None:
            raise
        return PreviewServer(site, ("127.0.0.1", 0))
