"""Ids in the feed: each log has its own, and nothing that an owner changes later moves them (RFC 4287, 4.2.6)."""

from __future__ import annotations

import json
import re
import uuid
from datetime import date
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.figures import compute_figures
from buildlog.problems import Problem
from buildlog.render.fitness import check_fitness
from buildlog.render.hosting import NAMESPACE, describe_feed, write_feed
from tests.render.editions import edition_of
from tests.support import log_of
from tests.test_cli import run

HEAD = "date: 2024-05-18\ntitle: Lift pump"


def settings_of(name: str, acquired: str | None, site: str = "") -> str:
    bought = f"acquired: {{date: {acquired}}}\n" if acquired else ""
    return f"machine: {{name: {json.dumps(name, ensure_ascii=False)}}}\nmoney: {{currency: GBP}}\n{bought}{site}"


def ids_of(settings: str) -> list[str]:
    """The ids of the feed and of its one entry."""
    xml = write_feed(describe_feed(edition_of(HEAD, settings=settings))).decode()
    return re.findall(r"<id>(.*?)</id>", xml)


def warnings_of(settings: str) -> list[Problem]:
    figures = compute_figures(log_of(HEAD, settings=settings), date(2024, 12, 1))
    return [problem for problem in check_fitness(figures) if problem.rule == "no-id"]


def test_a_log_from_before_keeps_its_ids() -> None:
    """Without an id they are made from the machine's name and the day of its purchase, as they always were."""
    urns = [uuid.uuid5(NAMESPACE, text).urn for text in ("Old Bess 2024-02-03", "Old Bess 2024-02-03\ne1")]
    assert ids_of(settings_of("Old Bess", "2024-02-03")) == urns


ADDRESS = "address: https://example.org/bess/"


def test_a_log_without_an_id_is_told_what_to_add() -> None:
    """A warning at the name on which its ids hang, once the site has an address; with the line added there is none."""
    (warning,) = warnings_of(settings_of("Old Bess", "2024-02-03", f"site: {{{ADDRESS}}}"))
    assert (warning.severity, str(warning.place)) == ("warning", "log.yaml:1:17")
    assert warning.help == 'add `id: "Old Bess 2024-02-03"` under `site:`, which keeps them as they are'
    assert warnings_of(settings_of("Old Bess", "2024-02-03", f"site: {{id: anything, {ADDRESS}}}")) == []
    assert warnings_of(settings_of("Old Bess", "2024-02-03")) == []


NAMES = st.text(st.characters(categories=("L", "N", "P", "S", "Zs")), min_size=1).filter(lambda name: name.strip())


@given(NAMES, st.none() | st.dates(date(1950, 1, 1), date(2024, 1, 1)).map(str), NAMES)
def test_the_line_to_add_keeps_every_id(name: str, acquired: str | None, later: str) -> None:
    """Whatever the machine is called: the suggested line moves no id, and with it no new name or date does."""
    before = settings_of(name, acquired, f"site: {{{ADDRESS}}}\n")
    (warning,) = warnings_of(before)
    line = re.search("`(id: .*)` under", warning.help)
    assert line, warning.help
    site = f"site:\n  {line[1]}\n  {ADDRESS}\n"
    assert ids_of(settings_of(name, acquired, site)) == ids_of(before)
    assert ids_of(settings_of(later, "2024-01-02", site)) == ids_of(before)


def test_two_new_logs_of_one_name_share_no_id(tmp_path: Path) -> None:
    """`start` gives each log an id of its own, so that two machines of one name are two in every feed reader."""
    ids = []
    for folder in (tmp_path / "one", tmp_path / "two"):
        assert run("start", folder, "--name", "Old Bess", "--as-of", "2024-05-18").exit_code == 0
        assert run("check", folder, "--strict", "--as-of", "2024-05-18").exit_code == 0
        assert run("publish", folder, "--as-of", "2024-05-18").exit_code == 0
        ids.append(set(re.findall(r"<id>(.*?)</id>", (folder / "site/feed.xml").read_text())))
    assert len(ids[0]) == len(ids[1]) == 2
    assert not ids[0] & ids[1]


def test_a_new_name_moves_no_id_of_a_new_log(tmp_path: Path) -> None:
    """The machine is renamed, bought and moved: the feed keeps every id."""
    run("start", tmp_path / "log", "--name", "Old Bess", "--as-of", "2024-05-18")
    settings, feed = tmp_path / "log/log.yaml", tmp_path / "log/site/feed.xml"
    found = []
    for text in (settings.read_text(), settings.read_text().replace("Old Bess", "New Bess") + "\nlaid_up: []\n"):
        settings.write_text(text.replace("# acquired:", "acquired:") if "New" in text else text)
        run("publish", tmp_path / "log", "--as-of", "2024-05-18")
        found.append(re.findall(r"<id>(.*?)</id>", feed.read_text()))
    assert found[0] == found[1]
    assert "New Bess" in feed.read_text()
