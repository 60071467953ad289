"""Puts questions to a teacher and reads the answers; what cannot be read is asked again, and "<" goes one back.

Whoever asks goes through all the questions in one function. When an answer is taken back the function is run once
more, and the answers before it are given by themselves: no question has to know which one came before it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, TypeVar

from pydantic import ValidationError

from excerpts.errors import InputError
from excerpts.weekfile.faults import message_of

_Value = TypeVar("_Value")

BACK: Final = "<"
"""What is typed to go one question back."""


class _TakenBackError(Exception):
    """The last answer was taken back."""


class Answers:
    """Puts questions and reads the answers.

    Args:
        ask: Puts a question and gives the line that is answered.
        say: Tells something.
    """

    def __init__(self, ask: Callable[[str], str], say: Callable[[str], None]) -> None:
        self._ask = ask
        self._say = say
        self._given: list[str] = []
        self._next = 0

    def all_of(self, questions: Callable[[], Iterator[_Value]]) -> Iterator[tuple[int, _Value]]:
        """What a function that asks gives, numbered; after an answer was taken back, from the first on again."""
        while True:
            self._next = 0
            try:
                yield from enumerate(questions())
                return
            except _TakenBackError:
                continue

    def line(self, question: str) -> str:
        """The line that a question is answered with, now or before an answer was taken back."""
        if self._next == len(self._given):
            line = self._ask(question).strip()
            if line == BACK:
                del self._given[-1:]
                raise _TakenBackError
            self._given.append(line)
        self._next += 1
        return self._given[self._next - 1]

    def say(self, line: str) -> None:
        """Tell something, unless it was told before an answer was taken back."""
        if self._next == len(self._given):
            self._say(line)

    def get(self, question: str, read: Callable[[str], _Value], usual: _Value | None = None) -> _Value:
        """Ask until the answer can be used.

        Args:
            question: What is asked.
            read: Makes the value of an answer; raises ValueError or InputError when it cannot. It may ask itself.
            usual: What an empty answer means; without it an empty answer is asked again.
        """
        while True:
            before = self._next
            answer = self.line(question)
            if not answer and usual is not None:
                return usual
            try:
                return read(answer)
            except (ValueError, InputError) as error:
                del self._given[before:]
                self._next = before
                self.say(f"  {_message(error)}")

    def some(self, question: str, read: Callable[[str], _Value]) -> _Value | None:
        """Ask for something that may be left out by an empty answer."""
        value = self.get(question, lambda answer: (read(answer),) if answer else ())
        return value[0] if value else None


def _message(error: ValueError | InputError) -> str:
    if isinstance(error, ValidationError):
        return message_of(error.errors()[0], None)
    return str(error)
