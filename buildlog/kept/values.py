"""Frozen values as bytes and back: plain data alone, told apart by the fields of their classes and never executed.

A value is written as MessagePack, field by field, and read back by the annotations of its class: a field that is
missing or of another type makes it unreadable, and what is unreadable is worked out anew. Nothing is written for a
class by hand, so that a new key of a record needs nothing here.
"""

from __future__ import annotations

from functools import cache
from types import MappingProxyType
from typing import Any

import msgspec


def encode(value: Any) -> bytes:
    """A value of frozen classes, tuples, mappings and plain values."""
    return ENCODER.encode(value)


def decode(kind: Any, data: bytes) -> Any:
    """The value, of the class or annotation that it was written as; None where these bytes are none of it."""
    try:
        return find_decoder(kind).decode(data)
    except (msgspec.MsgspecError, ValueError, TypeError):
        return None


@cache
def find_decoder(kind: Any) -> msgspec.msgpack.Decoder[Any]:
    """Made once for each: it looks up the annotations of all classes that are in it."""
    return msgspec.msgpack.Decoder(kind)


def _open(value: Any) -> Any:
    if isinstance(value, MappingProxyType):
        return dict(value)
    raise TypeError(f"a {type(value).__name__} cannot be kept")


ENCODER = msgspec.msgpack.Encoder(enc_hook=_open)
