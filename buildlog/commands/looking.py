"""Looking at a log while it is written."""

from __future__ import annotations

import datetime
import errno
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from buildlog.commands.shared import as_of, log_folder, show, today

if TYPE_CHECKING:
    from buildlog.preview.phone import PhoneServer
    from buildlog.preview.site import PreviewSite

PORT = 8710
"Where the preview is, unless somebody else is there: open tabs find it again after a restart."


@click.command()
@log_folder
@click.option("--open", "opens", is_flag=True, help="Open the page in your browser.")
@click.option(
    "--port", type=click.IntRange(1, 65535), help=f"Port to listen on (default: {PORT}, or a free one if it is taken)."
)
@click.option("--phone", is_flag=True, help="Let a phone in your network in too, with a code; it can send photos.")
@as_of
def preview(log: Path, opens: bool, port: int | None, phone: bool, as_of: datetime.date | None) -> None:
    """Show LOG as a site in your browser, and follow every save.

    The pages are those that `publish` would write, made in memory: nothing is written into LOG. Mistakes are shown on
    the page, with the line and how to put it right. Ctrl-C ends it.

    Only this computer can see the preview. With --phone, so can a phone in the same network, once it has given the code
    that is shown here, or has read it with its camera. From there, photos can be sent into today's entry. What goes to
    the phone is not encrypted: use it in your own network only.
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
