"""What `tests/fresh_machine` runs is what the README tells its reader to type. By hand: that it ends well there."""

from __future__ import annotations

import subprocess
from pathlib import Path

TOP = Path(__file__).parent.parent.parent


def test_it_runs_the_commands_of_the_readme() -> None:
    """The first publishes the example out of a fresh environment, the second tests; neither is repeated there."""
    script = TOP / "tests" / "fresh_machine"
    publish, test = subprocess.run([script, "--list"], capture_output=True, text=True, check=True).stdout.splitlines()
    readme = (TOP / "README.md").read_text(encoding="utf-8").splitlines()
    assert {f"    {publish}", f"    {test}"} <= {*readme}
    assert "buildlog publish example_project" in publish and test == "tests/run"
    assert publish not in script.read_text(encoding="utf-8")
