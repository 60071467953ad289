"""Processes that build workbooks, several at a time; one that dies takes nothing with it but its own order."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from queue import SimpleQueue
from threading import Lock, Thread
from types import TracebackType
from typing import Any, Final, Self, TypeAlias

from excerpts.errors import ExcerptsError
from excerpts.system.child import Child, ChildDiedError

LONGEST: Final = 300
"""Seconds of processor time that one workbook may take; some two hundred boxes take a fifth of it."""

MEGABYTES: Final = 4000
"""Memory that it may have; a workbook takes a twentieth of it."""

_GRACE: Final = 5.0
"""Seconds in which a process that is told to end takes away what it was writing."""

Order: TypeAlias = dict[str, Any]
Answer: TypeAlias = dict[str, Any]


class HaltedError(ExcerptsError):
    """A build was ended by who had asked for it."""

    def __init__(self) -> None:
        super().__init__("it was stopped.")


class Halt:
    """By which one thread ends what another does."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._wanted = False
        self._ways: list[Callable[[], None]] = []

    @property
    def wanted(self) -> bool:
        """Whether it is to end."""
        return self._wanted

    def now(self) -> None:
        """End it."""
        with self._lock:
            self._wanted = True
            for way in self._ways:
                way()

    @contextmanager
    def by(self, way: Callable[[], None]) -> Iterator[None]:
        """Do some work that is ended in a certain way, which must not wait.

        Raises:
            HaltedError: It was ended, or was to end before it began.
        """
        with self._lock:
            if self._wanted:
                raise HaltedError
            self._ways.append(way)
        try:
            yield
        finally:
            with self._lock:
                self._ways.remove(way)
        if self._wanted:
            raise HaltedError


class Builders:
    """Do orders in processes of their own. Use it in a `with`: what still runs at its end is ended.

    Args:
        jobs: How many at a time.
        module: What serves the orders.
        longest: Seconds of processor time that one order may take.
        news: Told what an order tells meanwhile, with its place; it is called in other threads.
    """

    def __init__(
        self,
        jobs: int,
        module: str = "excerpts.studio.worker",
        longest: int = LONGEST,
        news: Callable[[int, Any], None] | None = None,
    ) -> None:
        self._news = news
        self.longest = longest
        self.children = [Child(module, megabytes=MEGABYTES, heard=False) for _ in range(jobs)]
        self._waiting: list[tuple[int, Order]] = []
        self._answers: SimpleQueue[tuple[int, Answer] | None] = SimpleQueue()
        self._threads: list[Thread] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._waiting.clear()
        for kill in (False, True):
            for child in self.children if any(thread.is_alive() for thread in self._threads) else ():
                child.interrupt(kill=kill)
            for thread in self._threads:
                thread.join(_GRACE)

    def run(self, orders: Sequence[Order]) -> Iterator[tuple[int, Answer]]:
        """Do all orders; each answer comes as soon as it is there, with the place of its order.

        An order whose process dies, or takes too long, is answered by {"failed": why}. After `halt` no more
        answers come.
        """
        self._waiting = list(enumerate(orders))[::-1]
        for child in self.children[: len(orders)]:
            child.start()
            thread = Thread(target=self._serve, args=(child,), daemon=True)
            self._threads.append(thread)
            thread.start()
        for _ in orders:
            answer = self._answers.get()
            if answer is None:
                return
            yield answer

    def halt(self) -> None:
        """End all work; another thread may do so."""
        self._waiting.clear()
        self._answers.put(None)  # before an answer that tells how a process ended
        for child in self.children:
            child.interrupt()

    def _serve(self, child: Child) -> None:
        """Let one process do orders until there are no more."""
        while True:
            try:
                place, order = self._waiting.pop()
            except IndexError:
                child.stop()
                return
            self._answers.put((place, self._answer(child, place, order)))

    def _answer(self, child: Child, place: int, order: Order) -> Answer:
        def heard(news: bytes) -> None:
            if self._news is not None:
                self._news(place, json.loads(news))

        try:
            (answer,) = child.ask(json.dumps(order).encode(), seconds=self.longest, news=heard)
        except ChildDiedError as error:
            if error.late:
                return {"failed": f"it {error.reason}."}
            return {"failed": f"the process that built it ended ({error.ended})."}
        facts: Answer = json.loads(answer)
        return facts
