"""Where pages lie from their making until they are written: all of them together would take a lot of memory."""

from __future__ import annotations

import tempfile
import weakref
from typing import IO

from buildlog.kept.store import hash_content
from buildlog.output.write import Foreseen


class Spool:
    """A file without a name, which the system removes with this process."""

    def __init__(self) -> None:
        self._file: IO[bytes] | None = None
        self._end = 0

    def lay(self, content: bytes) -> Foreseen:
        """A page laid there; where the disk takes nothing it stays in memory."""
        start, length = self._end, len(content)
        if not self._write(content):
            return Foreseen(digest=hash_content(content), remake=lambda: content, ready=True)
        self._end += length
        return Foreseen(digest=hash_content(content), remake=lambda: self._read(start, length), ready=True)

    def _write(self, content: bytes) -> bool:
        try:
            if self._file is None:
                self._file = tempfile.TemporaryFile(buffering=0)  # noqa: SIM115  # open until the last page is let go
                weakref.finalize(self, self._file.close)
            self._file.seek(self._end)
            return self._file.write(content) == len(content)
        except OSError:
            return False

    def _read(self, start: int, length: int) -> bytes:
        assert self._file
        self._file.seek(start)
        return self._file.read(length)
