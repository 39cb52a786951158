"""False figures that their file gives away itself, where no log is computed again; the page says the same."""

from __future__ import annotations

import pytest

from buildlog.handover.figure_sums import FILE, check_sums
from tests.record.bags import read_memory
from tests.record.false_figures import FALSE, write_false, write_sound


def tell(data: bytes) -> list[str]:
    return [flaw.message for flaw in check_sums(read_memory({FILE: data}))]


def test_sound_figures_of_plans_agree_with_themselves() -> None:
    """Items open, done and dropped; wishes open, ordered and unwanted; a list with two of three ticked."""
    assert tell(write_sound()) == []


@pytest.mark.parametrize("name", FALSE)
def test_a_false_figure_of_plans_is_told(name: str) -> None:
    """Each sum, count, state, day, entry and place of what is open, wanted and ticked, one by one."""
    assert FALSE[name][1] in tell(write_false(name))
