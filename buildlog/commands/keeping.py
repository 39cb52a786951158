"""Keeping a log: start it, write entries, look at it meanwhile, check and publish it."""

from __future__ import annotations

import datetime
import errno
import os
import sys
import uuid
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from buildlog.commands.shared import (
    FOLDER,
    PROBLEMS,
    as_of,
    compute_or_stop,
    entry_day,
    figures_or_stop,
    from_scratch,
    list_told,
    log_folder,
    say,
    say_words,
    show,
    strict,
    tell_trouble,
    today,
    verbose,
    watched,
    without_collector,
    word_problems,
)

if TYPE_CHECKING:
    from buildlog.kept.unchanged import Look
    from buildlog.output.write import WriteReport
    from buildlog.photos.intake import IntakePlan
    from buildlog.preview.phone import PhoneServer
    from buildlog.preview.site import PreviewSite
    from buildlog.render.book import Paper
    from buildlog.stages import Run


def _is_kind(ctx: click.Context, param: click.Parameter, value: str) -> str:
    """The kind, where `log.yaml` would accept it."""
    from buildlog.problems import suggest
    from buildlog.read.log_settings import MACHINE_KINDS

    if value not in MACHINE_KINDS:
        raise click.BadParameter(f"`{value}` is not known here; {suggest(value, MACHINE_KINDS)}", ctx, param)
    return value


def _is_currency(ctx: click.Context, param: click.Parameter, value: str) -> str:
    """The currency, where amounts can be computed in it."""
    from buildlog.compute.quantities.money import is_currency

    if not is_currency(value):
        raise click.BadParameter(f"`{value}` is not an ISO 4217 currency; write `GBP`, `EUR`, `USD`", ctx, param)
    return value


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--name", help="What you call the machine (default: the folder's name).")
@click.option(
    "--kind", default="road vehicle", help="What sort of machine it is.", show_default=True, callback=_is_kind
)
@click.option("--currency", default="GBP", help="Home currency (ISO 4217).", show_default=True, callback=_is_currency)
@click.option("--unit", type=click.Choice(["mi", "km", "h"]), default="km", help="The meter's unit.", show_default=True)
@entry_day
def start(folder: Path, name: str | None, kind: str, currency: str, unit: str, as_of: datetime.date | None) -> None:
    """Start a new log in FOLDER: its settings and a first entry."""
    from buildlog.drafts import draft_log, write_new_files

    # `abspath`, as `buildlog start .` has no name of its own; a random id, as nobody hands out any and one that
    # two logs share would mix their feeds.
    name, id = name or os.path.basename(os.path.abspath(folder)), str(uuid.uuid4())
    texts = draft_log(name, kind=kind, currency=currency, unit=unit, today=as_of or today(), id=id)
    _write_new(folder, texts, write_new_files)
    click.echo(f"next: edit {show(folder / 'log.yaml')}, then `buildlog check {show(folder)}`")


@click.command()
@click.argument("title", required=False)
@click.option("--log", type=FOLDER, default=".", help="The log's folder.")
@click.option("--photos", type=FOLDER, help="Copy that day's photos out of this folder into the log.")
@click.option("--to", metavar="ENTRY", help="Add to this entry, by its name or its day, instead of starting one.")
@entry_day
def write(title: str | None, log: Path, photos: Path | None, to: str | None, as_of: datetime.date | None) -> None:
    """Start the next entry's file, with likely lines for that day as comments: shelf, post, what is due, open items.

    With --to, an existing entry gets a heading TITLE below its story, that day's photos, and new suggestions.

    The title becomes the file's name, and with it the entry's address. To rename it later, rename the file and its
    folder in photos/, and add `was: OLD-NAME` to the entry: the old address then leads on.
    """
    from buildlog.drafts import draft_next, write_new_files
    from buildlog.stages import Run

    day = as_of or today()
    if to is not None:
        _add_to(to, title or "", log, photos, as_of)
        return
    if title is None:
        raise click.UsageError("give the entry a TITLE, or name one to add to with --to")
    draft = draft_next(figures_or_stop(Run(folder=log, as_of=day)), title, day, photos=photos)
    # Photos first: where one of them cannot be copied, there is no entry yet that names it.
    if draft.intake:
        _take_in(draft.intake, log)
    _write_new(log, draft.texts, write_new_files)


@click.command()
@log_folder
@as_of
@strict
@from_scratch
@verbose
@without_collector()
def check(log: Path, as_of: datetime.date | None, strict: bool, anew: bool, verbose: bool) -> None:
    """List every mistake in LOG and how to put it right."""
    from buildlog.kept.work import keeping_work
    from buildlog.stages import CHECKS, Run, run_stages

    with watched(verbose) as watch, keeping_work(anew) as work:
        asked = Run(folder=log, as_of=as_of or today(), strict=strict, work=work, anew=anew, watch=watch)
        run = run_stages(asked, until="render", instead=CHECKS)
        say(run.problems, run.texts)
    tell_trouble(work.trouble if work else "")
    if run.refused:
        sys.exit(PROBLEMS)


@click.command()
@log_folder
@click.option("--out", type=click.Path(path_type=Path), help="Where to put the site (default: LOG/site).")
@as_of
@strict
@from_scratch
@verbose
@without_collector()
def publish(log: Path, out: Path | None, as_of: datetime.date | None, strict: bool, anew: bool, verbose: bool) -> None:
    """Publish LOG as a static site."""
    from buildlog.kept.store import keeping_store
    from buildlog.kept.unchanged import Look

    out, day = out or log / "site", as_of or today()
    with keeping_store(anew) as store:
        look = Look(store, log, out, (day.isoformat(), str(strict), str(log))) if store else None
        told = look.find() if look and not verbose else None
        if told is None:
            _publish((log, out, day, strict), look, anew=anew, verbose=verbose)
        else:
            _tell_again(told)
    click.echo(f"open {show(out / 'index.html')}")


def _tell_again(told: Mapping[str, Any]) -> None:
    """What the publish told after which nothing was changed, as it would tell it now."""
    from buildlog.text import replace_unprintable

    for line in told["lines"]:
        click.echo(replace_unprintable(line, "?"), err=True)
    if told["problems"]:
        say_words(*told["problems"])
    click.echo(f"files written: 0, unchanged: {int(told['files'])}, removed: 0")


def _publish(asked: tuple[Path, Path, datetime.date, bool], look: Look | None, *, anew: bool, verbose: bool) -> None:
    """Publish in full, and say how it went; what is told is kept for a publish that has nothing to do."""
    from buildlog.kept.work import Work
    from buildlog.output.write import OutputRefused
    from buildlog.stages import Run, run_stages

    (log, out, day, strict), store = asked, look.store if look else None
    lines: list[str] = []

    def keep(run: Run, report: WriteReport) -> None:
        if look and run.site:
            problems = word_problems(run.problems, run.texts) if run.problems else None
            files = len(report.written) + len(report.unchanged)
            look.keep(run.site.files, {"lines": lines, "problems": problems, "files": files})

    with watched(verbose) as watch:
        work = Work(store) if store else None
        whole = Run(folder=log, out=out, as_of=day, strict=strict, work=work, anew=anew, written=keep, watch=watch)
        run = run_stages(whole, until="compute")
        lines += [] if run.refused else list_told(run)
        run = compute_or_stop(run)
        try:
            run = run_stages(run)
        except OutputRefused as refused:  # the folder was badly chosen, and nothing is wrong with the log
            raise click.UsageError(f"{refused.message}; {refused.help}") from None
        if run.problems:
            say(run.problems, run.texts)
    tell_trouble(run.photos.trouble if run.photos else "", store.trouble if store else "")
    if run.report is None:
        sys.exit(PROBLEMS)
    click.echo(run.report)


@click.command()
@log_folder
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    help="The file to write: `.pdf`, or `.html` for a browser.",
)
@click.option("--paper", type=click.Choice(["A4", "letter"]), default="A4", show_default=True, help="The sheet.")
@click.option("--attach", is_flag=True, help="Attach the papers that `public:` shows to the PDF.")
@as_of
@strict
@verbose
@without_collector()
def book(
    log: Path, out: Path, paper: Paper, attach: bool, as_of: datetime.date | None, strict: bool, verbose: bool
) -> None:
    """Make one book of LOG: cover, entries with photos, costs, parts, service history.

    It shows what the site shows and no more, so it may be given to anybody. A PDF needs `pip install 'buildlog[book]'`;
    a page for a browser needs nothing more, contains its pictures, and can be printed from there.
    """
    from dataclasses import replace

    from buildlog.binding import BINDING, Binding
    from buildlog.output.book import check_book_place, find_weasyprint
    from buildlog.output.write import OutputRefused
    from buildlog.stages import run_stages

    try:
        check_book_place(out, log)
        asked = Binding(folder=log, out=out, as_of=as_of or today(), strict=strict, paper=paper, attach=attach)
        if asked.paged:
            find_weasyprint()  # before minutes of work
        elif attach:
            raise OutputRefused("only a PDF can hold papers", "leave --attach out, or write to `book.pdf`")
        with watched(verbose) as watch:
            run = compute_or_stop(replace(asked, watch=watch))
            run = run_stages(run, instead=BINDING)
    except OutputRefused as refused:
        raise click.UsageError(f"{refused.message}; {refused.help}") from None
    if run.problems:
        say(run.problems, run.texts)
    tell_trouble(run.photos.trouble if run.photos else "")
    if not run.size:
        sys.exit(PROBLEMS)
    click.echo(f"written: {show(out)}")


@click.command("forget-photos")
@click.option(
    "--days",
    type=click.IntRange(min=0),
    default=90,
    show_default=True,
    help="Keep pictures used within this many days.",
)
def forget_photos(days: int) -> None:
    """Clear pictures that no log has used for a while, and work kept between runs; originals and sites stay."""
    from buildlog.kept.store import find_kept, forget_kept
    from buildlog.photos.cache import find_cache, prune_cache

    click.echo(prune_cache(find_cache(), days=days))
    click.echo(f"kept work cleared: {forget_kept(find_kept()) / 1e6:.1f} MB")


@click.command()
@click.argument("which", type=click.Choice(["entry", "log", "page"]), required=False)
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Write all into this folder instead.")
def schema(which: str | None, out: Path | None) -> None:
    """Print the JSON Schema of log.yaml, or of an entry's or a standing page's front matter, for editors."""
    from buildlog.read.schema import show_schema

    if (which is None) == (out is None):
        raise click.UsageError("give `entry`, `log` or `page`, or --out FOLDER for all files")
    if which is not None:
        click.echo(show_schema(which), nl=False)
    elif out is not None:
        out.mkdir(parents=True, exist_ok=True)
        for name in ("entry", "log", "page"):
            path = out / f"{name}.schema.json"
            path.write_text(show_schema(name), encoding="utf-8")
            click.echo(show(path))


def _add_to(to: str, title: str, log: Path, photos: Path | None, as_of: datetime.date | None) -> None:
    from buildlog.adding import CannotAdd, add_to_text, find_entry, write_over
    from buildlog.drafts import find_known, list_hints, plan_photos
    from buildlog.stages import Run

    # As of its day, so that what an entry of a later day says is not offered.
    figures = figures_or_stop(Run(folder=log, as_of=as_of or today()))
    try:
        entry = find_entry(figures.log, to)
        path = figures.log.locate(f"entries/{entry.name}.md") if figures.log.folder else log
        intake = plan_photos(figures, photos, entry.date, entry.name)
        listed = {photo.file for photo in entry.photos}
        taken = [take.name for take in intake.takes if take.name not in listed] if intake else []
        hints = list_hints(figures.log, entry.date, find_known(figures))
        text = add_to_text(path.read_bytes().decode(), heading=title, photos=taken, hints=hints)
    except CannotAdd as why:
        raise click.UsageError(f"nothing was added to `{to}`: {why}") from None
    if intake:
        _take_in(intake, log)
    write_over(path, text)
    click.echo(f"added to: {show(path)}")


def _take_in(intake: IntakePlan, log: Path) -> None:
    from buildlog.photos.intake import carry_out

    carry_out(intake, log)
    for line in intake.tell():
        click.echo(line)


def _write_new(folder: Path, texts: Mapping[str, str], write_new_files: Any) -> None:
    for path in write_new_files(folder, texts):
        click.echo(f"written: {show(path)}")


PORT = 8710
"Where the preview is, unless somebody else is there: open tabs find it again after a restart."


@click.command()
@log_folder
@click.option("--open", "opens", is_flag=True, help="Open the page in your browser.")
@click.option(
    "--port", type=click.IntRange(1, 65535), help=f"Port to listen on (default: {PORT}, or a free one if it is taken)."
)
@click.option("--phone", is_flag=True, help="Let a phone on your network in too, with a code; it can send photos.")
@as_of
def preview(log: Path, opens: bool, port: int | None, phone: bool, as_of: datetime.date | None) -> None:
    """Show LOG as a site in your browser, and follow every save.

    The pages are those that `publish` would write, made in memory: nothing is written into LOG. Mistakes are shown on
    the page, with the line and how to put it right. Ctrl-C stops it.

    Only this computer can see the preview. With --phone, so can a phone on the same network, once it has given the
    code that is shown here, or has read it with its camera. From there, photos can be sent into today's entry. What
    goes to the phone is not encrypted: use it on your own network only.
    """
    from buildlog.preview.running import run_preview
    from buildlog.preview.serving import listen
    from buildlog.preview.site import PreviewSite

    def tell(words: str) -> None:
        click.echo(words, err=True)

    # Asked for again and again: a preview that is left open over midnight goes on with the new day.
    site = PreviewSite(log, lambda: as_of or today())
    try:
        server = listen(site, port, PORT)
    except OSError as error:
        if error.errno not in (errno.EADDRINUSE, errno.EACCES):
            raise
        raise click.UsageError(f"port {port} cannot be used: {error.strerror}") from None
    # Ctrl-C is how it is ended, also while it is not quite there yet.
    with suppress(KeyboardInterrupt):
        others = [_let_phone_in(site, tell)] if phone else []
        site.refresh()
        click.echo(f"preview of {show(log)}: {server.address} (Ctrl-C ends it)")
        if opens:
            click.launch(server.address)
        run_preview(site, server, tell, others=others)


def _let_phone_in(site: PreviewSite, tell: Callable[[str], None]) -> PhoneServer:
    from buildlog.preview.phone import PhoneServer, find_address, show_way_in

    server = PhoneServer(site, (find_address(), 0), tell)
    click.echo(show_way_in(server))
    return server
