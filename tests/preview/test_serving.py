"""Who gets an answer from the preview, and to what: its own pages, to a browser that means this server."""

from __future__ import annotations

import http.client
import socket
import threading
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest

from buildlog.preview.notice import OWN_POLICY, POLICY, undress_page
from buildlog.preview.serving import MOST_CONNECTIONS, PreviewServer
from buildlog.render.theme import find_themes
from tests.preview.logs import look, make_log, open_site, publish, read

Answer = tuple[int, dict[str, str], bytes]


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    top = tmp_path_factory.mktemp("serving")
    (top / "secret.txt").write_text("secret")
    log = make_log(top / "log")
    (log / "secret.txt").write_text("secret")
    (log / "papers").mkdir()
    (log / "papers/secret.txt").write_text("secret")
    return log


@pytest.fixture(scope="module")
def server(log: Path) -> Iterator[PreviewServer]:
    with PreviewServer(open_site(log), ("127.0.0.1", 0)) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
        thread.start()
        yield server
        server.site.end()
        server.shutdown()
        thread.join()


def ask(server: PreviewServer, path: str, method: str = "GET", body: str | None = None, **headers: str) -> Answer:
    """An answer over a connection of its own; a header is named with `_` for `-`, and `Host` may be given."""
    connection = http.client.HTTPConnection(*server.server_address[:2], timeout=60)
    connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    for name, value in ({"Host": f"127.0.0.1:{server.server_address[1]}"} | named).items():
        connection.putheader(name, value)
    if body is not None:
        connection.putheader("Content-Length", str(len(body)))
    connection.endheaders(body.encode() if body is not None else None)
    answer = connection.getresponse()
    data = answer.read()
    connection.close()
    return answer.status, {name.lower(): value for name, value in answer.getheaders()}, data


def test_every_file_of_the_site_is_served_as_it_would_be_published(server: PreviewServer, log: Path) -> None:
    """Pages but for what the preview adds to them and for their policy, everything else byte for byte."""
    files = publish(log) or {}
    for path, content in files.items():
        assert ask(server, f"/{path}")[0] == 200, path
        server.site.settle()  # photos that the page shows are made now
        _, headers, data = ask(server, f"/{path}")
        if path.endswith(".html"):
            assert undress_page(data) == OWN_POLICY.sub(b"", read(content)).decode(), path
            assert headers["content-type"] == "text/html; charset=utf-8"
        elif path != "theme/tones.css":
            assert data == read(content), path
    assert len(files) > 20


def test_the_front_page_is_at_the_top(server: PreviewServer) -> None:
    """As on any host."""
    ask(server, "/")
    server.site.settle()  # photos that the page shows are made now, and the page is made again with them
    assert ask(server, "/")[2] == ask(server, "/index.html")[2]


def test_the_policy_is_the_published_one_and_one_connection_more(server: PreviewServer) -> None:
    """What a published page allows, in a header instead of the page; the preview's script has to ask for changes."""
    page = (find_themes() / "margin/page.html").read_text(encoding="utf-8")

    class Reader(HTMLParser):
        policy = ""

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            found = dict(attrs)
            if found.get("http-equiv") == "Content-Security-Policy":
                self.policy = found["content"] or ""

    reader = Reader()
    reader.feed(page)
    added = {"connect-src 'self'", "frame-ancestors 'none'"}
    assert {*POLICY.split("; ")} == {*reader.policy.split("; ")} | added
    status, headers, data = ask(server, "/")
    assert (status, headers["content-security-policy"]) == (200, POLICY)
    assert not OWN_POLICY.search(data)


@pytest.mark.parametrize(
    "host",
    [
        "example.org",
        "example.org:PORT",
        "127.0.0.1",
        "127.0.0.1:1",
        "localhost.example.org:PORT",
        "",
        "[::1]:PORT",
        "0.0.0.0:PORT",
    ],
)
@pytest.mark.parametrize("path", ["/", "/preview/changes", "/preview/live.js", "/theme/margin.css"])
def test_another_name_for_this_server_is_refused(server: PreviewServer, host: str, path: str) -> None:
    """RFC 9110, section 15.5.20: a name that somebody lets lead to 127.0.0.1 gives nothing away (DNS rebinding)."""
    status, _, data = ask(server, path, Host=host.replace("PORT", str(server.server_address[1])))
    assert (status, data) == (421, b"This server answers to its own address only.\n")


def test_no_host_or_two_are_refused(server: PreviewServer) -> None:
    """RFC 9112, section 3.2: a request has exactly one."""
    host, port = server.server_address[:2]
    for lines in ("", f"Host: {host!s}:{port}\r\nHost: example.org\r\n"):
        with socket.create_connection((str(host), port), timeout=60) as connection:
            connection.sendall(f"GET / HTTP/1.1\r\n{lines}\r\n".encode())
            assert connection.recv(100).split()[1] == b"421"


@pytest.mark.parametrize(
    "origin", ["https://example.org", "null", "http://localhost", "https://127.0.0.1:PORT", "http://127.0.0.1:1"]
)
def test_a_request_on_behalf_of_another_page_is_refused(server: PreviewServer, origin: str) -> None:
    """RFC 6454, section 7: what a browser says of the page that asks; `null` says that it must not be told."""
    assert ask(server, "/", Origin=origin.replace("PORT", str(server.server_address[1])))[0] == 403


def test_our_own_pages_may_ask(server: PreviewServer) -> None:
    """By either of the two names of this machine."""
    port = server.server_address[1]
    for name in ("127.0.0.1", "localhost"):
        assert ask(server, "/", Host=f"{name}:{port}", Origin=f"http://{name}:{port}")[0] == 200


def test_a_picture_in_a_page_elsewhere_is_not_given(server: PreviewServer) -> None:
    """It comes without an origin, but with the word of the browser (Fetch Metadata); a link to a page is followed."""
    assert ask(server, "/", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="no-cors")[0] == 403
    assert ask(server, "/", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="navigate")[0] == 200
    assert ask(server, "/")[1]["cross-origin-resource-policy"] == "same-origin"


PATHS = [
    "/../secret.txt", "/%2e%2e/secret.txt", "/..%2fsecret.txt", "/%2e%2e%2fsecret.txt", "/theme/../../secret.txt",
    "/theme/%2e%2e/%2e%2e/secret.txt", "/secret.txt", "/./secret.txt", "//secret.txt", "/papers/secret.txt",
    "/log.yaml",
    "/entries/2024-05-18-pump.md", "/photos/2024-05-18-pump/seal.png", "/photos/../secret.txt", "/photos", "/photos/",
    "/photos/2024-05-18-pump", "/theme/..\\..\\secret.txt", "/..%5csecret.txt", "/theme%5cmargin.css", "/index.html%00",
    "/index.html%00.css", "/con", "/nul.html", "/aux/", "/C:/Windows/win.ini", "/%ff", "/%c0%ae%c0%ae/secret.txt",
    "/etc/passwd", "//etc/passwd", "/proc/self/environ", "/index.html/", "/INDEX.html", "/preview/", "/preview/site.py",
    "/preview/../index.html", "/entries/", "/" + "a" * 5000,
]  # fmt: skip


@pytest.mark.parametrize("path", PATHS)
def test_nothing_but_the_site_is_served(server: PreviewServer, path: str) -> None:
    """Whatever a path looks like, it is one of the site's, as it is spelt there, or there is nothing."""
    status, _, data = ask(server, path)
    assert status == 404
    assert b"secret" not in data.replace(b"secret.txt", b"") and b"root:" not in data


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PATCH", "get"])
def test_other_methods_are_not_answered(server: PreviewServer, method: str) -> None:
    """Nothing can be changed by asking."""
    assert ask(server, "/index.html", method=method)[0] == 501


def test_a_request_with_a_body_or_another_form_is_refused(server: PreviewServer) -> None:
    """What stands behind a body could be taken for another request (RFC 9112, section 11.2)."""
    assert ask(server, "/", body="GET /x HTTP/1.1")[0] == 400
    assert ask(server, "/", Transfer_Encoding="chunked")[0] == 400
    assert ask(server, "http://example.org/")[0] == 400


def test_head_says_what_get_would(server: PreviewServer) -> None:
    """The same headers, and no content."""
    ask(server, "/")
    server.site.settle()
    got, head = ask(server, "/"), ask(server, "/", method="HEAD")
    assert {**got[1], "date": ""} == {**head[1], "date": ""}
    assert (head[0], head[2]) == (200, b"")


def test_a_page_that_is_not_there_says_so_and_follows(server: PreviewServer) -> None:
    """It may come with the next save, as one that was just renamed."""
    status, _, data = ask(server, "/entries/nothing.html")
    assert status == 404
    assert b"There is no such page" in data and b"/preview/live.js" in data


def test_it_listens_on_this_machine_alone(log: Path) -> None:
    """By no address of a network; the port is asked for at the one address."""
    with PreviewServer(open_site(log), ("127.0.0.1", 0)) as server:
        assert server.socket.getsockname()[0] == "127.0.0.1"


def test_a_change_is_told_to_whoever_waits(tmp_path: Path) -> None:
    """As an event with the new version, at once where it is another one already; the page's own script asks so."""
    log = make_log(tmp_path / "log")
    site = open_site(log)
    with PreviewServer(site, ("127.0.0.1", 0)) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
        thread.start()
        host, port = server.server_address[:2]
        with socket.create_connection((str(host), port), timeout=60) as connection, connection.makefile("rb") as lines:
            connection.sendall(
                f"GET /preview/changes?since={site.version} HTTP/1.1\r\nHost: {host!s}:{port}\r\n\r\n".encode()
            )
            while b"retry" not in lines.readline():
                pass
            site.refresh()
            told = next(line for line in lines if line.startswith(b"data: "))
            assert told == f"data: {site.version}\n".encode()
            site.end()
            assert lines.read().strip() in (b"", b":")  # the connection is closed from the other side
        server.shutdown()
        thread.join()
    assert look(site, "index.html")


def test_more_connections_than_a_browser_needs_are_turned_away(server: PreviewServer) -> None:
    """Each costs a thread: one above the limit is closed without an answer."""
    address = (str(server.server_address[0]), server.server_address[1])
    held = [socket.create_connection(address, timeout=60) for _ in range(MOST_CONNECTIONS)]
    try:
        request = f"GET /preview/live.js HTTP/1.1\r\nHost: {address[0]}:{address[1]}\r\n\r\n".encode()
        for one in held:  # each is answered, so that each has its thread
            one.sendall(request)
            assert one.recv(12) == b"HTTP/1.1 200"
        with socket.create_connection(address, timeout=60) as more:
            assert more.recv(1) == b""
    finally:
        for one in held:
            one.close()
