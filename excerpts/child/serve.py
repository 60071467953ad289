"""The child's side: limits first, then answer after answer until the parent is gone."""

from __future__ import annotations

import math
import os
import resource
import sys
from collections.abc import Callable
from typing import Final

from excerpts.child.frames import receive, send

Answer = Callable[[list[bytes]], list[bytes]]
"""What a child does: it takes the parts of a request and gives those of the answer."""

_UNLIMITED: Final = resource.RLIM_INFINITY


def serve(answer: Answer, arguments: list[str]) -> None:
    """Answer requests from standard input on standard output.

    A request that takes too long ends the process (SIGXCPU), as does one that needs too much memory: the parent
    sees the end of the pipe.

    Args:
        answer: What is done.
        arguments: Bytes of memory that it may have. (The first part of each request is its seconds.)
    """
    memory = int(arguments[0])
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    # What the libraries print goes nowhere near the answers.
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    while True:
        try:
            seconds, *parts = receive(sys.stdin.buffer)
        except EOFError:
            os._exit(0)
        used = resource.getrusage(resource.RUSAGE_SELF)
        limit = math.ceil(used.ru_utime + used.ru_stime) + int(seconds)
        resource.setrlimit(resource.RLIMIT_CPU, (limit, _UNLIMITED))
        try:
            send(answers, answer(parts))
        except MemoryError:
            os._exit(1)
