"""Opening a score file, whatever it is written in."""

from __future__ import annotations

from pathlib import Path

from excerpts.errors import ArgumentError
from excerpts.score.files import read_bytes, unwrap
from excerpts.score.foreign import foreign_format, open_foreign
from excerpts.score.parse import parse_score
from excerpts.score.score import Score


def open_score(path: str | Path) -> Score:
    """Open a score file.

    MusicXML (.musicxml, .xml, .mxl; partwise or timewise) is read as it is. Humdrum kern, MEI, MIDI and ABC
    are converted, and the score's warnings say what that may lose.

    Raises:
        ScoreError: The file cannot be read, or holds no score.
        ArgumentError: It is no path.
    """
    if not isinstance(path, str | Path):
        raise ArgumentError(
            f"a score is opened by its path, not by a value of type {type(path).__name__}.",
            hint='Write open_score("minuet.musicxml").',
        )
    path = Path(path)
    data = read_bytes(path)
    form = foreign_format(path, data)
    if form is not None:
        return open_foreign(path, data, form)
    return Score(parse_score(unwrap(data, str(path)), str(path)), str(path))
