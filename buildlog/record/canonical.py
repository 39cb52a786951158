"""Which bytes stand for a value: canonical JSON by RFC 8785, so far as the record needs it.

Texts, integers, lists, objects, true, false and null. No fractions: an amount goes in as a text. What the values mean
is left to `seals`.
"""

from __future__ import annotations

import json
from typing import Any, NoReturn

from buildlog.record.limits import DEEPEST_VALUE
from buildlog.record.words import say

LARGEST_INTEGER = 2**53 - 1
"RFC 8785, section 3.2.2.3 by way of RFC 7493, section 2.2: beyond it, readers round."

ENCODER = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"))


class NotCanonical(ValueError):
    """The value has no canonical form here, or the bytes are not in it; the message says why, in lower case."""


def write_canonical(value: object) -> bytes:
    """The one spelling of a value, in UTF-8 without a line end. Raises `NotCanonical`.

    Keys stand in the order of their UTF-16 code units (RFC 8785, section 3.2.3), nothing stands between tokens, and a
    text is spelled as in section 3.2.2.2, which is how the standard library spells it with `ensure_ascii` off.
    """
    try:
        return ENCODER.encode(_order(value, DEEPEST_VALUE)).encode()
    except UnicodeEncodeError:
        raise NotCanonical("a text contains half of a surrogate pair") from None


def read_canonical(data: bytes, *, most: int | None = None) -> Any:
    """The value that these bytes are the one spelling of. Raises `NotCanonical`, for any bytes at all.

    Of more than `most` values none is read: each takes far more memory than the signs that it is written with.
    """
    # Counted in the bytes, before anything is built of them. Signs inside texts count too: more than there are, never
    # fewer.
    if most is not None and sum(map(data.count, (b",", b"[", b"{"))) > most:
        raise NotCanonical(say("too-many-values", most=most))
    try:
        value = json.loads(data.decode(), parse_float=_refuse_number, parse_constant=_refuse_number)
    except UnicodeDecodeError:
        raise NotCanonical("this is not UTF-8") from None
    except RecursionError:
        raise NotCanonical("lists and objects are nested too deeply") from None
    except json.JSONDecodeError as error:
        raise NotCanonical(f"this is not JSON at character {error.pos + 1}") from None
    except NotCanonical:
        raise
    except ValueError:  # the standard library refuses integers of thousands of digits
        _refuse_number("")
    # Written again and compared, as no list of rules would be complete: doubled keys, escapes, blanks and `-0` all end
    # here. So one value has one hash, and no two readers see different values in the same bytes.
    if write_canonical(value) != data:
        raise NotCanonical("this is JSON, but not in its canonical form")
    return value


def _order(value: object, depth: int) -> object:
    """The value with its keys in order; whatever is not of our few kinds is refused."""
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, int):
        # JavaScript, which reads the same files, has no larger ones.
        if abs(value) > LARGEST_INTEGER:
            raise NotCanonical("an integer is too large to be read the same everywhere")
        return value
    if depth == 0:
        raise NotCanonical("lists and objects are nested too deeply")
    if isinstance(value, list | tuple):
        return [_order(item, depth - 1) for item in value]
    if isinstance(value, dict):
        return {key: _order(value[key], depth - 1) for key in _sort_keys(value)}
    raise NotCanonical(f"a value of the kind `{type(value).__name__}` does not belong in the record")


def _sort_keys(value: dict[Any, Any]) -> list[str]:
    """The keys by their UTF-16 code units, which go another way than characters beyond U+FFFF."""
    if not all(isinstance(key, str) for key in value):
        raise NotCanonical("a key is not text")
    # The common case; the order is the same there, and an encoding for each key is saved.
    if "".join(value).isascii():
        return sorted(value)
    return sorted(value, key=lambda key: key.encode("utf-16-be", "surrogatepass"))


def _refuse_number(text: str) -> NoReturn:
    raise NotCanonical("a number is not an integer within 2^53 of zero")
