"""Whether whoever holds a key signed a seal: SSH signatures by `ssh-keygen -Y`, namespace `buildlog`.

The format is OpenSSH's own (PROTOCOL.sshsig); reading and writing it is left to `ssh-keygen`. Whose key it is can only
be said by somebody who knows the owner: a fingerprint is told, no name.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from buildlog.record.stock_tools import CHECK_PATIENCE, NoAnswer, Verdict, ask_tool

NAMESPACE = "buildlog"
"What the signature is for; `ssh-keygen` refuses one that was made for anything else."
LARGEST_SIGNATURE = 20_000
"Bytes. Ours: the armour of an RSA signature of 16,384 bits, the largest key that OpenSSH takes, has under 7,000."


def sign(content: bytes, key: Path) -> bytes:
    """The signature over the content by a private key's file, armoured. Raises `NoAnswer`."""
    answer = ask_tool(["ssh-keygen", "-Y", "sign", "-f", str(key), "-n", NAMESPACE], given=content)
    if not answer.good or not answer.output.startswith(b"-----BEGIN SSH SIGNATURE-----"):
        help = "name the file of an SSH key of yours, as in `--sign ~/.ssh/id_ed25519`"
        raise NoAnswer(f"`{key}` did not sign: {answer.says}", help)
    return answer.output


def check_signature(content: bytes, signature: bytes) -> Verdict:
    """Whether the signature is over exactly this content, and by which key."""
    if len(signature) > LARGEST_SIGNATURE:
        return Verdict(state="fails", says=f"the signature is larger than {LARGEST_SIGNATURE} bytes")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "signature"
        path.write_bytes(signature)
        try:
            command = ["ssh-keygen", "-Y", "check-novalidate", "-n", NAMESPACE, "-s", str(path)]
            answer = ask_tool(command, given=content, patience=CHECK_PATIENCE)
        except NoAnswer as why:
            return Verdict(state="cannot be checked", says=why.message)
    if not answer.good:
        return Verdict(state="fails", says="the signature is not over these bytes, or is none")
    key = answer.output.decode("utf-8", "replace").strip().rpartition(" with ")[2]
    return Verdict(state="holds", says=f"signed with {key}; whose key that is, ask the owner")
