"""That whoever kills a sealing, a publishing or a handover at any event loses nothing and is deceived about nothing."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
TIMES = {"seal": 110, "publish": 50, "folder": 20, "zip": 20}
"200 in all."


@pytest.mark.parametrize("command", TIMES)
def test_killed_at_random_events(command: str, tmp_path: Path) -> None:
    """What stood before is whole, or says that it is unfinished; the next run ends, byte for byte, as one that nothing
    disturbed; and no file of the owner's is touched. Killed at once, and in the midst of a file.
    """
    arguments = [command, str(TIMES[command]), "20240518", str(tmp_path)]
    command_line = [sys.executable, "-m", "tests.record.kills", *arguments]
    done = subprocess.run(command_line, cwd=TOP, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    killed, cut = map(int, done.stdout.split())
    assert killed + cut == TIMES[command] and killed >= 5 and cut >= 5
