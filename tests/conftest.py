"""What holds for every test: properties are tried without a stopwatch, and a failing example is shown in full."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("house", deadline=None, print_blob=True)
settings.load_profile("house")
