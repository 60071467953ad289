"""The child's side: limits first, then answer after answer until the parent is gone.

Both sides hand each other lists of bytes through a pipe: how many, then each with its length. News of a piece of work
go before its answer, marked by a number that no list is as long as.
"""

from __future__ import annotations

import math
import os
import struct
import sys
from collections.abc import Callable, Sequence
from typing import IO, Final

_COUNT: Final = struct.Struct(">I")
_LENGTH: Final = struct.Struct(">Q")
_NEWS: Final = 0xFFFF_FFFF
"""In the place of a count: what follows is not the answer yet, but one part of news."""

_answers: list[IO[bytes]] = []
"""Where answers go, in a process that serves."""


def send(pipe: IO[bytes], parts: Sequence[bytes]) -> None:
    """Write one message.

    Raises:
        OSError: Nobody reads it.
    """
    pipe.write(_COUNT.pack(len(parts)))
    for part in parts:
        pipe.write(_LENGTH.pack(len(part)))
        pipe.write(part)
    pipe.flush()


def receive(pipe: IO[bytes], news: Callable[[bytes], None] | None = None) -> list[bytes]:
    """Read one message.

    Args:
        pipe: Where it comes from.
        news: Told the news that come before it.

    Raises:
        EOFError: The other side is gone.
    """
    while True:
        (count,) = _COUNT.unpack(_read(pipe, _COUNT.size))
        if count != _NEWS:
            return [_part(pipe) for _ in range(count)]
        part = _part(pipe)
        if news is not None:
            news(part)


def tell(news: bytes) -> None:
    """Tell whoever asked how far the work is; nothing in a process that serves nobody."""
    for pipe in _answers:
        pipe.write(_COUNT.pack(_NEWS) + _LENGTH.pack(len(news)) + news)
        pipe.flush()


def _part(pipe: IO[bytes]) -> bytes:
    return _read(pipe, _LENGTH.unpack(_read(pipe, _LENGTH.size))[0])


def _read(pipe: IO[bytes], size: int) -> bytes:
    data = pipe.read(size)
    if len(data) < size:
        raise EOFError
    return data


Answer = Callable[[list[bytes]], list[bytes]]
"""What a child does: it takes the parts of a request and gives those of the answer."""


def serve(answer: Answer, arguments: list[str]) -> None:
    """Answer requests from standard input on standard output.

    A request that takes too long ends the process (SIGXCPU), as does one that needs too much memory: the parent
    sees the end of the pipe. Windows has no such limits; there only the parent's time limit holds.

    Args:
        answer: What is done.
        arguments: Bytes of memory that it may have. (The first part of each request is its seconds.)
    """
    _limit_memory(int(arguments[0]))
    # What the libraries print goes nowhere near the answers.
    answers = os.fdopen(os.dup(1), "wb")
    _answers.append(answers)
    os.dup2(2, 1)
    while True:
        try:
            seconds, *parts = receive(sys.stdin.buffer)
        except EOFError:
            os._exit(0)
        _limit_time(int(seconds))
        try:
            send(answers, answer(parts))
        except MemoryError:
            os._exit(1)


if sys.platform == "win32":  # pragma: no cover (the tests run on Linux)

    def _limit_memory(memory: int) -> None:
        pass

    def _limit_time(seconds: int) -> None:
        pass

else:
    import resource

    def _limit_memory(memory: int) -> None:
        _limit(resource.RLIMIT_CORE, 0)
        _limit(resource.RLIMIT_AS, memory)

    def _limit_time(seconds: int) -> None:
        used = resource.getrusage(resource.RUSAGE_SELF)
        _limit(resource.RLIMIT_CPU, math.ceil(used.ru_utime + used.ru_stime) + seconds)

    def _limit(what: int, wanted: int) -> None:
        """Lower a limit, as far as one that we were started with is not lower still."""
        _, hard = resource.getrlimit(what)
        resource.setrlimit(what, (wanted if hard == resource.RLIM_INFINITY else min(wanted, hard), hard))
