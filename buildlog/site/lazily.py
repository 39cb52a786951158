"""Values by name that are made when they are first asked for, so that nobody waits for what is not needed yet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Generic, TypeVar

Value = TypeVar("Value")


class Lazily(Mapping[str, Value], Generic[Value]):
    """A mapping whose names are known and whose values are made once each, in the order in which they are asked for."""

    def __init__(self, names: Iterable[str], make: Callable[[str], Value]) -> None:
        self._names = dict.fromkeys(names)
        self._make = make
        self._made: dict[str, Value] = {}

    def __getitem__(self, name: str) -> Value:
        if name not in self._made:
            if name not in self._names:
                raise KeyError(name)
            self._made[name] = self._make(name)
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)
