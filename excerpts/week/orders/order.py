"""One thing that a week asks for in notes: how it is made, and what keeps it from being made."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

from excerpts.errors import FailedVariantError, InputError, VariantError
from excerpts.weekfile.item_values import sentence
from excerpts.weekfile.lines import KeyPath

_LOGGER = logging.getLogger("excerpts")

_Made = TypeVar("_Made")


class Guard:
    """Makes variants, and remembers which of them failed.

    Attributes:
        faults: The variants that failed through a fault of ours, with their passages and what went wrong.
    """

    def __init__(self) -> None:
        self.faults: list[str] = []

    def guarded(self, name: str, place: str, make: Callable[[], _Made]) -> _Made:
        """Make something from a variant; every error becomes a refusal, so that it does not stop a workbook.

        Raises:
            VariantError: It does not fit; a `FailedVariantError`, told in `faults`, where the fault is ours.
        """
        try:
            return make()
        except VariantError:
            raise
        except InputError as error:
            raise VariantError(error.what, where=error.where or place, hint=error.hint) from error
        except MemoryError:
            raise
        except Exception as error:
            _LOGGER.debug("The variant %r of %s failed.", name, place, exc_info=True)
            self.faults.append(f"'{name}' of {place} ({type(error).__name__}: {error})")
            raise FailedVariantError(f"'{name}' could not be made.", where=place) from error


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is to be told of an order.

    Attributes:
        path: The key that it is about.
        message: What was found, in a sentence.
        stops: It stops the workbook. If not, the workbook is made, with or without the thing.
    """

    path: KeyPath
    message: str
    stops: bool = True


class ReasonsError(InputError):
    """Something cannot be made, for one or more reasons with their own keys in the file.

    Attributes:
        reasons: Each reason with its key; empty when another order failed first, which says why.
    """

    def __init__(self, reasons: Iterable[tuple[KeyPath, str]] = ()) -> None:
        self.reasons = tuple(reasons)
        super().__init__(" ".join(message for _, message in self.reasons))


class Order(Generic[T]):
    """One thing to be made: it is made once, when it is first asked for.

    A variant or a drill that does not fit its music (VariantError) is left out of a workbook; whatever else fails
    stops it.

    Args:
        path: The key of the week file that asks for it.
        make: Makes it.
        name: The variant, where it is one.
        remarks: What is worth telling of it though it is made.
        instead: The variant that is printed where this one cannot be made; "" for none.
    """

    def __init__(
        self,
        path: KeyPath,
        make: Callable[[], T],
        name: str = "",
        remarks: Callable[[T], Iterable[Trouble]] | None = None,
        instead: str = "",
    ) -> None:
        self.path = path
        self.name = name
        self._make = make
        self._left_out = (
            f"It is left out; '{instead}' is printed in its place." if instead else "It is left out."
        )
        self._remarks = remarks
        self._made: tuple[T] | None = None
        self._error: InputError | None = None

    def made(self) -> T:
        """What was asked for.

        Raises:
            VariantError: It does not fit its music.
            InputError: It cannot be made.
        """
        if self._made is None and self._error is None:
            try:
                self._made = (self._make(),)
            except InputError as error:
                self._error = error
        if self._made is None:
            assert self._error is not None  # one of the two is there
            raise self._error
        return self._made[0]

    @property
    def is_made(self) -> bool:
        """Whether it can be made."""
        try:
            self.made()
        except InputError:
            return False
        return True

    def troubles(self) -> tuple[Trouble, ...]:
        """What keeps it from being made, or is worth telling."""
        try:
            made = self.made()
        except ReasonsError as error:
            return tuple(Trouble(path, message) for path, message in error.reasons)
        except FailedVariantError as failure:
            text = f"{sentence(failure)} This is a fault of the program, not of the file. {self._left_out}"
            return (Trouble(self.path, text, stops=False),)
        except VariantError as refusal:
            return (Trouble(self.path, f"{sentence(refusal)} {self._left_out}", stops=False),)
        except InputError as error:
            return (Trouble(self.path, sentence(error)),)
        return tuple(self._remarks(made)) if self._remarks else ()


def at(path: KeyPath, make: Callable[[], T]) -> T:
    """Make something, and place its error at a key of its own.

    Raises:
        ReasonsError: It cannot be made.
    """
    try:
        return make()
    except ReasonsError:
        raise
    except InputError as error:
        raise ReasonsError([(path, sentence(error))]) from error


def needed(order: Order[T]) -> T:
    """The result of another order that this one needs.

    Raises:
        ReasonsError: It cannot be made, which is told there.
    """
    try:
        return order.made()
    except InputError as error:
        raise ReasonsError from error
