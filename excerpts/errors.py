"""The errors of the package: one base, each with its exit status and a sentence for a teacher."""

from __future__ import annotations


class ExcerptsError(Exception):
    """Base of every error that the package raises on purpose.

    Attributes:
        exit_status: What the command line exits with: 2 the user's input, 1 the machine's or our fault.
        what: What was found, in a sentence.
        where: The file and the bar, line or key it was found at; empty where there is none.
        hint: What would be right; empty where nothing useful can be said.
    """

    exit_status = 1

    def __init__(self, what: str, *, where: str = "", hint: str = "") -> None:
        self.what = what
        self.where = where
        self.hint = hint
        super().__init__(str(self))

    def __str__(self) -> str:
        text = f"{self.where}: {self.what}" if self.where else self.what
        return f"{text} {self.hint}" if self.hint else text


def file_of(error: OSError) -> str:
    """What an error of the machine is about, for a message: the file where it tells which."""
    return str(error.filename) if error.filename else "a file"


class InputError(ExcerptsError):
    """Something that the user gave cannot be used as it is."""

    exit_status = 2


class ArgumentError(InputError, ValueError):
    """A function of the package was given a value of a kind that it does not take."""


class ScoreError(InputError):
    """A score file cannot be read, or not as music."""


class PaperError(InputError):
    """Pages of printed music cannot be read, or an area of them cannot be taken."""


class AddressError(InputError):
    """An address names no bars of the part, or too many."""


class PartError(InputError):
    """A part is not in the score."""


class VariantError(InputError):
    """A variant is not known, or does not fit the passage: the message says which bars and why."""


class FailedVariantError(VariantError):
    """A variant failed through a fault of ours: a workbook leaves it out, and tells it as our fault."""

    exit_status = 1


class WarmupError(InputError):
    """A key, pattern or number of octaves that cannot be made."""


class WeekError(InputError):
    """A week file has something wrong in it."""


class OutputError(InputError):
    """The output cannot be written where it was asked for."""


class EngravingError(ExcerptsError):
    """The engraver gave nothing to print: the machine's fault or ours."""
