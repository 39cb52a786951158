"""What holds for every test: properties are tried without a stopwatch, and nothing is kept from one run to the next."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None, print_blob=True)
settings.load_profile("house")


@pytest.fixture(scope="session", autouse=True)
def fresh_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Photos are made anew in each run, in commands of their own process too: an old cache could hide a fault."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield
