"""The arguments that several commands take, declared once."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from excerpts.cli.command import Arg
from excerpts.editions import SHEETS
from excerpts.errors import InputError
from excerpts.words import choices

if TYPE_CHECKING:
    from datetime import date
    from fractions import Fraction

    from excerpts.log import Log
    from excerpts.week import Week

ScoreFile = Annotated[Path, Arg(help="A score: MusicXML, or kern, MEI, ABC or MIDI.")]
WeekFile = Annotated[Path, Arg(help="A week file (TOML).", there=True)]
StudioFolder = Annotated[Path, Arg(help="Folder of a studio.")]
PartName = Annotated[str | None, Arg("--part", help="Name, id, or #2 for the second part.")]
VoiceName = Annotated[str | None, Arg("--voice", help="Only this voice of the part.")]
StaffNumber = Annotated[int | None, Arg("--staff", help="Only this staff of the part.")]
VariantNames = Annotated[list[str] | None, Arg("--variant", help="A practice variant; may be repeated.")]
PaperName = Annotated[
    str | None, Arg("--paper", choices=SHEETS, help="For .pdf: a4, letter, phone or large (print).")
]
WordsName = Annotated[
    str | None,
    Arg("--words", choices=choices, help=lambda: f"Words to print in: {', '.join(choices())}. Default: uk."),
]
LogFile = Annotated[Path | None, Arg("--log", help="The log; default: beside the week file.")]
PdfFile = Annotated[Path, Arg("-o", "--output", help="The PDF to write.")]
Force = Annotated[bool, Arg("--force", help="Overwrite an existing file.")]


def writes(endings: Sequence[str], otherwise: str = "") -> Arg:
    """The option for the file to write.

    Args:
        endings: What it may end in.
        otherwise: What the command does without it.
    """
    return Arg("-o", "--output", help=f"File to write: {', '.join(endings)}{otherwise and '; '}{otherwise}.")


def day(text: str | None, option: str) -> date | None:
    """The day that an option names, in any layout that leaves no doubt; None where it is left out.

    Raises:
        InputError: The calendar has no such day, or it could be two.
    """
    from excerpts.weekfile.cells import Dates

    try:
        return Dates().read(text) if text is not None else None
    except ValueError as error:
        raise InputError(f"{option}: {error}") from error


def log_of(week: Week, file: Path | None) -> tuple[Path, Log]:
    """The log of a week, and where it is; says so where the usual place is another player's.

    Args:
        week: The week.
        file: The log, where an option names it.
    """
    from excerpts.log import another_has_the_name, log_path, read_log

    path = file or log_path(week)
    if file is None and (another := another_has_the_name(week, path)):
        warn(another)
    return path, read_log(path, week.player.name)


def print_json(facts: dict[str, Any]) -> None:
    """Print facts as JSON, on many lines."""
    import json

    print(json.dumps(facts, ensure_ascii=False, indent=2))


def exact(value: Fraction) -> int | str:
    """A length for JSON: a whole number where it is one, else an exact fraction as text."""
    return value.numerator if value.denominator == 1 else str(value)


def pages(count: int) -> str:
    """How many pages a file has, in words."""
    return f"{count} page{'' if count == 1 else 's'}"


def warn(*lines: object) -> None:
    """Say lines on the error stream, each once."""
    for line in dict.fromkeys(lines):
        print(f"excerpts: {line}", file=sys.stderr)
