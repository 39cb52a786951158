"""The oracle of all that is kept: a publish with it gives the bytes and the problems of one without, whatever happened.

`BUILDLOG_SEQUENCES=20000` tries so many sequences, others each time; else there are 300, always the same, which take
less than two minutes on two cores. With `BUILDLOG_NO_SHRINK=1` the first that fails is shown as it is, which is soon:
good for looking whether a key that was broken on purpose is noticed.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.kept.steps import draw_first_world, sequences
from tests.kept.world import Step, close_zygote, published, refused, unchanged

SEQUENCES = int(os.environ.get("BUILDLOG_SEQUENCES", "300"))
PHASES = [Phase.generate] if os.environ.get("BUILDLOG_NO_SHRINK") else [Phase.explicit, Phase.generate, Phase.shrink]
PARTS = 4
"As many tests as share the sequences, so that all processors have some."


@pytest.fixture(scope="module", autouse=True)
def impatient() -> Iterator[None]:
    """Who waits for another run's lock waits for a moment only, and the process that runs are forked from ends."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("buildlog.kept.store.PATIENCE_S", 0.2)
        patch.setattr("buildlog.kept.store.MOST_HELD", 20_000)
        yield
    close_zygote()


@pytest.mark.parametrize("part", range(PARTS))
def test_what_is_kept_never_shows(part: int) -> None:
    """Any sequence of edits, days, options, damage, kills and other runs: each publish is as if it were the first."""

    @settings(
        max_examples=SEQUENCES // PARTS,
        suppress_health_check=list(HealthCheck),
        database=None,
        report_multiple_bugs=False,
        phases=PHASES,
    )
    @given(sequences)
    def check(sequence: list[list[Step]]) -> None:
        with tempfile.TemporaryDirectory() as name, pytest.MonkeyPatch.context() as patch:
            patch.setenv("XDG_CACHE_HOME", f"{name}/cache")
            world = draw_first_world(Path(name))
            assert world.compare() == ""
            for steps in sequence:
                for step in steps:
                    world.do(step)
                assert world.compare() == "", steps

    if "BUILDLOG_SEQUENCES" not in os.environ:
        check = seed(part)(check)
    before = unchanged[0], published[0], refused[0]
    check()
    looks, sites, errors = unchanged[0] - before[0], published[0] - before[1], refused[0] - before[2]
    assert looks > sites / 4, "a look was seldom enough, and so was seldom tried"
    assert sites > errors, "most logs had an error, and proved little"
