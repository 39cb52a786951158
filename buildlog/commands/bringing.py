"""Bringing in what exists: foreign files are read, a plan is shown, and what was agreed to is written."""

from __future__ import annotations

import datetime
import re
import sys
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from buildlog.commands.shared import FILE, FOLDER, PROBLEMS, figures_or_stop, say, show, today, without_collector

if TYPE_CHECKING:
    from buildlog.bring.plan import Plan

SOURCE = click.Path(path_type=Path, exists=True)


def _read_rates(ctx: click.Context, param: click.Parameter, values: tuple[str, ...]) -> dict[str, Decimal]:
    """`EUR=0.8567` for each other currency."""
    from buildlog.compute.quantities.money import is_currency

    rates = {}
    for value in values:
        currency, _, number = value.partition("=")
        if not is_currency(currency) or not re.fullmatch(r"\d{1,6}(\.\d{1,9})?", number) or not Decimal(number):
            raise click.BadParameter(f"`{value}` is no rate; write `EUR=0.8567`", ctx, param)
        rates[currency] = Decimal(number)
    return rates


@click.command()
@click.argument("sources", type=SOURCE, nargs=-1, required=True, metavar="SOURCE...")
@click.option("--log", type=FOLDER, default=".", help="The log's folder.")
@click.option("--mapping", type=FILE, help="What the columns of a spreadsheet mean (YAML).")
@click.option(
    "--save-mapping", type=click.Path(path_type=Path), help="Save how the columns were read to this new file."
)
@click.option(
    "--rate",
    multiple=True,
    metavar="CUR=RATE",
    callback=_read_rates,
    help="What one CUR is worth in the home currency.",
)
@click.option("--dry-run", is_flag=True, help="Only show what would be done.")
@click.option("--yes", is_flag=True, help="Write without asking.")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
@without_collector()
def bring(
    sources: tuple[Path, ...],
    log: Path,
    mapping: Path | None,
    save_mapping: Path | None,
    rate: dict[str, Decimal],
    dry_run: bool,
    yes: bool,
    as_json: bool,
) -> None:
    """Bring in what exists: invoices, spreadsheets, statements, papers and photos become entries.

    SOURCE is a file or a folder: e-invoices (UBL, CII, PDF with one inside), spreadsheets (CSV, XLSX, ODS), bank
    statements (camt.053), papers (PDF) and photos. They are only read. What will be written is shown first and asked
    for. An existing entry gets the pictures of its day; nothing else in the log is changed. Bringing in the same
    thing twice adds nothing.
    """
    from buildlog.answers.bringing import answer_plan, list_written
    from buildlog.bring.carry_out import carry_out
    from buildlog.problems import has_errors

    plan = _plan(sources, log, mapping, rate)
    answer = answer_plan(plan)
    click.echo(answer.as_json() if as_json else answer.as_text(), nl=False)
    if plan.problems and not as_json:
        say(plan.problems, plan.texts())
    if save_mapping is not None:
        _save(plan, save_mapping)
    if not dry_run and not plan.empty:
        _ask(yes)
        for path in carry_out(plan, log):
            if path.suffix == ".md":
                what = "added to" if path.name in {f"{grown.name}.md" for grown in plan.grown} else "written"
                click.echo(f"{what}: {show(path)}", err=as_json)
        for line in list_written(plan):
            click.echo(line, err=as_json)
    if has_errors(plan.problems):
        sys.exit(PROBLEMS)


def _plan(sources: tuple[Path, ...], log: Path, mapping: Path | None, rates: dict[str, Decimal]) -> Plan:
    from buildlog.bring.plan import Wish, make_plan
    from buildlog.stages import Run

    day: datetime.date = today()
    text = None
    if mapping is not None:
        with mapping.open("rb") as file:
            text = file.read(1_000_000).decode("utf-8-sig", "replace")
    figures = figures_or_stop(Run(folder=log, as_of=day))
    return make_plan(Wish(sources=sources, mapping=text, rates=rates), figures.log, day)


def _ask(yes: bool) -> None:
    """Go on where it was agreed to; nothing is written where nobody can be asked."""
    if yes:
        return
    if not is_terminal():
        raise click.UsageError(
            "nothing was written: there is no terminal to ask on; --yes writes, --dry-run only shows"
        )
    if not click.confirm("Write this?", err=True):
        click.echo("nothing was written", err=True)
        sys.exit(0)


def is_terminal() -> bool:
    """Whether somebody sits there who can be asked."""
    return sys.stdin.isatty()


def _save(plan: Plan, path: Path) -> None:
    """How the columns were read, for the next time; a file that is there is left alone."""
    if len(plan.mappings) != 1:
        raise click.UsageError("a mapping is kept of one spreadsheet: name one that can be read")
    with path.open("x", encoding="utf-8", newline="\n") as file:
        file.write(next(iter(plan.mappings.values())))
    click.echo(f"written: {show(path)}", err=True)
