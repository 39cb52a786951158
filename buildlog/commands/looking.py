"""Looking at a log while it is written."""

from __future__ import annotations

import datetime
import errno
from pathlib import Path

import click

from buildlog.commands.shared import as_of, log_folder, today

PORT = 8710
"Where the preview is, unless somebody else is there: open tabs find it again after a restart."


@click.command()
@log_folder
@click.option("--open", "show", is_flag=True, help="Open the page in your browser.")
@click.option(
    "--port", type=click.IntRange(1, 65535), help=f"Port to listen on (default: {PORT}, or a free one if it is taken)."
)
@as_of
def preview(log: Path, show: bool, port: int | None, as_of: datetime.date | None) -> None:
    """Show LOG as a site in your browser, and follow every save.

    The pages are those that `publish` would write, made in memory: nothing is written into LOG. Mistakes are shown on
    the page, with the line and how to put it right. Only this computer can see the preview. Ctrl-C ends it.
    """
    from buildlog.preview.running import run_preview
    from buildlog.preview.serving import listen
    from buildlog.preview.site import PreviewSite

    # Asked for again and again: a preview that is left open over midnight goes on with the new day.
    site = PreviewSite(log, lambda: as_of or today())
    try:
        server = listen(site, port, PORT)
    except OSError as error:
        if error.errno not in (errno.EADDRINUSE, errno.EACCES):
            raise
        raise click.UsageError(f"port {port} cannot be used: {error.strerror}") from None
    site.refresh()
    click.echo(f"preview of {log}: {server.address} (Ctrl-C ends it)")
    if show:
        click.launch(server.address)
    run_preview(site, server, lambda words: click.echo(words, err=True))
