"""How two processes hand each other lists of bytes through a pipe: how many, then each with its length."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from typing import IO, Final

_COUNT: Final = struct.Struct(">I")
_LENGTH: Final = struct.Struct(">Q")


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


def receive(pipe: IO[bytes]) -> list[bytes]:
    """Read one message.

    Raises:
        EOFError: The other side is gone.
    """
    (count,) = _COUNT.unpack(_read(pipe, _COUNT.size))
    return [_read(pipe, _LENGTH.unpack(_read(pipe, _LENGTH.size))[0]) for _ in range(count)]


def _read(pipe: IO[bytes], size: int) -> bytes:
    data = pipe.read(size)
    if len(data) < size:
        raise EOFError
    return data
