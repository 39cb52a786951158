"""What `ssh-keygen` answers: the tool by which a stranger checks signatures, and so do we; and what becomes of a check.

A signature is a stranger's file: it is handed to the tool in a folder of its own. Whether it holds is told by the
tool's exit code; what the tool says of it is cut short, shown, and never decides anything.
"""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from typing import Literal

from buildlog.frozen import frozen

PATIENCE = 300
"Seconds that a tool may take; a passphrase may be asked for."
CHECK_PATIENCE = 10
"Seconds that a tool may take over a stranger's file; it takes a hundredth of one."
LONGEST_SAYING = 300
"Characters of what a tool says that are passed on."


class NoAnswer(Exception):
    """A tool or an authority did not do what was asked of it; the message says why, `help` what to do."""

    def __init__(self, message: str, help: str) -> None:
        super().__init__(message)
        self.message = message
        "what is wrong: lower case, no full stop, values in backticks"
        self.help = help
        "what to do instead"


@frozen
class Answer:
    """How a tool ended."""

    good: bool
    "whether it ended with exit code 0"
    output: bytes
    "what it wrote on standard output"
    says: str
    "the last line of what it wrote on standard error, or else on standard output"


@frozen
class Verdict:
    """What became of checking a signature or a time stamp."""

    state: Literal["holds", "fails", "cannot be checked"]
    "the last where a program or a certificate is missing: nothing speaks against it, and nothing for it"
    says: str
    "what holds, or why it does not: lower case, no full stop"


def ask_tool(command: Sequence[str], *, given: bytes = b"", patience: float = PATIENCE) -> Answer:
    """Run a tool to its end, `given` on its standard input. Raises `NoAnswer` where it is missing or never ends."""
    try:
        # A list and no shell: nothing in a path or a name can become a command.
        done = subprocess.run(command, input=given, capture_output=True, timeout=patience, check=False)
    except FileNotFoundError:
        raise NoAnswer(f"`{command[0]}` is not installed", f"install {PACKAGES[command[0]]}") from None
    except (OSError, subprocess.TimeoutExpired) as error:
        raise NoAnswer(f"`{command[0]}` did not finish: {error}", "try again") from None
    # The last line: what went wrong stands at the end, and standard error comes behind standard output.
    lines = (done.stdout + b"\n" + done.stderr).decode("utf-8", "replace").split("\n")
    says = next((line.strip() for line in reversed(lines) if line.strip()), f"exit code {done.returncode}")
    return Answer(good=done.returncode == 0, output=done.stdout, says=says[:LONGEST_SAYING])


PACKAGES = {"ssh-keygen": "OpenSSH"}
