"""What a text says, kept by its path and its bytes, from one run to the next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from buildlog.kept.store import Store, hash_parts
from buildlog.kept.values import decode, encode
from buildlog.problems import Problem
from buildlog.read.bind import Named
from buildlog.read.files import PAGES
from buildlog.read.misfits import Hole
from buildlog.read.reader import KeptReadings, TextReading
from buildlog.read.records import Entry, Settings, StandingPage

Around = tuple[tuple[Problem, ...], tuple[Hole, ...], tuple[Named, ...]]
"What is told of a text beside its record."
READINGS = {
    "log.yaml": tuple[Settings | None, Around],
    PAGES: tuple[StandingPage | None, Around],
    "entries": tuple[Entry | None, Around],
}
"By the first part of a path, as no value says of which class it is."
SIGN_BYTES = len(hash_parts())


class StoredReadings(KeptReadings):
    """Readings of the last log in memory, and of others in a store."""

    def __init__(self, store: Store) -> None:
        super().__init__()
        self._store = store
        self._signs: dict[str, tuple[str, bytes]] = {}

    @property
    def signs(self) -> dict[str, bytes]:
        """What each text of the last log says but for its story, as a digest by path: no figure is made of more."""
        return {path: sign for path, (_, sign) in self._signs.items()}

    def find(self, texts: Mapping[str, str]) -> dict[str, TextReading]:
        """What is known of some texts, by their paths."""
        found = super().find(texts)
        keys = {path: self._find_key(path, text) for path, text in texts.items() if path not in found}
        rows = self._store.find(keys.values())
        for path, key in keys.items():
            reading = _read_row(path, rows[key][SIGN_BYTES:]) if key in rows else None
            if reading is not None:
                found[path] = reading
                self._signs[path] = texts[path], rows[key][:SIGN_BYTES]
        return found

    def keep(self, texts: Mapping[str, str], readings: Mapping[str, TextReading]) -> None:
        """Take up what all texts of a log say."""
        super().keep(texts, readings)
        known = {path: sign for path, (text, sign) in self._signs.items() if texts.get(path) == text}
        self._signs = {
            path: (text, known.get(path) or self._write(path, text, readings[path])) for path, text in texts.items()
        }

    def _write(self, path: str, text: str, reading: TextReading) -> bytes:
        around = reading.problems, reading.holes, reading.named
        record = reading.record
        bare = replace(record, body="") if isinstance(record, Entry | StandingPage) else record
        sign = hash_parts(encode((bare, around)))
        self._store.keep({self._find_key(path, text): sign + encode((record, around))})
        return sign

    def _find_key(self, path: str, text: str) -> bytes:
        return self._store.make_key("reading", path, text)


def _read_row(path: str, data: bytes) -> TextReading | None:
    kept = decode(READINGS[path.partition("/")[0]], data)
    if kept is None:
        return None
    record, (problems, holes, named) = kept
    return TextReading(record=record, problems=problems, holes=holes, named=named)
