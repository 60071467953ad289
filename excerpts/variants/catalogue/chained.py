"""Chains: a note, a beat or a bar more at each step, from the front or the back, and a window that moves on."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Voice
from excerpts.variants.chains import (
    Unit,
    backwards,
    bars_of,
    beats_of,
    chain,
    growing,
    notes_of,
    windows,
)
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import where
from excerpts.variants.registry import Variant, VariantInfo, check_whole_number

_WIDTH: Final = "5"
_FAULTS: Final = ("memory", "reading", "speed")

Steps = Callable[[int], list[tuple[int, int]]]


def _apply(
    line: Voice, parameter: str, name: str, units: Callable[[Voice], list[Unit]], steps: Steps
) -> Voice:
    del parameter
    parts = units(line)
    return chain(line, name, parts, steps(len(parts)))


def check_window(parameter: str) -> None:
    """Refuse a parameter that is no number of notes.

    Raises:
        VariantError: It is not a whole number from 2 to 16.
    """
    check_whole_number("window", parameter, 2, 16, "number of notes")


def window(line: Voice, parameter: str) -> Voice:
    """Play some notes, then as many from the next note on.

    Raises:
        VariantError: The box has fewer notes than the window.
    """
    width = int(parameter or _WIDTH)
    units = notes_of(line)
    if len(units) <= width:
        raise VariantError(
            f"window:{width} needs more than {width} notes; {box_bars(line)}: there are {len(units)}.",
            where=where(line),
            hint="Choose a smaller window or more bars.",
        )
    return chain(line, f"window:{width}", units, windows(len(units), width))


def _growing(name: str, units: Callable[[Voice], list[Unit]], steps: Steps, order: int) -> Variant:
    return Variant(
        VariantInfo(name, _FAULTS, order=order, kind="chain"),
        on_line=partial(_apply, name=name, units=units, steps=steps),
    )


VARIANTS = (
    _growing("add-a-note", notes_of, growing, 80),
    _growing("add-a-beat", beats_of, growing, 81),
    _growing("add-a-bar", bars_of, growing, 82),
    _growing("backwards", notes_of, backwards, 83),
    _growing("last-bar-first", bars_of, backwards, 84),
    Variant(
        VariantInfo("window", ("memory", "shift", "uneven"), parameter="NOTES", order=85, kind="chain"),
        on_line=window,
        check=check_window,
    ),
)
