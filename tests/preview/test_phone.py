"""A phone in the network: who is let in, what happens to those who guess, and what becomes of a photo that is sent."""

from __future__ import annotations

import datetime
import io
import re
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from buildlog.preview import phone
from buildlog.preview.phone import (
    CODE_LETTERS,
    LETTERS,
    MOST_WRONG,
    Door,
    NotTaken,
    PhoneServer,
    show_code,
    show_way_in,
    take_photo,
)
from buildlog.preview.site import PreviewSite
from tests.photos.pictures import draw
from tests.preview.logs import DAY, make_log, open_site, write_entry
from tests.preview.test_serving import ask

TODAY = "2024-07-01-today"


class Phoned:
    """A server for phones and what it told where it was started."""

    def __init__(self, log: Path) -> None:
        self.told: list[str] = []
        self.site = open_site(log)
        self.server = PhoneServer(self.site, ("127.0.0.1", 0), self.told.append)
        self.own = f"http://127.0.0.1:{self.server.server_address[1]}"
        self._thread = threading.Thread(target=self.server.serve_forever, args=(0.05,))
        self._thread.start()

    def enter(self, code: str) -> tuple[int, str]:
        """The answer to a code, and the cookie that was given for it."""
        status, headers, _ = ask(self.server, "/preview/enter", method="POST", body=code, Origin=self.own)
        return status, headers.get("set-cookie", "").partition(";")[0]

    def close(self) -> None:
        self.site.end()
        self.server.shutdown()
        self.server.server_close()
        self._thread.join()


@pytest.fixture
def log(tmp_path: Path) -> Path:
    log = make_log(tmp_path / "log")
    write_entry(log, TODAY, "date: 2024-07-01\ntitle: Today", "Cold evening.\n")
    return log


@pytest.fixture
def phoned(log: Path) -> Iterator[Phoned]:
    found = Phoned(log)
    yield found
    found.close()


def picture(rows: str = "AB/CD", kind: str = "PNG") -> bytes:
    held = io.BytesIO()
    draw(rows, 40).save(held, kind)
    return held.getvalue()


# ── the door ─────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/index.html",
        "/entries/2024-07-01-today.html",
        "/preview/changes",
        "/preview/phone.js",
        "/theme/margin.css",
        "/nothing",
    ],
)
@pytest.mark.parametrize("cookie", ["", "preview=x", "preview-PORT=", "preview-PORT=guess", 'preview-PORT="', "=;=;"])
def test_without_the_secret_there_is_only_the_door(phoned: Phoned, path: str, cookie: str) -> None:
    """Whatever is asked for, and whatever is claimed: the page that asks for the code, and nothing of the site."""
    status, headers, data = ask(
        phoned.server, path, Cookie=cookie.replace("PORT", str(phoned.server.server_address[1]))
    )
    assert (status, headers["location"], data) == (303, "/preview/enter", b"")
    assert b"Sedge" not in ask(phoned.server, "/preview/enter")[2]


def test_the_door_has_what_it_needs_to_be_opened(phoned: Phoned) -> None:
    """Its script and its colours are given to whoever asks, and its page asks for nothing else."""
    page = ask(phoned.server, "/preview/enter")[2].decode()
    needed = re.findall(r'(?:src|href)="([^"]*)"', page)
    assert len(needed) == 2
    assert [ask(phoned.server, path)[0] for path in needed] == [200, 200]


def test_the_code_lets_in_once(phoned: Phoned) -> None:
    """With its dash or without, in small letters too; a second time it is a wrong one, and another one is told."""
    code = phoned.server.door.code
    status, cookie = phoned.enter(show_code(code).lower())
    assert status == 204
    assert ask(phoned.server, "/", Cookie=cookie)[0] == 200
    assert phoned.enter(code)[0] == 403
    assert phoned.server.door.code != code
    assert show_code(phoned.server.door.code) in phoned.told[0]
    assert phoned.enter(phoned.server.door.code)[0] == 204
    assert ask(phoned.server, "/", Cookie=cookie)[0] == 200, "the first phone stays"


def test_the_secret_is_kept_from_scripts_and_other_sites(phoned: Phoned) -> None:
    """RFC 6265bis, sections 5.6.6 and 5.6.7; it is no part of the code, and longer than anybody guesses."""
    code = phoned.server.door.code
    headers = ask(phoned.server, "/preview/enter", method="POST", body=code, Origin=phoned.own)[1]
    value, *attributes = headers["set-cookie"].split("; ")
    assert {*attributes} == {"Path=/", "HttpOnly", "SameSite=Strict"}
    assert len(value.partition("=")[2]) >= 43 and code not in value


def test_wrong_codes_close_the_door_and_that_is_told_loudly(phoned: Phoned) -> None:
    """After so many no code is taken, the right one neither; a phone that is in stays in."""
    _, cookie = phoned.enter(phoned.server.door.code)
    phoned.told.clear()
    for n in range(MOST_WRONG):
        assert phoned.told == []
        assert phoned.enter(f"WRONG{n}")[0] == 403
    assert len(phoned.told) == 1 and phoned.told[0].startswith("NO PHONE IS LET IN ANY MORE")
    assert phoned.enter(phoned.server.door.code)[0] == 403
    assert ask(phoned.server, "/", Cookie=cookie)[0] == 200
    assert len(phoned.told) == 1


def test_a_guess_is_hopeless() -> None:
    """So many tries at so many codes: less than one in a thousand million."""
    assert MOST_WRONG / len(LETTERS) ** CODE_LETTERS < 1e-9
    assert len({Door(print).code for _ in range(100)}) == 100
    assert not {*"01OI"} & {*LETTERS}


def test_only_its_own_pages_may_send_something(phoned: Phoned) -> None:
    """Another site's form, or a program that tells no origin: the code is not even looked at."""
    for origin in ({}, {"Origin": "https://example.org"}, {"Origin": "null"}):
        status, _, _ = ask(phoned.server, "/preview/enter", method="POST", body=phoned.server.door.code, **origin)
        assert status == 403
    assert phoned.told == []
    assert ask(phoned.server, "/", Host="example.org")[0] == 421


def test_the_way_in_is_drawn_and_written(phoned: Phoned) -> None:
    """For a camera and for fingers; the code stands behind `#`, where no server is told it by opening the link."""
    shown = show_way_in(phoned.server)
    assert show_code(phoned.server.door.code) in shown and phoned.own in shown
    assert sum(line.count("█") for line in shown.splitlines()) > 100


# ── photos ───────────────────────────────────────────────────────────────────────────────────────────────────────


def send(site: PreviewSite, name: str, data: bytes) -> str:
    return take_photo(site, name, len(data), io.BytesIO(data).read)


def test_a_photo_goes_into_todays_entry(log: Path) -> None:
    """Byte for byte, under a name of ours; the entry's own text stays, and what to write there is said."""
    site = open_site(log)
    text = (log / f"entries/{TODAY}.md").read_bytes()
    words = send(site, "../IMG 0001.PNG", picture())
    assert words == f"In `photos/{TODAY}/`, as `01-img-0001.png`. List it under `photos:` in the entry."
    assert (log / f"photos/{TODAY}/01-img-0001.png").read_bytes() == picture()
    assert (log / f"entries/{TODAY}.md").read_bytes() == text
    site.refresh()
    notice = site.answer("index.html").notice
    assert notice and [problem.rule for problem in notice.problems] == ["unlisted-photo"]


def test_nothing_is_overwritten(log: Path) -> None:
    """One of the same name gets another number, also before the log was read again."""
    site = open_site(log)
    for rows in ("AB/CD", "EF/AB", "CC/DE"):
        send(site, "image.jpg", picture(rows, "JPEG"))
    assert sorted(path.name for path in (log / f"photos/{TODAY}").iterdir()) == [
        "01-image.jpg",
        "02-image.jpg",
        "03-image.jpg",
    ]


REFUSED = {
    "no photo": ("notes.txt", b"words"),
    "no suffix": ("photo", picture()),
    "empty": ("a.png", b""),
    "no picture": ("a.png", b"words"),
    "cut short": ("a.png", picture()[: len(picture()) // 2]),
    "under a wrong suffix": ("a.jpg", picture()),
    "a page": ("a.html", b"<script>alert(1)</script>"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_could_not_be_published_is_not_taken(what: str, log: Path) -> None:
    """By the same rules as any photo; nothing of it stays in the log."""
    with pytest.raises(NotTaken):
        send(open_site(log), *REFUSED[what])
    assert not (log / f"photos/{TODAY}").exists()


def test_a_photo_that_the_log_has_is_not_taken_twice(log: Path) -> None:
    """Wherever it is, and one that came a moment ago too."""
    site = open_site(log)
    with pytest.raises(NotTaken, match=re.escape("is the same file as `photos/2024-05-18-pump/seal.png`")):
        send(site, "a.png", (log / "photos/2024-05-18-pump/seal.png").read_bytes())
    send(site, "a.png", picture())
    with pytest.raises(NotTaken, match=re.escape(f"is the same file as `photos/{TODAY}/01-a.png`")):
        send(site, "b.png", picture())


def test_a_photo_that_is_too_large_or_does_not_come_whole_is_not_taken(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Too large: not a byte of it is read."""
    site = open_site(log)
    with pytest.raises(NotTaken, match="did not arrive complete"):
        take_photo(site, "a.png", len(picture()), io.BytesIO(picture()[:-9]).read)
    monkeypatch.setattr(phone, "LARGEST_PHOTO", 100)
    held = io.BytesIO(picture())
    with pytest.raises(NotTaken, match="at most"):
        take_photo(site, "a.png", len(picture()), held.read)
    assert held.tell() == 0


def test_without_an_entry_of_today_it_is_said_what_to_do(tmp_path: Path) -> None:
    """No entry is made for it, and none of another day is taken instead."""
    log = make_log(tmp_path / "log")
    with pytest.raises(NotTaken, match="There is no entry of 2024-07-01 to put it in: `buildlog write` starts one"):
        send(open_site(log, DAY), "a.png", picture())
    assert [path.name for path in (log / "photos").iterdir()] == ["2024-05-18-pump"]
    assert datetime.date(2024, 7, 1) == DAY


def test_a_photo_is_sent_by_a_phone_that_is_in(phoned: Phoned, log: Path) -> None:
    """Over the network: with the secret and from a page of ours; without either nothing is taken."""
    _, cookie = phoned.enter(phoned.server.door.code)
    assert ask(phoned.server, "/preview/photo?name=a.png", method="POST", body="no", Origin=phoned.own)[0] == 404
    status, _, words = ask(
        phoned.server, "/preview/photo?name=a.png", method="POST", body="no", Origin=phoned.own, Cookie=cookie
    )
    assert (status, b"is not a picture" in words) == (422, True)
    assert ask(phoned.server, "/preview/photo?name=a.png", method="POST", Origin=phoned.own, Cookie=cookie)[0] == 422
    assert not (log / f"photos/{TODAY}").exists()


def test_the_reason_comes_back_however_much_was_sent(phoned: Phoned, log: Path) -> None:
    """What is not wanted of a photo is read all the same, or the connection would break off with the answer on it."""
    (log / f"entries/{TODAY}.md").unlink()
    phoned.site.refresh()
    _, cookie = phoned.enter(phoned.server.door.code)
    status, _, words = ask(
        phoned.server,
        "/preview/photo?name=a.png",
        method="POST",
        body="x" * 5_000_000,
        Origin=phoned.own,
        Cookie=cookie,
    )
    assert (status, words[:25]) == (422, b"There is no entry of 2024")
