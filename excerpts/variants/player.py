"""Whose strings a variant speaks of: the instrument that is named, or the one that plays the part."""

from __future__ import annotations

from excerpts.errors import InputError, VariantError
from excerpts.instruments.instrument import INSTRUMENTS, Instrument, instrument, instrument_of_part_name
from excerpts.notes import Voice
from excerpts.variants.passage import where


def check_player(name: str, parameter: str) -> None:
    """Refuse a parameter that is no instrument.

    Raises:
        VariantError: There is no instrument of that name.
    """
    if parameter:
        try:
            instrument(parameter)
        except InputError as error:
            raise VariantError(f"'{name}:{parameter}': {error.what}", hint=f"Write {name}:viola.") from error


def player_of(line: Voice, name: str, parameter: str) -> Instrument:
    """The instrument.

    Args:
        line: The line of a box.
        name: Name of the variant, for messages.
        parameter: The instrument as typed; "" where the part's name tells it.

    Raises:
        VariantError: The part does not say who plays it.
    """
    player = instrument(parameter) if parameter else instrument_of_part_name(line.origin.part)
    if player is None:
        named = f"the part {line.origin.part!r}" if line.origin.part else "the passage"
        raise VariantError(
            f"{named} does not say which instrument plays it, so its open strings are not known.",
            where=where(line),
            hint=f"Name the instrument: {', '.join(f'{name}:{one}' for one in INSTRUMENTS)}.",
        )
    return player
