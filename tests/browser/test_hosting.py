"""The published example on nginx, with the very configuration of the guide: every file, its type, how long it is kept.

Whether a header does what is wanted of it: RFC 9110 (types, validators), RFC 9111 and RFC 8246 (`immutable`).
The list of types: the IANA registry of media types.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from urllib.parse import quote, unquote, urljoin, urlsplit

import pytest

import buildlog
from tests.browser.files import list_pages, list_targets, parse

GUIDE = Path(buildlog.__file__).parent / "guide/hosting.md"
ADDRESS = "https://example.org/sedge/"
"The example's."
NGINX = (shutil.which("nginx"), "/usr/sbin/nginx", f"{sys.prefix}/nginx/usr/sbin/nginx")
"`tests/run` unpacks the last one, where there is none."
PATIENCE_S = 60.0
"Nothing waits for this: it ends a test whose server has died."

MAIN = """\
daemon off;
worker_processes 1;
pid nginx.pid;
error_log stderr crit;
events {}
http {
    access_log off;
    client_body_temp_path body;
    proxy_temp_path proxy;
    fastcgi_temp_path fastcgi;
    uwsgi_temp_path uwsgi;
    scgi_temp_path scgi;
    include site.conf;
}
"""

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
    ".xml": "application/xml; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".webp": "image/webp",
    ".woff2": "font/woff2",
}
PACKED = ("text/", "application/xml", "application/atom+xml", "image/svg+xml")
A_YEAR = "public, max-age=31536000, immutable"


def read_blocks() -> list[str]:
    """The pieces of configuration in the guide."""
    return re.findall(r"```nginx\n(.*?)```", GUIDE.read_text(encoding="utf-8"), re.DOTALL)


def configure(root: Path, port: int, below: str) -> str:
    """The guide's file with port and root put in; below a path with the lines that the guide says are others there."""
    whole, others = read_blocks()
    for line in others.splitlines() if below else ():
        name = re.escape(line.partition("/")[0])
        whole, times = re.subn(rf"^{name}/404\.html;$", line.replace("/sedge/", below), whole, flags=re.MULTILINE)
        assert times == 1, line
    assert whole.count("listen 80;") == whole.count("root /var/www/example.org;") == 1
    return whole.replace("listen 80;", f"listen 127.0.0.1:{port};").replace("/var/www/example.org;", f"{root};")


@contextmanager
def serving(site: Path, top: Path, below: str) -> Iterator[str]:
    """The site on a host of its own: at its top, or below a path."""
    nginx = next((path for path in NGINX if path and Path(path).is_file()), None)
    assert nginx, "no nginx found: run tests/run, which fetches it (or install the package `nginx`)"
    root = top / "root"
    (root / below.strip("/")).parent.mkdir(parents=True, exist_ok=True)
    (root / below.strip("/") if below else root).symlink_to(site, target_is_directory=True)
    # Bound here and handed on: the port is free because we have it, and whoever asks before the server is ready waits
    # in its queue. It takes such a socket from this variable, as when one of its versions follows another.
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen(64)
        port = listener.getsockname()[1]
        # Started by root, its workers would become somebody who may not read a test's folder.
        (top / "nginx.conf").write_text(("user root;\n" if os.geteuid() == 0 else "") + MAIN)
        (top / "site.conf").write_text(configure(root, port, below))
        server = subprocess.Popen(
            [nginx, "-e", "stderr", "-p", str(top), "-c", "nginx.conf"],
            env={"NGINX": f"{listener.fileno()};"},
            pass_fds=[listener.fileno()],
            stderr=subprocess.PIPE,
            text=True,
        )
    # Closed on our side by now: if the server ends, nobody waits in a queue that nobody serves.
    try:
        yield f"http://127.0.0.1:{port}{below or '/'}"
    finally:
        server.terminate()
        _, told = server.communicate()
        assert [line for line in told.splitlines() if "inherited sockets" not in line] == []


class Reader:
    """Asks one host, over one connection."""

    def __init__(self, base: str) -> None:
        self.base = base
        self._host = HTTPConnection(urlsplit(base).netloc, timeout=PATIENCE_S)

    def __enter__(self) -> Reader:
        return self

    def __exit__(self, *_: object) -> None:
        self._host.close()

    def ask(self, address: str, **headers: str) -> tuple[HTTPResponse, bytes]:
        """The answer and its body, as it was sent."""
        self._host.request("GET", urlsplit(address).path, headers={k.replace("_", "-"): v for k, v in headers.items()})
        answer = self._host.getresponse()
        return answer, answer.read()


def list_addresses(site: Path, base: str) -> dict[str, str]:
    """Every address of the host that a page leads to, loads or names, with the page that does."""
    found = {}
    for page in list_pages(site):
        here = urljoin(base, quote(page.relative_to(site).as_posix()))
        named = parse(page).xpath("//meta[@property='og:image']/@content | //link[@rel='canonical']/@href")
        for target in [target for _, target in list_targets(parse(page))] + named:
            address = urljoin(here, target).partition("#")[0].replace(ADDRESS, base)
            if address.startswith(base):
                found.setdefault(address, here)
    return found


def find_wrong(reader: Reader, site: Path, address: str) -> Iterator[str]:
    """What is wrong with how a file of the site is sent."""
    path = unquote(address.removeprefix(reader.base)) or "index.html"
    answer, body = reader.ask(address, Accept_Encoding="gzip")
    if answer.status != 200:
        yield f"{path}: {answer.status}"
        return
    type_ = "application/atom+xml; charset=utf-8" if path == "feed.xml" else TYPES[Path(path).suffix]
    wanted = {
        "Content-Type": type_,
        "Cache-Control": A_YEAR if path.startswith("photos/") and not path.endswith(".html") else "no-cache",
        "X-Content-Type-Options": "nosniff",
    }
    size = (site / path).stat().st_size
    packs = type_.startswith(PACKED) and size >= 1000
    wanted |= {"Content-Encoding": "gzip", "Vary": "Accept-Encoding"} if packs else {"Content-Length": str(size)}
    yield from (f"{path}: {name}: {answer.headers[name]}" for name in wanted if answer.headers[name] != wanted[name])
    if not answer.headers["ETag"] or (packs and len(body) >= size):
        yield f"{path}: cannot be asked for again, or is not smaller than it was"


@pytest.mark.parametrize("below", ["", "/logs/sedge/"], ids=["at the top", "below a path"])
def test_the_example_on_nginx(site: Path, tmp_path: Path, below: str) -> None:
    """Every file of the site and every link in it is sent as what it is; pages are asked for again, photos are kept.

    A wrong address gets the page for it and not a folder's, wherever it points, and nobody remembers that for a year.
    """
    with serving(site, tmp_path, below) as base, Reader(base) as reader:
        asked = list_addresses(site, base)
        files = {path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()}
        assert len(asked) > 150 and f"{base}share.jpg" in asked
        addresses = {*asked, *(base + quote(path) for path in files), base}
        assert [line for address in sorted(addresses) for line in find_wrong(reader, site, address)] == []

        page = (site / "404.html").read_bytes()
        for wrong in ("nowhere.html", "entries/nowhere", "a/b/c/", "entries/", "photos/nobody/0-960.jpg"):
            answer, body = reader.ask(base + wrong)
            assert (answer.status, body) == (404, page), wrong
            assert answer.headers["Content-Type"] == TYPES[".html"]
            assert answer.headers["Cache-Control"] == "no-cache"

        answer, body = reader.ask(f"{base}costs.html")
        assert body == (site / "costs.html").read_bytes()
        again, nothing = reader.ask(f"{base}costs.html", If_None_Match=answer.headers["ETag"])
        assert (again.status, nothing) == (304, b"")
