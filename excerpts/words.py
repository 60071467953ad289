"""Every text that is printed, by message id, in the player's own words: UK, US, or another language.

The texts stand in `templates/words/<language>.toml`, where a teacher can change them. A value is either
one text for everybody or a table with a `uk` and a `us` column. `{name}` marks where a parameter goes.
A file for another language needs no code: what it does not have yet is said in English.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Literal

from excerpts.system.resources import templates

Column = Literal["uk", "us"]

ENGLISH = "en"


class MissingWordError(KeyError):
    """A message id that the words file does not have: our fault, not the user's."""


@lru_cache(maxsize=8)
def _texts(language: str) -> dict[str, Any]:
    import tomllib  # not for a cut, which says nothing in words

    with (templates() / "words" / f"{language}.toml").open("rb") as file:
        return tomllib.load(file)


def choices() -> tuple[str, ...]:
    """What a week file may ask for as `words`: the two columns of English, then the other languages."""
    files = sorted(path.stem for path in (templates() / "words").glob("*.toml"))
    return ("uk", "us", *(name for name in files if name != ENGLISH))


def other_languages() -> list[Words]:
    """The words of every language but English."""
    return [Words(choice) for choice in choices() if choice not in ("uk", "us")]


def capital(text: str) -> str:
    """A text with its first letter large."""
    return text[:1].upper() + text[1:]


class Words:
    """The texts of one language and column.

    Args:
        choice: "uk" or "us" for English, else the name of a file in `templates/words/`, without its ending.
    """

    def __init__(self, choice: str = "uk") -> None:
        self.choice = choice
        self.column: Column = "us" if choice == "us" else "uk"
        self.language = ENGLISH if choice in ("uk", "us") else choice

    @property
    def tag(self) -> str:
        """The language as a tag of BCP 47: "en-GB", "de"."""
        return self("language.tag")

    def __call__(self, message: str, /, **parameters: object) -> str:
        """Give the text of `message` ("variant.slow.title") with its parameters filled in.

        Raises:
            MissingWordError: Neither the language's file nor the English one has such a message.
        """
        text = self._own(message)
        if text is None and self.language != ENGLISH:
            text = Words("uk")._own(message)
        if text is None:
            raise MissingWordError(message)
        return text.format(**parameters) if parameters else text

    def table(self, message: str) -> dict[str, str]:
        """All texts of a table by their own names, those that the language lacks in English."""
        names: Any = _texts(ENGLISH)
        for key in message.split("."):
            names = names[key]
        return {name: self(f"{message}.{name}") for name in names}

    def times(self, n: int) -> str:
        """How often: "once", "twice", "3 times"."""
        return self(f"times.{n}") if self.has(f"times.{n}") else self("times.any", n=n)

    def has(self, message: str) -> bool:
        """Whether there is such a message, in the language's own file or in the English one."""
        return message in self or message in Words()

    def __contains__(self, message: str) -> bool:
        """Whether the language's own file has the message."""
        return self._own(message) is not None

    def _own(self, message: str) -> str | None:
        value: Any = _texts(self.language)
        for key in message.split("."):
            if not isinstance(value, dict) or key not in value:
                return None
            value = value[key]
        if isinstance(value, dict):
            if self.column not in value:
                return None
            value = value[self.column]
        return str(value)
