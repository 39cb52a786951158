"""Handing a log on: seal it, pack it for the next owner, check what was handed over."""

from __future__ import annotations

import datetime
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from buildlog.commands.shared import (
    FAILS,
    FILE,
    INCOMPLETE,
    PROBLEMS,
    Code,
    Day,
    as_of,
    log_folder,
    say,
    show,
    today,
    verbose,
    watched,
)

if TYPE_CHECKING:
    from buildlog.record.seals import KeptCode


@click.command()
@log_folder
@click.option("--reason", metavar="TEXT", help="Why sealed files have changed; kept in the record for good.")
@click.option("--stamp", metavar="URL", help="Ask this time-stamp authority (RFC 3161) to confirm the date.")
@click.option("--stamp-ca", type=FILE, metavar="FILE", help="Its root certificate (PEM), to check the stamp against.")
@click.option("--sign", type=FILE, metavar="KEY", help="Sign the seal with this SSH key.")
@click.option("--as-of", type=Day(), default=None, metavar="DATE", help="Date of the seal (default: today).")
def seal(
    log: Path,
    reason: str | None,
    stamp: str | None,
    stamp_ca: Path | None,
    sign: Path | None,
    as_of: datetime.date | None,
) -> None:
    """Seal LOG: put every file on record as it is now, so that later changes show."""
    from buildlog.record.attest import attest_seal
    from buildlog.record.sealing import seal_log

    if stamp_ca and not stamp:
        raise click.UsageError("--stamp-ca is only of use with --stamp: give both")
    sealing = seal_log(log, date=as_of or today(), reason=reason)
    if sealing.seal is None or sealing.problems:
        say(sealing.problems)
        sys.exit(PROBLEMS)
    # The seal is on the disk now and stays, whatever key or authority refuses: they only stand beside it.
    click.echo(sealing)
    attestation = attest_seal(log, sealing.seal, key=sign, address=stamp, certificates=stamp_ca)
    click.echo(attestation)
    if attestation.problems:
        say(attestation.problems)
        sys.exit(PROBLEMS)


@click.command()
@log_folder
@click.option("--out", type=click.Path(path_type=Path), required=True, help="The zip (`.zip`) or new folder to write.")
@click.option(
    "--withhold", multiple=True, metavar="PATH", help="Leave this file or folder out, and list it as withheld."
)
@as_of
@verbose
def handover(log: Path, out: Path, withhold: tuple[str, ...], as_of: datetime.date | None, verbose: bool) -> None:
    """Pack LOG for its next owner: site, log, seals and figures in one bag that can be checked."""
    from buildlog.handover.bag import BagRefused
    from buildlog.handover.pack import hand_over

    with watched(verbose) as watch:
        try:
            handed = hand_over(log, out, as_of=as_of or today(), withhold=withhold, watch=watch)
        except BagRefused as refused:  # the place was badly chosen, and nothing is wrong with the log
            raise click.UsageError(f"{refused.message}; {refused.help}") from None
        if handed.problems:
            say(handed.problems, handed.texts)
        if handed.handover is None:
            sys.exit(PROBLEMS)
        click.echo(f"written: {show(out)}")
        click.echo(handed)


@click.command()
@click.argument("bag", type=click.Path(path_type=Path, exists=True))
@click.option(
    "--code", type=Code(), metavar="CODE", help="A seal's code or root that you noted earlier; BAG must contain it."
)
@click.option(
    "--no-time-limit",
    "unhurried",
    is_flag=True,
    help="Compare all pictures, however many there are; this may take hours.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the same answers as JSON.")
def verify(bag: Path, code: KeptCode | None, unhurried: bool, as_json: bool) -> None:
    """Check a handover, BAG (a folder or a zip): what holds, what fails, what cannot be checked.

    Nothing in BAG is run. This program starts a second copy of itself, to recalculate within limits on time and memory,
    and `ssh-keygen`, to check any signatures.

    Exit code: 0 when all that is there was checked and holds, 3 when something fails, 4 when nothing fails, but
    something could not be checked, or there is something you should know first.
    """
    from buildlog.handover.run_apart import recheck_apart
    from buildlog.handover.verify import verify_bag

    report = verify_bag(bag, partial(recheck_apart, unhurried=unhurried), code, today=today())
    click.echo(report.as_json() if as_json else report.as_text(), nl=False)
    if report.failed:
        sys.exit(FAILS)
    if report.incomplete:
        sys.exit(INCOMPLETE)
