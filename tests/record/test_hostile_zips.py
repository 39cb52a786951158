"""Every hostile zip is refused, or the file in it that is wrong named, by the rule that its defect breaks."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildlog.handover.findings import leave_open
from buildlog.handover.verify import RECOMPUTED, verify_bag
from tests.record.hostile_zips import SHAPES, make


@pytest.mark.parametrize("name", SHAPES)
def test_a_hostile_zip_is_told_by_its_rule(tmp_path: Path, name: str) -> None:
    """The first question fails by the rule in the table, by no other; a shape without harm holds."""
    path = tmp_path / "bag.zip"
    path.write_bytes(make(name))
    report = verify_bag(path, lambda path, handover: {key: leave_open(key, "") for key in RECOMPUTED})
    files = report.findings[0]
    rules = {flaw.rule for flaw in files.flaws}
    wanted = SHAPES[name][0]
    if wanted == "no-bag":
        assert wanted in rules
    else:
        assert rules - {"oxum"} == ({wanted} if wanted else set())
    assert files.state == ("fails" if wanted else "holds")
    assert list(tmp_path.iterdir()) == [path]
