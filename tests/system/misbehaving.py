"""A child that does what it is told to, good or bad."""

from __future__ import annotations

import os
import signal
import sys
import time

from excerpts.system.child.serve import serve


def behave(parts: list[bytes]) -> list[bytes]:
    match parts[0]:
        case b"spin":
            while True:
                pass
        case b"sleep":
            time.sleep(60)
        case b"crash":
            os.kill(os.getpid(), signal.SIGSEGV)
        case b"fill":
            return [b"x" * 10_000_000_000]
        case b"print":
            print("among the answers")  # noqa: T201
            sys.stdout.flush()
    return [b"done", *parts]


if __name__ == "__main__":
    serve(behave, sys.argv[1:])
