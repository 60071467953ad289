"""Every text that is printed, by message id, in the player's own words (UK or US).

The texts stand in `templates/words/<language>.toml`, where a teacher can change them. A value is either
one text for everybody or a table with a `uk` and a `us` column. `{name}` marks where a parameter goes.
"""

from __future__ import annotations

import tomllib
from functools import lru_cache
from typing import Any, Literal

from excerpts.resources import templates

Column = Literal["uk", "us"]


class MissingWordError(KeyError):
    """A message id that the words file does not have: our fault, not the user's."""


@lru_cache(maxsize=8)
def _texts(language: str) -> dict[str, Any]:
    with (templates() / "words" / f"{language}.toml").open("rb") as file:
        return tomllib.load(file)


class Words:
    """The texts of one language and column.

    Args:
        column: "uk" or "us".
        language: Name of the file in `templates/words/`, without its ending.
    """

    def __init__(self, column: Column = "uk", language: str = "en") -> None:
        self.column: Column = column
        self.language = language

    def __call__(self, message: str, /, **parameters: object) -> str:
        """Give the text of `message` ("variant.slow.title") with its parameters filled in.

        Raises:
            MissingWordError: The file has no such message.
        """
        value: Any = _texts(self.language)
        for key in message.split("."):
            if not isinstance(value, dict) or key not in value:
                raise MissingWordError(message)
            value = value[key]
        if isinstance(value, dict):
            if self.column not in value:
                raise MissingWordError(message)
            value = value[self.column]
        return str(value).format(**parameters) if parameters else str(value)

    def __contains__(self, message: str) -> bool:
        try:
            self(message)
        except MissingWordError:
            return False
        except (KeyError, IndexError):
            return True
        return True
