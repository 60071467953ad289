"""Parameters of variants that are whole numbers."""

from __future__ import annotations

import re

from excerpts.errors import VariantError


def check_whole_number(variant: str, parameter: str, least: int, most: int, what: str) -> None:
    """Refuse what is no whole number from `least` to `most` (below 100); no parameter is left to the variant.

    Args:
        variant: Its name as it is typed.
        parameter: What stands after the colon.
        least: The smallest number that is taken.
        most: The largest.
        what: What is counted, as in "number of notes".

    Raises:
        VariantError: It is none; the hint says what would be right.
    """
    if parameter and not (re.fullmatch(r"\d{1,2}", parameter) and least <= int(parameter) <= most):
        raise VariantError(
            f"{parameter!r} in '{variant}:{parameter}' is not a {what}.",
            hint=f"Give {least} to {most}, like {variant}:5.",
        )
