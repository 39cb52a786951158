"""Which part a record names, or what is wrong with the name; the parts themselves are known to `parts.names`."""

from __future__ import annotations

from buildlog.problems import Problem, suggest
from buildlog.reckon.parts.names import ORIGINAL, PartNames, original_key, plain_name
from buildlog.source.records import Record


def find_named(names: PartNames, record: Record, part: str, *, name: str | None = None, spot: str) -> str | Problem:
    """The key of the part that a record names, or the problem with it.

    `part` is what was written, `name` the name of an original, `spot` the field to point at.
    """
    if part == ORIGINAL:
        return _find_original(names, record, name)
    if part in names.keys:
        return names.keys[part]
    known = [key for key in names.keys if not names.parts[names.keys[key]].original]
    own = "{part: original, name: " + plain_name(part) + "}"
    return Problem(
        rule="unknown-part",
        message=f"there is no part `{part}`: no order of this log brought one",
        place=record.spot(spot),
        help=suggest(part, known) or f"add the order that it came from; one of the machine's own is `{own}`",
    )


def _find_original(names: PartNames, record: Record, name: str | None) -> str | Problem:
    if not name:
        return Problem(
            rule="original-without-name",
            message="`original` alone does not say which of the machine's own parts it is",
            place=record.spot("part"),
            help="{part: original, name: Lift pump}",
        )
    if (key := original_key(name)) in names.parts:
        return key
    known = [part.name for part in names.parts.values() if part.original]
    return Problem(
        rule="unknown-part",
        message=f"no original `{name}` was taken off in this log",
        place=record.spot("name"),
        help=suggest(name, known) or "tell where it came off: removed: {part: original, name: " + name + "}",
    )
