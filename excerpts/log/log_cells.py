"""Cells of the log: free text made safe for a spreadsheet, bars, tempos and counts, and back.

A cell that starts with =, +, - or @ is a formula to a spreadsheet, so an apostrophe is put before it (OWASP,
"CSV Injection"); reading takes it off again.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from excerpts.excerpt import Tempo
from excerpts.weekfile.cells import taken_for_dates
from excerpts.weekfile.tempo_text import beat_name, number_text, parse_tempo
from excerpts.words import Words

MOST_RUNS: Final = 999
LONGEST: Final = 2000
"""Characters of a note."""

_FORMULA: Final = re.compile(r"'*[=+\-@＝＋－＠]")
_ESCAPED: Final = re.compile(r"'+[=+\-@＝＋－＠]")
_INVISIBLE: Final = frozenset({"Cc", "Cs", "Zl", "Zp"})
_TURNING: Final = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff")


def plain(text: str) -> str:
    """A text as the log holds it: one line, without signs that cannot be seen.

    Raises:
        ValueError: It is too long.
    """
    seen = "".join(
        " " if unicodedata.category(char) in _INVISIBLE else "" if char in _TURNING else char for char in text
    )
    one_line = " ".join(seen.split())
    if len(one_line) > LONGEST:
        raise ValueError(f"This text is longer than {LONGEST} characters.")
    return one_line


def escaped(text: str) -> str:
    """A text as a cell that no spreadsheet takes for a formula."""
    return f"'{text}" if _FORMULA.match(text) else text


def unescaped(cell: str) -> str:
    """The text of a cell."""
    return cell[1:] if _ESCAPED.match(cell) else cell


def read_bars(cell: str) -> str:
    """Bars; where a spreadsheet made a date of them that can only be one range, that range."""
    ranges = taken_for_dates(cell)
    return ranges[0] if len(ranges) == 1 else unescaped(cell)


def read_count(cell: str) -> int | None:
    """Clean runs in a row; None for an empty cell.

    Raises:
        ValueError: It is no count.
    """
    if not cell:
        return None
    if re.fullmatch(r"[0-9]{1,3}", cell):
        return int(cell)
    raise ValueError(f'"{cell}" is not a number of clean runs (0 to {MOST_RUNS}).')


def read_tempo(number: str, unit: str) -> Tempo | None:
    """A tempo out of its number and its beat in words, UK or US; None when both cells are empty.

    Raises:
        ValueError: One is missing, or it is no tempo.
    """
    if not number and not unit:
        return None
    if not number:
        raise ValueError(f'The beat is "{unit}", but the tempo has no number.')
    if not unit:
        raise ValueError(f'The tempo {number} has no beat: put "crotchet" or "dotted quarter" under unit.')
    return parse_tempo(f"{unit} = {number}")


def tempo_cells(tempo: Tempo | None, words: Words) -> tuple[str, str]:
    """Number and beat of a tempo as cells."""
    if tempo is None:
        return "", ""
    return number_text(tempo.number), beat_name(tempo.unit, file_words(words))


def file_words(words: Words) -> Words:
    """The words for tempos in files: of the two columns of English, which are read again."""
    return Words("us" if words.column == "us" else "uk")
