"""Fuzzes one target with atheris (libFuzzer): `python -m tests.fuzz read -max_total_time=1800`.

A finding does not end the run: what raised it is kept once for each place that it is raised at, under
/tmp/fuzz/TARGET/findings or --keep, and goes from there into `cases`, where `test_cases` runs it.
"""

from __future__ import annotations

import signal
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import atheris

with atheris.instrument_imports(include=["excerpts"]):
    from tests.fuzz.targets import TARGETS, Target, broken

CPU_LIMIT: Final = 5.0
"""Seconds of processor time after which an input counts as a hang; nothing so small takes a tenth of it."""


class HangError(BaseException):
    """An input took too long; no `except Exception` may swallow it."""


def _on_alarm(_number: int, _frame: object) -> None:
    raise HangError


class Keeper:
    """Runs a target and keeps each kind of finding once.

    Args:
        target: What is fuzzed.
        folder: Where findings go.
    """

    def __init__(self, target: Target, folder: Path) -> None:
        self.target = target
        self.folder = folder
        self.seen: set[str] = set()
        folder.mkdir(parents=True, exist_ok=True)

    def __call__(self, data: bytes) -> None:
        """Run the target once."""
        signal.setitimer(signal.ITIMER_VIRTUAL, CPU_LIMIT)
        try:
            self.target.run(data)
        except (Exception, HangError, RecursionError) as error:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
            self._keep(data, error)
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)

    def _keep(self, data: bytes, error: BaseException) -> None:
        frames = [f for f in traceback.extract_tb(error.__traceback__) if "/excerpts/" in f.filename]
        last = frames[-1] if frames else traceback.extract_tb(error.__traceback__)[-1]
        name = f"{type(error).__name__}-{Path(last.filename).stem}-{last.lineno}"
        if name not in self.seen:
            self.seen.add(name)
            (self.folder / name).write_bytes(data)
            told = "".join(traceback.format_exception(error)[-12:])
            (self.folder / f"{name}.txt").write_text(told, encoding="utf-8")
            print(f"FINDING {name}: {error}", flush=True)


def main(arguments: list[str]) -> None:
    """Fuzz the target that the first argument names; the others go to libFuzzer."""
    name = arguments[0]
    target = TARGETS[name]
    base = Path("/tmp/fuzz") / name
    seeds, grown = base / "seeds", base / "corpus"
    for folder in (seeds, grown):
        folder.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(target.seeds()):
        (seeds / f"{number:03}").write_bytes(seed)
    signal.signal(signal.SIGVTALRM, _on_alarm)
    keeper = Keeper(target, base / "findings")

    def mutator(data: bytes, most: int, seed: int) -> bytes:
        return broken(data, seed, most) if seed % 8 else atheris.Mutate(data, len(data))

    custom: dict[str, Callable[..., Any]] = {"custom_mutator": mutator} if target.xml else {}
    atheris.Setup([sys.argv[0], str(grown), str(seeds), *arguments[1:]], keeper, **custom)
    atheris.Fuzz()


if __name__ == "__main__":
    main(sys.argv[1:])
