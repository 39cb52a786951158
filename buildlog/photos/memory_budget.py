"""How much memory decoded pictures may take at one time, over all threads."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

CAPACITY = 48 << 20
"Bytes: two phone photos of twelve megapixels that are decoded at half their size, with room to spare; one in full."


class MemoryBudget:
    """Lets work begin while there is room for it; what is larger than all the room is done when nothing else is."""

    def __init__(self, capacity: int = CAPACITY) -> None:
        self._capacity = capacity
        self._taken = 0
        self._changed = threading.Condition()

    @contextmanager
    def hold(self, size: int) -> Iterator[None]:
        """Hold so many bytes, as soon as they are there."""
        with self._changed:
            self._changed.wait_for(lambda: not self._taken or self._taken + size <= self._capacity)
            self._taken += size
        try:
            yield
        finally:
            with self._changed:
                self._taken -= size
                self._changed.notify_all()
