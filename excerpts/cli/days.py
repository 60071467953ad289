"""Reads the days that options take."""

from __future__ import annotations

from datetime import date

from excerpts.errors import InputError


def day(text: str | None, option: str) -> date | None:
    """The day that an option names; None where it is left out.

    Raises:
        InputError: It is no day of the calendar.
    """
    from excerpts.weekfile.days import real_date

    try:
        return real_date(text) if text is not None else None
    except ValueError as error:
        raise InputError(f'{option} "{text}": {error}') from error
