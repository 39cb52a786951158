"""Whether a run that left something half done is still at work, or was killed."""

from __future__ import annotations

import os


def is_running(process: int) -> bool:
    """Whether a process of that number is at work; of one that nobody can tell of here, that it is."""
    if os.name != "posix":  # elsewhere a signal of number 0 is one that ends a process
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True
