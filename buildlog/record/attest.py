"""What somebody else says of a seal, put beside it: the owner's signature, an authority's time stamp.

Neither is needed, and a seal that is signed or stamped already stays as it is. How a time stamp is made and checked is
left to `stamp`.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.record.external_tools import CHECK_PATIENCE, NoAnswer, Verdict, ask_tool
from buildlog.record.sealing import exchange
from buildlog.record.seals import FOLDER, Seal, name_beside
from buildlog.record.stamp import LARGEST_REPLY, ask_stamp, check_stamp

NAMESPACE = "buildlog"
"What the signature is for; `ssh-keygen` refuses one that was made for anything else."
LARGEST_SIGNATURE = 20_000
"Bytes. Ours: the armour of an RSA signature of 16,384 bits, the largest key that OpenSSH takes, has under 7,000."


def sign(content: bytes, key: Path) -> bytes:
    """The signature over the content by a private key's file, armoured. Raises `NoAnswer`."""
    # By the program and not by a library of ours: it knows agents, hardware keys and passphrases, and the key is never
    # in our memory.
    answer = ask_tool(["ssh-keygen", "-Y", "sign", "-f", str(key), "-n", NAMESPACE], given=content)
    # Looked at as well as the exit code: what is put beside a seal stays there for good.
    if not answer.good or not answer.output.startswith(b"-----BEGIN SSH SIGNATURE-----"):
        help = "give the file of one of your SSH keys, as in `--sign ~/.ssh/id_ed25519`"
        raise NoAnswer(f"`{key}` did not sign: {answer.says}", help)
    return answer.output


def check_signature(content: bytes, signature: bytes) -> Verdict:
    """Whether the signature is over exactly this content, and by which key."""
    # A stranger's file: its size is bounded before another program gets it.
    if len(signature) > LARGEST_SIGNATURE:
        return Verdict(state="fails", says=f"the signature is larger than {LARGEST_SIGNATURE} bytes")
    # The program takes a signature from a file only. It gets a copy of ours, and no path of the bag's.
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "signature"
        path.write_bytes(signature)
        try:
            # Without a list of trusted signers: one that comes with the record is made by whoever made the record. A
            # forger can sign with a key of his own, which is why the key is told, and a change of key is told first.
            command = ["ssh-keygen", "-Y", "check-novalidate", "-n", NAMESPACE, "-s", str(path)]
            answer = ask_tool(command, given=content, patience=CHECK_PATIENCE)
        except NoAnswer as why:
            # A program that is missing here says nothing about the signature.
            return Verdict(state="cannot be checked", says=why.message)
    if not answer.good:
        return Verdict(state="fails", says="the signature is not for these bytes, or is not a signature")
    # Shown and not judged by: another version may word it otherwise, and then too much of its line is shown.
    key = answer.output.decode("utf-8", "replace").strip().rpartition(" with ")[2]
    return Verdict(state="holds", says=f"signed with {key}; ask the owner whose key that is")


@frozen
class Attestation:
    """What became of asking for a signature and a time stamp."""

    says: tuple[str, ...]
    "what stands beside the seal now, a line each"
    problems: tuple[Problem, ...] = ()
    "what does not, and why; the seal stands all the same"

    def __str__(self) -> str:
        return "\n".join(self.says)


def attest_seal(
    folder: Path, seal: Seal, *, key: Path | None = None, address: str | None = None, certificates: Path | None = None
) -> Attestation:
    """Put beside a seal the signature of a private key's file, and the time stamp of the authority at an address.

    `certificates` names a file of the certificates by which that authority is trusted. What is not asked for is left.
    """
    asked: list[tuple[str, Maker]] = []
    if key:
        asked.append(("signature", lambda content: _sign(content, key)))
    if address:
        asked.append(("stamp", lambda content: _stamp(content, address, certificates)))
    told = [_put_beside(folder, seal, what, make) for what, make in asked]
    says = [said for said in told if isinstance(said, str)]
    # Told each time: a date without a stamp is the weakest part of a record, and the easiest to mend today.
    if not (folder / FOLDER / name_beside(seal.number, "stamp")).exists():
        says.append(f"the date {seal.date} is only your word: a time stamp would confirm it (--stamp)")
    return Attestation(says=tuple(says), problems=tuple(said for said in told if isinstance(said, Problem)))


Maker = Callable[[bytes], tuple[dict[str, bytes], str]]
"What makes, for the bytes of a seal's file, the files to put beside it by what they are; and what is to be said."


def _sign(content: bytes, key: Path) -> tuple[dict[str, bytes], str]:
    signature = sign(content, key)
    return {"signature": signature}, check_signature(content, signature).says


def _stamp(content: bytes, address: str, certificates: Path | None) -> tuple[dict[str, bytes], str]:
    authority = _read_certificates(certificates) if certificates else None
    reply = ask_stamp(content, address, authority)
    # The certificates first: a run that is killed in between leaves certificates alone, which are told as such, and no
    # stamp that nobody can check.
    files = {"authority": authority} if authority else {}
    return files | {"stamp": reply}, check_stamp(content, reply, authority).says


def _read_certificates(path: Path) -> bytes:
    with open(path, "rb") as file:
        data = file.read(LARGEST_REPLY + 1)
    if len(data) > LARGEST_REPLY or b"-----BEGIN CERTIFICATE-----" not in data:
        raise NoAnswer(
            f"`{path}` contains no PEM certificates", "ask the authority for its root certificate in PEM form"
        )
    return data


def _put_beside(folder: Path, seal: Seal, what: str, make: Maker) -> str | Problem:
    """Put what is made beside a seal, unless something of the kind stands there; what is to be said of it."""
    place = folder / FOLDER / name_beside(seal.number, what)
    # Never replaced: a buyer may have it already. A link that leads nowhere counts as being there.
    if os.path.lexists(place):
        return f"seal {seal.number} already has a {what}, `{place.name}`: nothing was added"
    try:
        # Over the file as it lies there, and not over a seal that is written again: it is the file that others check.
        files, says = make((folder / FOLDER / seal.name).read_bytes())
        for kind, data in files.items():
            exchange(folder / FOLDER / name_beside(seal.number, kind), data)
    except NoAnswer as why:
        return _tell(seal, what, why.message, why.help)
    except OSError as error:
        return _tell(seal, what, str(error), "check that the file is there and can be written")
    return f"{what} in `{FOLDER}/{place.name}`: {says}"


def _tell(seal: Seal, what: str, message: str, help: str) -> Problem:
    place = Place(f"{FOLDER}/{seal.name}")
    return Problem(rule=f"no-{what}", message=f"no {what}, but the seal was made: {message}", place=place, help=help)
