"""The preview from its start to Ctrl-C: one thread follows the log, others answer, and all of them end together."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress

from buildlog.preview.serving import PreviewServer
from buildlog.preview.site import PreviewSite
from buildlog.preview.watching import follow

IDLE_S = 0.02
"Seconds of every tick that are given to stories that no page has shown: a save waits no longer than that."


class Follower(threading.Thread):
    """Keeps a site up with its folder; what goes wrong in it, by our own fault, ends the preview."""

    def __init__(self, site: PreviewSite, tell: Callable[[str], None], on_failure: Callable[[], None]) -> None:
        super().__init__(name="follower", daemon=True)
        self._site = site
        self._tell = tell
        self._on_failure = on_failure
        self.stop = threading.Event()
        self.failure: BaseException | None = None

    def run(self) -> None:
        try:
            self._follow()
        except BaseException as error:
            self.failure = error
            self._on_failure()

    def _follow(self) -> None:
        # What was saved between the first reading and the first word of a change is found by reading once more.
        heard = False
        for changed in follow(self._site.folder, self.stop, self._tell):
            if changed or not heard or self._site.as_of != self._site.find_day():
                self._site.refresh()
            else:
                self._site.check_stories(IDLE_S)
            heard = True


POLL_S = 0.1
"Seconds within which a server notices that it is to end."


def run_preview(
    site: PreviewSite, server: PreviewServer, tell: Callable[[str], None], *, others: Sequence[PreviewServer] = ()
) -> None:
    """Serve until Ctrl-C, or until something fails; everything that was begun has ended then.

    `others` serve the same site at other addresses meanwhile.
    """
    follower = Follower(site, tell, on_failure=server.shutdown)
    threads = [threading.Thread(target=each.serve_forever, args=(POLL_S,), daemon=True) for each in others]
    for thread in (*threads, follower):
        thread.start()
    try:
        with suppress(KeyboardInterrupt):
            server.serve_forever(POLL_S)
    finally:
        follower.stop.set()
        site.end()
        for each in others:
            each.shutdown()
        for each in (server, *others):
            each.server_close()
        for thread in (*threads, follower):
            thread.join()
    if follower.failure is not None:
        raise follower.failure
