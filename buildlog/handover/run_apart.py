"""How a stranger's log is computed again within bounds: in a process of its own, stopped when it takes too much.

What is computed is left to `recompute`; `python -m buildlog.handover.run_apart` prints it as JSON. It is given on its
standard input what `verify` has found and kept of the bag (`hashed_bag`), lists no folder and no zip, and opens little
but photos, which count only as the bytes that `verify` has seen.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, BinaryIO

from buildlog.handover.bag import PAYLOAD
from buildlog.handover.findings import Finding, Flaw, leave_open
from buildlog.handover.hashed_bag import unpack_bag
from buildlog.handover.manifest import LIST, Handover, read_list
from buildlog.handover.recompute import recheck_each
from buildlog.handover.verify import RECOMPUTED
from buildlog.record.rules import LARGEST_LIST
from buildlog.runs import prepare_python

PATIENCE = 70
"Seconds: 2,000 entries take ten. With all else that `verify` does it stays within two minutes."
MOST_MEMORY = 600_000_000
"Bytes of address space of the process that computes: 2,000 entries take 250 million. All else stays within a gigabyte."

OUT_OF_MEMORY = 9
"Exit code of the process that computes where its memory did not do; the one of Python's own faults is 1."
ENDED = "it could not be finished: its process ended before it had an answer"
ENDS = {OUT_OF_MEMORY: "it could not be finished: it needed more memory than it is allowed"}
"How an exit code is told; what Python prints of its faults is for nobody who checks a bag."


UNHURRIED = "--no-time-limit"
"Has all pictures compared, and nothing stopped for the time that it takes."


def recheck_apart(packed: BinaryIO, handover: Handover, *, unhurried: bool = False) -> Mapping[str, Finding]:
    """The answers to the questions in `RECOMPUTED`, computed elsewhere; what was stopped cannot be checked.

    `unhurried` sets no limit on the time.
    """
    options = [UNHURRIED] if unhurried else []
    seconds = None if unhurried else PATIENCE
    return run_python("-m", "buildlog.handover.run_apart", *options, given=packed, seconds=seconds)


def run_python(*arguments: str, given: BinaryIO, seconds: float | None = None) -> Mapping[str, Finding]:
    """The answers that a call of Python prints in so many seconds; None: however long it takes."""
    command, environment = prepare_python(*arguments)
    try:
        done = subprocess.run(command, stdin=given, capture_output=True, timeout=seconds, env=environment, check=False)
    # Killed from outside: a reader that hangs in a library written in C hears nothing from inside.
    except subprocess.TimeoutExpired as stopped:
        why = f"it took longer than {seconds} seconds and was stopped (with `{UNHURRIED}` it is not)"
        return _read_findings(stopped.output or b"", why)
    except OSError as error:
        return _read_findings(b"", f"the program that computes could not be started: {error.strerror}")
    return _read_findings(done.stdout, ENDS.get(done.returncode, ENDED))


def _read_findings(printed: bytes, why: str) -> dict[str, Finding]:
    """The answers that were finished, one a line; of the others, why they were not."""
    # Whole lines alone: the last one may have been cut in two.
    found = [_read_finding(json.loads(line)) for line in printed.splitlines(keepends=True) if line.endswith(b"\n")]
    return {key: leave_open(key, why) for key in RECOMPUTED} | {finding.key: finding for finding in found}


def _read_finding(value: dict[str, Any]) -> Finding:
    flaws, notes = (tuple(Flaw(**one) for one in value[name]) for name in ("flaws", "notes"))
    asks = None if value["asks"] is None else tuple(Flaw(**one) for one in value["asks"])
    plain = {name: value[name] for name in ("key", "state", "says", "absent", "part")}
    return Finding(**plain, flaws=flaws, notes=notes, asks=asks)


def main() -> None:
    """Print the answers for the bag that is given as JSON, one a line as soon as it is known, within bounds."""
    # Before a byte of the bag is read. Where a system knows no bound, time still ends the process.
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    try:
        bag = unpack_bag(sys.stdin.buffer)
        handover = read_list(bag.read(PAYLOAD + LIST, LARGEST_LIST))
        for finding in recheck_each(bag, handover, unhurried=UNHURRIED in sys.argv[1:]):
            print(json.dumps(asdict(finding)), flush=True)
    except MemoryError:
        sys.exit(OUT_OF_MEMORY)


if __name__ == "__main__":
    main()
