"""Whether each value that is kept comes back as it was, and nothing else comes back."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.kept.store import Store
from buildlog.kept.values import (
    PACKED_TOGETHER,
    KeptIndex,
    KeptPage,
    KeptSite,
    KeptTold,
    decode,
    encode,
    pack_site,
    unpack_site,
)
from buildlog.kept.work import READINGS, StoredReadings
from buildlog.read.files import LogFiles
from buildlog.read.reader import KeptReadings, read_files
from buildlog.read.records import Entry, Log
from tests.random_logs import logs
from tests.whole_log import list_classes, read_whole

EntryReading = READINGS["entries"]


def spell(value: Any) -> Any:
    """A value with every field of it, those that do not count for comparing too, and with the class of each."""
    if is_dataclass(value):
        return type(value), {each.name: spell(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, MappingProxyType):
        return MappingProxyType, [(key, spell(one)) for key, one in value.items()]
    if isinstance(value, tuple):
        return type(value), [spell(one) for one in value]
    return type(value), str(value) if not isinstance(value, frozenset) else sorted(value)


def read_texts(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.md"))}


def list_kinds(value: Any) -> set[type]:
    """The classes of all values in one."""
    if is_dataclass(value):
        return {type(value)}.union(*(list_kinds(getattr(value, each.name)) for each in fields(value)))
    if isinstance(value, MappingProxyType):
        return set().union(*map(list_kinds, value.values()))
    return set().union(*map(list_kinds, value)) if isinstance(value, tuple) else set()


def test_a_log_with_every_field_comes_back(tmp_path: Path) -> None:
    """Each record class, with a value in each of its fields, out of the file: equal, of the same classes, closed."""
    whole = read_whole()
    whole.write(tmp_path / "log")
    texts = LogFiles(
        settings=(tmp_path / "log/log.yaml").read_text(encoding="utf-8"),
        entries=read_texts(tmp_path / "log/entries"),
        pages=read_texts(tmp_path / "log/pages"),
    )
    first, again = Store(tmp_path, b"program"), Store(tmp_path, b"program")
    read = read_files(texts, kept=StoredReadings(first))
    first.close()
    kept = StoredReadings(again)
    assert kept.find(texts.texts()).keys() == texts.texts().keys()
    assert spell(read_files(texts, kept=StoredReadings(again))) == spell(read)
    assert read.log is not None
    assert list_kinds((read.log.settings, *read.log.entries, *read.log.pages)) >= {*list_classes()}


@settings(max_examples=60)
@given(logs)
def test_entries_at_random_come_back(log: Log) -> None:
    for entry in log.entries:
        written = encode((entry, ((), (), ())))
        kept = decode(EntryReading, written)
        assert spell(kept) == spell((entry, ((), (), ())))


@settings(max_examples=60)
@given(logs, st.data())
def test_what_is_cut_or_of_another_class_is_none(log: Log, data: st.DataObject) -> None:
    """Never half a value: what is not whole, or has a field too few, is no value."""
    for entry in log.entries[:1]:
        written = encode((entry, ((), (), ())))
        assert decode(EntryReading, written[: data.draw(st.integers(0, len(written) - 1))]) is None
        assert decode(Entry, written) is None
        assert decode(EntryReading, encode((log.settings, ((), (), ())))) is None


def test_what_is_no_plain_data_is_not_kept() -> None:
    """Nothing that would have to be executed to come back."""
    with pytest.raises(TypeError):
        encode(lambda: None)


def test_readings_in_memory_and_in_the_file_are_known_alike(tmp_path: Path) -> None:
    """Texts that change and change back: the signs are those of the texts that are there now."""
    head = "---\ndate: 2024-05-18\ntitle: {}\n---\n{}"
    settings = "machine: {name: M, kind: road vehicle, meter: {unit: km, digits: 6}}\nmoney: {currency: GBP}\n"
    store = Store(tmp_path, b"program")
    kept = StoredReadings(store)
    signs = []
    for title, story in (("A", "x"), ("A", "y"), ("B", "y"), ("A", "x")):
        files = LogFiles(settings=settings, entries={"2024-05-18-e.md": head.format(title, story)})
        assert read_files(files, kept=kept) == read_files(files, kept=KeptReadings())
        signs.append(kept.signs["entries/2024-05-18-e.md"])
    assert signs[0] == signs[1] == signs[3] != signs[2]


def make_site(pages: int, digest: bytes = b"1" * 20) -> KeptSite:
    """A site of so many pages, each of which looked at the same thing and at one of its own."""
    kept = {
        f"{n}.html": KeptPage(digest=digest, things=(f"photo {n}", "story html a"), view=b"v", story=(1, 2))
        for n in range(pages)
    }
    things = {"story html a": b"2" * 20, **{f"photo {n}": digest for n in range(pages)}}
    index = KeptIndex(count=3, things=("photo 1", "story html a"), told=(KeptTold(name="a", said="w", story=b"s"),))
    return KeptSite(
        key=b"key",
        statics={"theme/type.css": b"t"},
        papers=frozenset({"papers/a.pdf"}),
        pages=kept,
        index=index,
        things=things,
    )


@pytest.mark.parametrize("pages", [2, PACKED_TOGETHER, 2 * PACKED_TOGETHER + 1])
def test_what_is_kept_of_a_site_comes_back(pages: int) -> None:
    """Whole, in few pieces, its pages in their order."""
    site = make_site(pages)
    pieces = dict(enumerate(pack_site(site)))
    assert len(pieces) == 1 + -(-pages // PACKED_TOGETHER)
    read = unpack_site(pieces.get)
    assert read is not None and spell(read) == spell(site)


def test_pieces_of_two_sites_are_none() -> None:
    """As two runs may leave them, or one that was ended between two pieces; nor is one without a piece a site."""
    site, other = (dict(enumerate(pack_site(make_site(PACKED_TOGETHER + 1, digest)))) for digest in (b"1", b"2"))
    for number in site:
        assert unpack_site({**site, number: other[number]}.get) is None
        assert unpack_site({one: piece for one, piece in site.items() if one != number}.get) is None
        assert unpack_site({**site, number: site[number][:-1]}.get) is None
