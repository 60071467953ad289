"""Where every command begins and ends: what is done with errors, and with what is printed."""

from __future__ import annotations

import atexit
import gc
import os
import sys
from collections.abc import Sequence
from typing import Final, NoReturn

from excerpts.cli.commands import run_command
from excerpts.errors import ExcerptsError, file_of

INTERRUPTED: Final = 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command.

    Args:
        argv: The arguments without the program's name; None takes those of the process.

    Returns:
        The exit status: 0 done, 2 something in the user's input, 1 the machine's fault or ours,
        130 interrupted.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    try:
        status = run_command(arguments)
    except ExcerptsError as error:
        _say(str(error))
        return error.exit_status
    except KeyboardInterrupt:
        _say("interrupted; nothing half-written is left.")
        return INTERRUPTED
    except BrokenPipeError:  # who read what we print has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        if "--debug" in arguments:
            raise
        if isinstance(error, OSError) and error.strerror:
            _say(
                f"this computer could not read or write {file_of(error)} ({error.strerror}). (--debug shows where.)"
            )
            return 1
        _say(
            f"something went wrong in the program itself: {type(error).__name__}: {error}. (--debug shows where.)"
        )
        return 1
    return status if isinstance(status, int) else 0


def _say(message: str) -> None:
    print(f"excerpts: {message}", file=sys.stderr)


def run() -> NoReturn:
    """Entry point of the console script.

    The process makes one thing and ends. Looking for unused objects meanwhile, and taking everything apart at the end,
    would cost a tenth of a workbook; so the first is left out, and the second to the system.
    """
    gc.disable()
    status = main()
    atexit._run_exitfuncs()  # children are ended, and temporary files taken away
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except BrokenPipeError:  # as in main
        pass
    except OSError as error:  # what was printed is not where it was to go
        status = status or 1
        os.write(2, f"excerpts: the output could not be written ({error.strerror}).\n".encode())
    os._exit(status)
