"""Work counted instead of timed: how many steps of our own code a call takes, whatever else the machine is doing."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import buildlog

HERE = str(Path(buildlog.__file__).parent)


def count_steps(call: Callable[[], object]) -> int:
    """How many bytecode instructions of this package one call runs; what is done in C counts as one step."""
    steps = 0

    def trace(frame: FrameType, event: str, argument: Any) -> Any:
        nonlocal steps
        if event == "call":
            if not frame.f_code.co_filename.startswith(HERE):
                return None
            frame.f_trace_opcodes, frame.f_trace_lines = True, False
        steps += event == "opcode"
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        call()
    finally:
        sys.settrace(before)
    return steps


def grows_with_its_input(make: Callable[[int], Callable[[], object]], size: int) -> float:
    """How many times more steps twice as much takes: two for work that grows as its input does, four for its square."""
    return count_steps(make(2 * size)) / count_steps(make(size))
