"""Processes that build workbooks, several at a time; one that dies takes nothing with it but its own order."""

from __future__ import annotations

import json
import selectors
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from types import TracebackType
from typing import IO, Any, Final, Self, TypeAlias

LONGEST: Final = 600.0
"""Seconds that one workbook may take; some two hundred boxes take a tenth of it."""

_GRACE: Final = 5.0
"""Seconds in which a process that is told to end takes away what it was writing."""

Order: TypeAlias = dict[str, Any]
Answer: TypeAlias = dict[str, Any]


class Pool:
    """Does orders in processes of its own. Use it in a `with`: what still runs at its end is ended.

    Args:
        jobs: How many at a time.
        command: What to start; the studio's worker where it is left out.
        longest: Seconds that one order may take.
    """

    def __init__(self, jobs: int, command: Sequence[str] = (), longest: float = LONGEST) -> None:
        self.jobs = jobs
        # -P: a file in the folder that we stand in is not taken for a module.
        self.command = list(command) or [sys.executable, "-P", "-m", "excerpts.studio.worker"]
        self.longest = longest
        self._workers: list[_Worker] = []
        self._ready = selectors.DefaultSelector()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for worker in self._workers:
            worker.tell_to_end(now=kind is not None)
        for worker in self._workers:
            worker.end()
        self._ready.close()

    def run(self, orders: Sequence[Order]) -> Iterator[tuple[int, Answer]]:
        """Do all orders; each answer comes as soon as it is there, with the place of its order.

        An order whose process dies, or takes too long, is answered by {"failed": why}.
        """
        waiting = list(enumerate(orders))[::-1]
        for _ in range(min(self.jobs, len(waiting))):
            self._start(waiting.pop())
        while self._workers:
            limit = min(worker.deadline for worker in self._workers) - time.monotonic()
            ready = [key.data for key, _ in self._ready.select(max(limit, 0.0))]
            late = [w for w in self._workers if w not in ready and w.deadline <= time.monotonic()]
            for worker in late:
                worker.kill()
                yield (
                    worker.place,
                    {"failed": f"it took longer than {self.longest:.0f} seconds and was stopped."},
                )
                self._replace(worker, waiting)
            for worker in ready:
                answer = worker.answer()
                if answer is None:  # the line is not whole yet
                    continue
                yield worker.place, answer
                if not worker.alive:
                    self._replace(worker, waiting)
                elif waiting:
                    worker.order(*waiting.pop(), self.longest)
                else:
                    self._drop(worker)

    def _start(self, order: tuple[int, Order]) -> None:
        worker = _Worker(self.command)
        self._workers.append(worker)
        self._ready.register(worker.told, selectors.EVENT_READ, worker)
        worker.order(*order, self.longest)

    def _replace(self, worker: _Worker, waiting: list[tuple[int, Order]]) -> None:
        self._drop(worker)
        if waiting:
            self._start(waiting.pop())

    def _drop(self, worker: _Worker) -> None:
        self._ready.unregister(worker.told)
        self._workers.remove(worker)
        worker.tell_to_end()
        worker.end()


class _Worker:
    """One process."""

    def __init__(self, command: Sequence[str]) -> None:
        self.said: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 (closed in `end`)
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self.said, bufsize=0
        )
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.orders: IO[bytes] = self.process.stdin
        self.told: IO[bytes] = self.process.stdout
        self.place = -1
        self.deadline = 0.0
        self.alive = True
        self._line = b""

    def order(self, place: int, order: Order, longest: float) -> None:
        """Give an order; a process that has died by now is seen when it is asked for the answer."""
        self.place = place
        self.deadline = time.monotonic() + longest
        try:
            self.orders.write(json.dumps(order).encode() + b"\n")
        except BrokenPipeError:
            self.alive = False

    def answer(self) -> Answer | None:
        """The answer as far as it has come: None while it is not whole."""
        data = self.told.read(1 << 20)
        if not data:
            self.alive = False
            return {"failed": f"the process that built it ended ({self._end()})."}
        self._line += data
        if not self._line.endswith(b"\n"):
            return None
        answer: Answer = json.loads(self._line)
        self._line = b""
        return answer

    def _end(self) -> str:
        """How it ended, and the last that it said."""
        status = self.process.wait()
        how = f"signal {-status}" if status < 0 else f"status {status}"
        self.said.seek(0)
        lines = self.said.read().decode("utf-8", "replace").split("\n")
        last = next((line.strip() for line in reversed(lines) if line.strip()), "")
        return f"{how}: {last[:300]}" if last else how

    def kill(self) -> None:
        """End it at once."""
        self.process.kill()
        self.alive = False

    def tell_to_end(self, *, now: bool = False) -> None:
        """Let it end when it has done its order, or now."""
        if not self.orders.closed:
            self.orders.close()
        if now:
            self.process.terminate()

    def end(self) -> None:
        """Wait for its end; kill it when it does not come."""
        try:
            self.process.wait(_GRACE)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self.told.close()
        self.said.close()
