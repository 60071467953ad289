"""A process that builds one workbook after another: told on its standard input, telling on its standard output.

One line of JSON for each, so that a workbook that takes the process down with it harms no other.
"""

from __future__ import annotations

import gc
import json
import os
import signal
import sys
from pathlib import Path
from types import FrameType
from typing import Any, TextIO

from excerpts.errors import ExcerptsError


def main() -> None:
    """Take orders until there are no more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who started it ends it
    signal.signal(signal.SIGTERM, _end)
    with os.fdopen(os.dup(1), "w", encoding="utf-8") as told:
        os.dup2(2, 1)  # whatever a library prints is no answer
        gc.disable()  # unused objects are looked for between two workbooks, not all the time
        for place, line in enumerate(sys.stdin):
            if place:
                gc.collect()
            try:
                _tell(told, _made(json.loads(line)))
            except BrokenPipeError:
                os._exit(0)  # nobody is there to be told; what was written is whole


def _end(_signal: int, _frame: FrameType | None) -> None:
    raise SystemExit(143)


def _tell(told: TextIO, answer: dict[str, Any]) -> None:
    told.write(json.dumps(answer) + "\n")
    told.flush()


def _made(order: dict[str, Any]) -> dict[str, Any]:
    try:
        from excerpts.studio.making import make

        target = Path(order["target"]) if order["target"] else None
        return make(Path(order["week"]), target, order["cache"], order["version"], order["force"])
    except ExcerptsError as error:
        return {"failed": str(error)}
    except OSError as error:
        return {
            "failed": f"{order['week']}: this computer could not read or write a file ({error.strerror})."
        }
    except MemoryError:
        return {"failed": f"{order['week']}: there is not enough memory for it."}
    except Exception as error:
        what = f"something went wrong in the program itself: {type(error).__name__}: {error}."
        return {"failed": f"{order['week']}: {what} (excerpts --debug workbook shows where.)"}


if __name__ == "__main__":
    main()
