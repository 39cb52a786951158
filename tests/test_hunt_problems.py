"""What an owner can get wrong in a hunt, as `buildlog check` tells it: one problem each, where, and what is right."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support import read_heads
from tests.test_cli import make_log, run

SETTINGS = """\
machine: {name: Test machine, meter: mi}
money: {currency: GBP}
systems: {fuel: Fuel}
components:
  pump: {system: fuel, reached_by: cover}
  hose: {system: fuel}
strip_downs:
  tray: {name: Tray, hours: 1}
  cover: {name: Cover, hours: 1, after: [tray]}
site: {id: test machine}
"""
CIRCLE = SETTINGS.replace("Tray, hours: 1", "Tray, hours: 1, after: [cover]")
NAMED = "faults: {fault: hot, name: Hot, suspects: [pump, hose]}"
PROVED = "checks: {fault: hot, did: Gauge, cause: pump}\nfixed: {fault: hot, how: New pump, proved: ran an hour}"
CLEARED = "checks: {fault: hot, did: Clear hose, clears: [hose]}"
BAR = "measured: {what: Compression, unit: bar, value: 28}"

ERRORS = [
    pytest.param(
        SETTINGS,
        ["faults: {fault: hot, name: Hot, suspects: [pmp, hose]}"],
        "entries/e1.md:4:44: error: there is no component `pmp` in `log.yaml` [unknown-component]",
        "did you mean `pump`?",
        id="an unknown component",
    ),
    pytest.param(
        CIRCLE,
        [NAMED],
        "log.yaml:9:42: error: strip-downs wait for each other, so none can come off first: "
        "`tray` before `cover`, `cover` before `tray` [strip-down-circle]",
        "remove `tray` from the `after:` of `cover`, or break the circle elsewhere",
        id="a cycle among strip-downs",
    ),
    pytest.param(
        SETTINGS,
        ["measured: {what: Compression, unit: bar, value: 25, limits: {min: 30, max: 20}}"],
        "entries/e1.md:4:67: error: the minimum for `Compression`, `30`, is above the maximum, `20` [limits-reversed]",
        "write `limits: {min: 20, max: 30}` if they were swapped",
        id="a min that exceeds its max",
    ),
    pytest.param(
        SETTINGS,
        [BAR, BAR.replace("bar", "V")],
        "entries/e2.md:4:37: error: `Compression` is measured in `V`, a voltage, but was in `bar` [unit-kind]",
        "use a unit of the same kind as `bar`, or give one of the two a different name",
        id="a unit of the wrong kind, measured",
    ),
    pytest.param(
        SETTINGS,
        ["tightened: {what: Pump bolts, to: 22 bar}"],
        "entries/e1.md:4:35: error: `22 bar` is a pressure, but a fastener is tightened to a torque [unit-kind]",
        "write the torque as the manual gives it, as in `22 N·m` or `16 lbf·ft`, or an angle, as in `90°`",
        id="a unit of the wrong kind, tightened",
    ),
    pytest.param(
        SETTINGS,
        ["tightened: {what: Wheel nuts, to: 110 N·m, recheck: {after: 5 h}}"],
        "entries/e1.md:4:61: error: `Wheel nuts` is to be rechecked after `5 h`, but the meter is in `mi` "
        "[recheck-unit]",
        "use the meter's unit, or days, as in `30 days`",
        id="a unit of the wrong kind, to be checked again",
    ),
]
WARNINGS = [
    pytest.param(
        [f"{NAMED}\n{PROVED}", CLEARED],
        "entries/e2.md:4:17: warning: `hot` is checked on 2024-05-02, but it was confirmed fixed on 2024-05-01 "
        "[fault-closed]",
        "if it came back, write `seen_again: hot` first; otherwise name another fault",
        id="a check of a closed fault",
    ),
    pytest.param(
        [NAMED, "fixed: {fault: hot, proved: ran an hour}", "fixed: {fault: hot, how: New pump}"],
        "entries/e2.md:4:29: warning: `hot` is confirmed fixed on 2024-05-02, but nothing was done about it before "
        "then [proof-before-fix]",
        "add `how:` here, or correct the date of the entry that fixed it",
        id="a proof before its fix",
    ),
    pytest.param(
        [f"{NAMED}\n{CLEARED}", CLEARED],
        "entries/e2.md:4:48: warning: `hose` is cleared for `hot` on 2024-05-02, as it was on 2024-05-01 "
        "[cleared-twice]",
        "name what this check did clear; if it was suspected again, add that first under `faults:`",
        id="a suspect cleared twice",
    ),
]


def make_hunt(folder: Path, settings: str, heads: list[str]) -> Path:
    entries = {f"e{n}.md": f"---\ndate: 2024-05-0{n}\ntitle: T\n{head}\n---\n" for n, head in enumerate(heads, 1)}
    log = make_log(folder / "log", entries)
    (log / "log.yaml").write_text(settings, encoding="utf-8")
    return log


@pytest.mark.parametrize(("settings", "heads", "told", "help"), ERRORS)
def test_one_error_with_its_place_and_remedy(
    tmp_path: Path, settings: str, heads: list[str], told: str, help: str
) -> None:
    """What cannot be is told once, with file, line, column and what would be right, and nothing is published."""
    log = make_hunt(tmp_path, settings, heads)
    shown = help.replace("write `limits: {min: 20, max: 30}` ", "write: limits: {min: 20, max: 30}\n         ")
    for command in ("check", "publish"):
        result = run(command, log)
        assert (result.exit_code, result.stdout) == (1, "")
        assert read_heads(result.stderr) == [told]
        assert shown in result.stderr
        assert result.stderr.splitlines()[-1] == "1 error"
    assert not (log / "site").exists()


@pytest.mark.parametrize(("heads", "told", "help"), WARNINGS)
def test_one_warning_with_its_place_and_remedy(tmp_path: Path, heads: list[str], told: str, help: str) -> None:
    """What contradicts itself may be later insight: told once in the same way, published, and refused by `--strict`."""
    log = make_hunt(tmp_path, SETTINGS, heads)
    for options, code in (([], 0), (["--strict"], 1)):
        result = run("check", log, *options)
        assert (result.exit_code, read_heads(result.stderr)) == (code, [told])
        assert help in result.stderr
        assert result.stderr.splitlines()[-1] == "1 warning"
    assert run("publish", log).exit_code == 0
