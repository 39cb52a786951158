"""The commands: parse options, call, print; no logic.

Heavy modules are imported where they are used, so that `buildlog --help` answers at once.
"""

from __future__ import annotations

import datetime
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from buildlog import __version__
from buildlog.collector import without_collector

if TYPE_CHECKING:
    from buildlog.handing.hand_over import HandedOver
    from buildlog.photos.intake import IntakePlan
    from buildlog.reckon.figures import Figures
    from buildlog.stages import Checked

PROBLEMS = 1
"Exit code: something is wrong in the log."
WRONG_USE = 2
"Exit code: something is wrong in the call; click's own."
FAILS = 3
"Exit code: something that was handed over does not hold."


class _Day(click.ParamType):  # type: ignore[type-arg]  # generic only from click 8.2 on
    """A date on the command line, in the one spelling that entries use."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime.date:
        if isinstance(value, datetime.date):
            return value
        from buildlog.source.kinds import Unreadable, read_date

        try:
            return read_date(value)
        except Unreadable as why:
            self.fail(f"{why.message}; {why.help}", param, ctx)


def _today() -> datetime.date:
    """Today, or the day that SOURCE_DATE_EPOCH names (reproducible-builds.org specification)."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH")
    if epoch is None:
        return datetime.date.today()
    from buildlog.source.kinds import Unreadable, read_date

    try:
        return read_date(datetime.datetime.fromtimestamp(int(epoch), datetime.UTC).date().isoformat())
    except (ValueError, OverflowError, OSError):
        raise click.UsageError(f"SOURCE_DATE_EPOCH is `{epoch}`, which is no number of seconds") from None
    except Unreadable:
        raise click.UsageError(f"SOURCE_DATE_EPOCH is `{epoch}`, which is no day between 1000 and 2999") from None


def _is_kind(ctx: click.Context, param: click.Parameter, value: str) -> str:
    """The kind, where `log.yaml` would accept it."""
    from buildlog.problems import suggest
    from buildlog.source.machine import MACHINE_KINDS

    if value not in MACHINE_KINDS:
        raise click.BadParameter(f"`{value}` is not known here; {suggest(value, MACHINE_KINDS)}", ctx, param)
    return value


def _is_currency(ctx: click.Context, param: click.Parameter, value: str) -> str:
    """The currency, where amounts can be reckoned in it."""
    from buildlog.reckon.amounts.currencies import is_currency

    if not is_currency(value):
        raise click.BadParameter(f"`{value}` is no currency of ISO 4217; write `GBP`, `EUR`, `USD`", ctx, param)
    return value


FOLDER = click.Path(path_type=Path, exists=True, file_okay=False)
FILE = click.Path(path_type=Path, exists=True, dir_okay=False)
log_folder = click.argument("log", type=FOLDER, default=".")
as_of = click.option("--as-of", type=_Day(), default=None, metavar="DATE", help="Reckon as of this day; else today.")
strict = click.option("--strict", is_flag=True, help="Treat doubts as errors.")
as_json = click.option("--json", "as_json", is_flag=True, help="Print the same figures as JSON.")


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="buildlog %(version)s")
def main() -> None:
    """Turn one machine's log of dated entries into exact figures and a static site."""


@main.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--name", help="What you call the machine; else the folder's name.")
@click.option(
    "--kind", default="road vehicle", help="What sort of machine it is.", show_default=True, callback=_is_kind
)
@click.option("--currency", default="GBP", help="Home currency, ISO 4217.", show_default=True, callback=_is_currency)
@click.option("--unit", type=click.Choice(["mi", "km", "h"]), default="km", help="The meter's unit.", show_default=True)
@as_of
def start(folder: Path, name: str | None, kind: str, currency: str, unit: str, as_of: datetime.date | None) -> None:
    """Start a new log in FOLDER: its settings and a first entry."""
    from buildlog.drafts import draft_log, write_new_files

    texts = draft_log(name or folder.resolve().name, kind=kind, currency=currency, unit=unit, today=as_of or _today())
    _write_new(folder, texts, write_new_files)
    click.echo(f"next: edit {folder / 'log.yaml'}, then `buildlog check {folder}`")


@main.command()
@click.argument("title")
@click.option("--log", type=FOLDER, default=".", help="The log's folder.")
@click.option("--photos", type=FOLDER, help="Copy that day's photos out of this folder into the log.")
@as_of
def write(title: str, log: Path, photos: Path | None, as_of: datetime.date | None) -> None:
    """Write the next entry's file, filled with what is known: shelf, post, last reading, that day's photos."""
    from buildlog.drafts import write_new_files
    from buildlog.stages import draft_next

    day = as_of or _today()
    checked = _check(log, day, strict=False)
    draft = draft_next(_figures(checked), title, day, photos=photos)
    if draft.intake:
        _take_in(draft.intake, log)
    _write_new(log, draft.texts, write_new_files)


@main.command()
@log_folder
@as_of
@strict
def check(log: Path, as_of: datetime.date | None, strict: bool) -> None:
    """Say everything that is wrong in LOG, and what would be right."""
    from buildlog.problems import has_errors, sort_problems
    from buildlog.stages import check_log, check_site

    checked = check_log(log, as_of or _today(), strict=strict)
    site_problems = check_site(checked.figures) if checked.figures else ()
    problems = sort_problems((*checked.problems, *site_problems))
    _say(problems, checked)
    if has_errors(problems, strict=strict):
        sys.exit(PROBLEMS)


@main.command()
@log_folder
@click.option("--out", type=click.Path(path_type=Path), help="Where the site goes; else LOG/site.")
@as_of
@strict
@without_collector()
def publish(log: Path, out: Path | None, as_of: datetime.date | None, strict: bool) -> None:
    """Publish LOG as a static site."""
    from buildlog.progress import Progress
    from buildlog.site.output import OutputRefused
    from buildlog.stages import publish_site

    checked = _check(log, as_of or _today(), strict=strict)
    out = out or log / "site"
    try:
        with Progress("photos", sys.stderr) as progress:
            published = publish_site(_figures(checked), out, strict=strict, tell=progress.tell)
    except OutputRefused as refused:
        raise click.UsageError(f"{refused.message}; {refused.help}") from None
    except OSError as error:
        raise click.ClickException(str(error)) from None
    if published.problems:
        _say(published.problems, checked)
    if published.report is None:
        sys.exit(PROBLEMS)
    click.echo(published.report)
    click.echo(f"open {out / 'index.html'}")


@main.command()
@log_folder
@as_of
@as_json
def costs(log: Path, as_of: datetime.date | None, as_json: bool) -> None:
    """What the machine has cost so far, and on what."""
    from buildlog.answers.costs import answer_costs

    _answer(log, as_of, as_json, answer_costs)


@main.command()
@log_folder
@click.option("--find", metavar="NUMBER", help="Only the part with this number (superseded ones too) or name.")
@as_of
@as_json
def parts(log: Path, find: str | None, as_of: datetime.date | None, as_json: bool) -> None:
    """Every part: bought, fitted, on the shelf, in the post."""
    from buildlog.answers.parts import answer_parts

    _answer(log, as_of, as_json, lambda figures: answer_parts(figures, find))


@main.command()
@log_folder
@as_of
@as_json
def due(log: Path, as_of: datetime.date | None, as_json: bool) -> None:
    """What is overdue, due, later, or has no history."""
    from buildlog.answers.due import answer_due

    _answer(log, as_of, as_json, answer_due)


@main.command()
@log_folder
@as_of
@as_json
def faults(log: Path, as_of: datetime.date | None, as_json: bool) -> None:
    """What is wrong, what it can still be, where to look next, what is fitted for now."""
    from buildlog.answers.faults import answer_faults

    _answer(log, as_of, as_json, answer_faults)


@main.command()
@click.argument("strip_downs", nargs=-1, metavar="[STRIP-DOWN]...")
@click.option("--log", type=FOLDER, default=".", help="The log's folder.")
@as_of
@as_json
def apart(strip_downs: tuple[str, ...], log: Path, as_of: datetime.date | None, as_json: bool) -> None:
    """What else is within reach with these strip-downs off; without any, with what is off now."""
    from buildlog.answers.apart import UnknownStripDown, answer_apart

    try:
        _answer(log, as_of, as_json, lambda figures: answer_apart(figures, strip_downs))
    except UnknownStripDown as unknown:
        raise click.UsageError(str(unknown)) from None


@main.command("forget-photos")
@click.option("--days", type=click.IntRange(min=0), default=90, show_default=True, help="Keep what was used since.")
def forget_photos(days: int) -> None:
    """Drop published pictures from the cache that no log has used for a while; originals and sites stay."""
    from buildlog.photos.cache import find_cache, prune_cache

    click.echo(prune_cache(find_cache(), days=days))


@main.command()
@click.argument("which", type=click.Choice(["entry", "log"]), required=False)
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Write both into this folder instead.")
def schema(which: str | None, out: Path | None) -> None:
    """Print the JSON Schema of an entry's front matter or of log.yaml, for editors."""
    from buildlog.source.schema import show_schema

    if (which is None) == (out is None):
        raise click.UsageError("say `entry` or `log`, or --out FOLDER for both files")
    if which is not None:
        click.echo(show_schema(which), nl=False)
    elif out is not None:
        out.mkdir(parents=True, exist_ok=True)
        for name in ("entry", "log"):
            path = out / f"{name}.schema.json"
            path.write_text(show_schema(name), encoding="utf-8")
            click.echo(path)


@main.command()
@log_folder
@click.option("--reason", metavar="TEXT", help="Why files that were sealed before have changed; stays for good.")
@click.option("--stamp", metavar="URL", help="Ask this time-stamp authority (RFC 3161) to confirm the date.")
@click.option("--stamp-ca", type=FILE, metavar="FILE", help="Its root certificate as PEM, to check the stamp by.")
@click.option("--sign", type=FILE, metavar="KEY", help="Sign the seal with this SSH key.")
@click.option("--as-of", type=_Day(), default=None, metavar="DATE", help="Date the seal so; else today.")
def seal(
    log: Path,
    reason: str | None,
    stamp: str | None,
    stamp_ca: Path | None,
    sign: Path | None,
    as_of: datetime.date | None,
) -> None:
    """Seal LOG: commit to every file of it as it is now, so that later changes can be found."""
    from buildlog.record.attest import attest_seal
    from buildlog.record.sealing import seal_log

    if stamp_ca and not stamp:
        raise click.UsageError("--stamp-ca says by whom a stamp is trusted: give --stamp as well")
    sealing = seal_log(log, date=as_of or _today(), reason=reason)
    if sealing.seal is None or sealing.problems:
        _say_plainly(sealing.problems)
        sys.exit(PROBLEMS)
    click.echo(sealing)
    attestation = attest_seal(log, sealing.seal, key=sign, address=stamp, certificates=stamp_ca)
    click.echo(attestation)
    if attestation.problems:
        _say_plainly(attestation.problems)
        sys.exit(PROBLEMS)


@main.command()
@log_folder
@click.option("--out", type=click.Path(path_type=Path), required=True, help="A zip (`.zip`) or a new folder.")
@click.option("--withhold", multiple=True, metavar="PATH", help="Keep this file or folder of the log out, and say so.")
@as_of
def handover(log: Path, out: Path, withhold: tuple[str, ...], as_of: datetime.date | None) -> None:
    """Pack LOG for its next owner: site, log, seals and figures in one bag that can be checked."""
    from buildlog.handing.hand_over import hand_over
    from buildlog.progress import Progress
    from buildlog.record.bag import BagRefused

    try:
        with Progress("photos", sys.stderr) as progress:
            handed = hand_over(log, out, as_of=as_of or _today(), withhold=withhold, tell=progress.tell)
    except BagRefused as refused:
        raise click.UsageError(f"{refused.message}; {refused.help}") from None
    except OSError as error:
        raise click.ClickException(str(error)) from None
    if handed.problems:
        _say(handed.problems, handed)
    if handed.handover is None:
        sys.exit(PROBLEMS)
    click.echo(f"written: {out}")
    click.echo(handed)


@main.command()
@click.argument("bag", type=click.Path(path_type=Path, exists=True))
@click.option("--json", "as_json", is_flag=True, help="Print the same answers as JSON.")
def verify(bag: Path, as_json: bool) -> None:
    """Check what was handed over, BAG being a folder or a zip: what holds, what fails, what cannot be checked."""
    from buildlog.handing.run_apart import recheck_apart
    from buildlog.record.verify import verify_bag

    report = verify_bag(bag, recheck_apart)
    click.echo(report.as_json() if as_json else report.as_text(), nl=False)
    if report.failed:
        sys.exit(FAILS)


def _check(log: Path, day: datetime.date, *, strict: bool) -> Checked:
    """The log read and reckoned; errors are told whole on standard error, doubts are counted."""
    from buildlog.problems import count_problems
    from buildlog.stages import check_log

    checked = check_log(log, day, strict=strict)
    if checked.figures is None:
        _say(checked.problems, checked)
    elif checked.problems:
        click.echo(f"{count_problems(checked.problems)}: `buildlog check {log}` shows them", err=True)
    return checked


def _say(problems: Any, checked: Checked | HandedOver) -> None:
    from buildlog.problems import show_problems

    click.echo(show_problems(problems, checked.texts), nl=False, err=True)


def _say_plainly(problems: Any) -> None:
    """Problems of files whose texts were not read: nothing is quoted."""
    from buildlog.problems import show_problems

    click.echo(show_problems(problems, {}), nl=False, err=True)


def _figures(checked: Checked) -> Figures:
    if checked.figures is None:
        sys.exit(PROBLEMS)
    return checked.figures


def _answer(log: Path, as_of: datetime.date | None, as_json: bool, ask: Any) -> None:
    checked = _check(log, as_of or _today(), strict=False)
    answer = ask(_figures(checked))
    click.echo(answer.as_json() if as_json else answer.as_text(), nl=False)


def _take_in(intake: IntakePlan, log: Path) -> None:
    from buildlog.photos.intake import carry_out

    try:
        carry_out(intake, log)
    except FileExistsError as error:
        raise click.UsageError(f"{error.filename2 or error.filename} exists already and is left as it is") from None
    for line in intake.tell():
        click.echo(line)


def _write_new(folder: Path, texts: Mapping[str, str], write_new_files: Any) -> None:
    try:
        for path in write_new_files(folder, texts):
            click.echo(f"written: {path}")
    except FileExistsError as error:
        raise click.UsageError(f"{error.filename} exists already and is left as it is") from None
