"""`buildlog write --to ENTRY`: what is put into an entry that is there, and that nothing else of it changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildlog.adding import CannotAdd, add_to_text
from buildlog.compute.figures import compute_figures
from buildlog.drafts import MOST_OFFERED, find_known, list_hints
from buildlog.read.files import LogFiles
from buildlog.read.reader import read_files
from tests.photos.test_intake import shoot
from tests.support import log_of
from tests.test_cli import make_log, run
from tests.test_drafts import DAY

HEAD = "---\ndate: 2024-05-18\ntitle: Pump\n"


def list_photos(text: str) -> list[str]:
    files = LogFiles(settings="machine: {name: M}\nmoney: {currency: GBP}\n", entries={"e.md": text})
    log = read_files(files).log
    assert log is not None
    return [photo.file for photo in log.entries[0].photos]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("", "photos:\n  - file: new 1.jpg\n    says:\n"),
        ("photos:\n", "photos:\n  - file: new 1.jpg\n    says:\n"),
        (
            "photos:  # mine\n- a.jpg\n\n# one more\n- {file: b.jpg, says: B}\nhours: 2\n",
            "photos:  # mine\n- a.jpg\n\n# one more\n- {file: b.jpg, says: B}\n- file: new 1.jpg\n  says:\nhours: 2\n",
        ),
        ("photos: [a.jpg, b.jpg]  # both\n", "photos: [a.jpg, b.jpg, {file: new 1.jpg}]  # both\n"),
        ("photos: []\n", "photos: [{file: new 1.jpg}]\n"),
        ("photos: a.jpg\n", "photos:\n  - a.jpg\n  - file: new 1.jpg\n    says:\n"),
        ("photos: {file: a.jpg, says: A}\n", "photos:\n  - {file: a.jpg, says: A}\n  - file: new 1.jpg\n    says:\n"),
    ],
)
def test_a_photo_is_put_behind_those_that_are_there(before: str, after: str) -> None:
    """However an owner writes the list; all other lines stay letter for letter, and the reader finds the photo last."""
    text = f"{HEAD}{before}---\nThe story,  as it is.\n"
    added = add_to_text(text, photos=["new 1.jpg"])
    assert added == f"{HEAD}{after}---\nThe story,  as it is.\n"
    assert list_photos(added) == [*list_photos(text), "new 1.jpg"]


@pytest.mark.parametrize(
    "before", ["photos:\n  file: a.jpg\n  says: A\n", "photos: [a.jpg,\n  b.jpg]\n", "photos: &all [a.jpg]\n"]
)
def test_where_it_does_not_fit_nothing_is_added(before: str) -> None:
    """A list in a form that lines cannot be put behind is left as it is, and the owner is told what would do."""
    with pytest.raises(CannotAdd, match="write each on a line of its own"):
        add_to_text(f"{HEAD}{before}---\n", photos=["new.jpg"])
    with pytest.raises(CannotAdd, match="no front matter"):
        add_to_text("words\n", heading="More")


def test_line_ends_and_marks_stay_as_the_owner_has_them() -> None:
    """CRLF and a byte-order mark, as some editors write them; added lines end as the others do."""
    text = "\ufeff---\r\ndate: 2024-05-18\r\ntitle: Pump\r\n---\r\nStory.\r\n"
    added = add_to_text(text, heading="Evening", photos=["a.jpg"])
    assert added == (
        "\ufeff---\r\ndate: 2024-05-18\r\ntitle: Pump\r\nphotos:\r\n  - file: a.jpg\r\n    says:\r\n---\r\nStory."
        "\r\n\r\n## Evening\r\n"
    )


def test_only_what_is_not_offered_yet_is_offered() -> None:
    """A key that stands in the entry, taken up or in a comment, is not offered again; no sentence is said twice."""
    hints = ["# hours: 1.5", "# fitted:  # on the shelf", "#   - {part: seal}", "# done:  # still to do", "#   - Bleed"]
    text = f"{HEAD}hours: 2\n# fitted:\n---\n"
    added = add_to_text(text, hints=[*hints, "# Warranty of Pump ends on 2024-06-01"])
    assert added == f"{HEAD}hours: 2\n# fitted:\n# done:  # still to do\n#   - Bleed\n---\n"


def test_what_is_likely_today_is_offered() -> None:
    """Off, due, loosely fixed, still to do, owed, running out: each in its own block, by its short name."""
    settings = """
machine: {name: M, meter: {unit: km}}
money: {currency: GBP}
systems: {fuel: Fuel}
strip_downs: {tray: {name: Tray off, hours: 1}}
service: {oil: {name: Oil, every: {months: 12}}}
"""
    log = log_of(
        """
        date: 2024-04-01
        bought: {from: S, ref: S-1, paid: 2024-04-01, arrived: {date: 2024-04-01}, lines: [{part: pump, each: 9.00,
          core: 45.00, warranty: {until: 2024-05-20}}]}
        temporary: {name: cork, what: A cork, until: the cap is here}
        stripped: tray
        tightened: {what: Wheel nuts, to: 110 N·m, recheck: 20 days}
        next: [{name: cap, what: Order a cap}, "Bleed: again"]
        """,
        "date: 2024-04-02\nnext: [A thing]",
        "date: 2024-04-03\ndone: A thing",
        settings=settings,
    )
    lines = list_hints(log, DAY, find_known(compute_figures(log, DAY)))
    assert [line for line in lines if not line.startswith(("# hours", "# reading", "# systems"))] == [
        "# fitted:  # on the shelf",
        "#   - {part: pump}  # Pump",
        "# returned:  # old units to hand in",
        "#   - {ref: S-1, part: pump, core: 45.00}  # Pump",
        "# serviced:  # due",
        "#   - oil  # Oil: history unknown",
        "# tightened:  # to be checked again",
        "#   - {what: Wheel nuts, to: 110 N·m}  # check again: overdue",
        "# made_good:  # temporary repairs",
        "#   - cork  # A cork; until the cap is here",
        "# refitted:  # strip-downs that are off",
        "#   - tray  # Tray off",
        "# done:  # still to do; under `dropped:` what will not be done",
        "#   - cap  # Order a cap, since 2024-04-01",
        "#   - 'Bleed: again'  # since 2024-04-01",
        "# next: [What comes next]",
        "# Warranty of Pump ends on 2024-05-20",
    ]


def test_a_full_shelf_does_not_bury_the_entry() -> None:
    """Of twenty parts twelve are offered, and how many more there are."""
    parts = ", ".join(f"{{part: part-{n}, each: 1}}" for n in range(20))
    log = log_of(f"date: 2024-04-01\nbought: {{from: S, paid: 2024-04-01, arrived: 2024-04-01, lines: [{parts}]}}")
    lines = list_hints(log, DAY, find_known(compute_figures(log, DAY)))
    assert sum(line.startswith("#   - {part:") for line in lines) == MOST_OFFERED
    assert "#   # and 8 more" in lines


# ── the command ──────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_second_time_on_the_same_day_adds_to_the_entry(tmp_path: Path) -> None:
    """Photos into its folder and its list, the title as a heading; `check` has nothing but photos without words."""
    log = make_log(tmp_path / "log", {"2024-05-18-pump.md": f"{HEAD}---\nMorning.\n"})
    phone = tmp_path / "phone"
    shoot(phone / "IMG_1.jpg", 1, "2024:05:18 17:02:11")
    result = run("write", "Evening", "--to", "2024-05-18", "--photos", phone, "--log", log, "--as-of", "2024-05-18")
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines()[-1] == f"added to: {log / 'entries/2024-05-18-pump.md'}"
    text = (log / "entries/2024-05-18-pump.md").read_text(encoding="utf-8")
    assert text.endswith("---\nMorning.\n\n## Evening\n")
    [photo] = list_photos(text)
    assert (log / "photos/2024-05-18-pump" / photo).is_file()
    assert run("check", log, "--as-of", "2024-05-18").exit_code == 0
    # Once more: the photo is there already, so that nothing is listed twice.
    assert (
        run("write", "--to", "2024-05-18-pump", "--photos", phone, "--log", log, "--as-of", "2024-05-18").exit_code == 0
    )
    assert list_photos((log / "entries/2024-05-18-pump.md").read_text(encoding="utf-8")) == [photo]


def test_what_cannot_be_added_to_is_told(tmp_path: Path) -> None:
    """No such entry, two of a day, neither title nor entry: exit code 2, one sentence, and no file is touched."""
    entries = {f"2024-05-18-{name}.md": f"{HEAD}---\n" for name in ("pump", "cap")}
    log = make_log(tmp_path / "log", entries)
    before = {path: path.read_bytes() for path in log.rglob("*") if path.is_file()}
    for arguments, words in (
        (["Evening", "--to", "2024-05-18-pmup"], "there is no such entry; did you mean `2024-05-18-pump`?"),
        (["Evening", "--to", "2024-05-18"], "2 entries are of that day: `2024-05-18-cap`, `2024-05-18-pump`"),
        ([], "give the entry a TITLE, or name one to add to with --to"),
    ):
        result = run("write", *arguments, "--log", log, "--as-of", "2024-05-18")
        assert (result.exit_code, words in result.stderr) == (2, True), result.stderr
    assert {path: path.read_bytes() for path in log.rglob("*") if path.is_file()} == before
