"""Lets nothing that goes wrong with one variant stop a week."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import TypeVar

from excerpts.errors import FailedVariantError, InputError, VariantError

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
        """Make something of a variant; whatever goes wrong is a refusal, so that it stops no workbook.

        Args:
            name: The variant.
            place: The passage, as messages name it.
            make: Makes it.

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
