"""What holds for every test: properties are tried without a stopwatch, and nothing is kept from one run to the next."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import settings

from buildlog.preview.serving import PreviewServer

settings.register_profile("house", deadline=None, print_blob=True)
settings.load_profile("house")


@pytest.fixture(scope="session", autouse=True)
def fresh_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Photos are made anew in each run, in commands of their own process too: an old cache could hide a fault."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture
def preview_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """A preview is ended as by Ctrl-C, as soon as it would wait for somebody to ask."""

    def end(server: PreviewServer, poll_interval: float) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(PreviewServer, "serve_forever", end)
