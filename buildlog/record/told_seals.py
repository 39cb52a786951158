"""What CHECK.md needs to know of the seals of a bag: which are signed, by which keys, and which are stamped, when.

Read from the files themselves, without any tool, so that the same seals give the same words everywhere; whether they
hold is for `signature` and `stamp`.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Mapping

from buildlog.record.check_text import SIGNER, SealTold
from buildlog.record.said_beside import read_key_blob, read_stamp_words
from buildlog.record.seals import BESIDE, Seal, name_beside
from buildlog.record.signature import NAMESPACE


def tell_seals(seals: Iterable[Seal], files: Mapping[str, bytes]) -> tuple[SealTold, ...]:
    """Each seal with what lies beside it; `files` are those of `seals/` by name."""
    return tuple(
        SealTold(
            seal=seal,
            signed=name_beside(seal.number, "signature") in files,
            stamped_at=_read_time(files.get(name_beside(seal.number, "stamp"))),
            has_authority=name_beside(seal.number, "authority") in files,
        )
        for seal in seals
    )


def _read_time(reply: bytes | None) -> int | None:
    time = read_stamp_words(reply)[0] if reply is not None else None
    return None if time is None else int(time.timestamp())


def list_signers(files: Mapping[str, bytes]) -> bytes:
    """The keys of all signatures in `files`, each once, as `ssh-keygen -Y verify` reads them; nothing without one."""
    found = {read_key_blob(data): None for name, data in sorted(files.items()) if name.endswith(BESIDE["signature"])}
    return b"".join(_write_signer(blob) for blob in found if blob)


def _write_signer(blob: bytes) -> bytes:
    """One line (ssh-keygen(1), ALLOWED SIGNERS); the blob begins with its kind as a string (RFC 4253, section 6.6)."""
    kind = blob[4 : 4 + int.from_bytes(blob[:4], "big")]
    if not kind.isascii() or not all(chr(byte).isalnum() or chr(byte) in "-@." for byte in kind):
        return b""
    return b'%s namespaces="%s" %s %s\n' % (SIGNER.encode(), NAMESPACE.encode(), kind, base64.b64encode(blob))
