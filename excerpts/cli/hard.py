"""`excerpts hard`: the bars of a part with the most left-hand work, for the teacher."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final, cast

from excerpts.cli.command import Arg
from excerpts.cli.fingering import (
    BassFingers,
    Extensions,
    InstrumentName,
    OpenStrings,
    Positions,
    Tone,
    tell,
    wishes,
)
from excerpts.cli.options import Force, PartName, ScoreFile, WordsName, print_json, warn, writes
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from excerpts.instruments.instrument import Level
    from excerpts.lefthand.work import WorkPassage
    from excerpts.teacher.hard_bars import HardBars

_ENDINGS: Final = (".svg", ".pdf")
_LEVELS: Final = ("first", "lower", "middle", "upper", "advanced")
_LISTED: Final = 12
"""Bars of the list."""


def hard(
    score: ScoreFile,
    output: Annotated[Path | None, writes(_ENDINGS, "without it, a list")] = None,
    part: PartName = None,
    boxes: Annotated[
        bool, Arg("--boxes", help="Print the passages as boxes to copy into a week file.")
    ] = False,
    level: Annotated[
        str,
        Arg(
            "--level",
            choices=_LEVELS,
            help=f"The player's level, which says how many passages: {', '.join(_LEVELS)}.",
        ),
    ] = "middle",
    as_json: Annotated[bool, Arg("--json", help="Print all bars as JSON.")] = False,
    instrument: InstrumentName = None,
    positions: Positions = None,
    extensions: Extensions = None,
    tone: Tone = None,
    open_strings: OpenStrings = None,
    bass_fingers: BassFingers = None,
    words: WordsName = None,
    force: Force = False,
) -> None:
    """List the bars of a part with the most left-hand work, and why; for the teacher."""
    if output is not None:
        check_output(output, _ENDINGS, force=force)
    from excerpts.lefthand.fingering import finger_part
    from excerpts.lefthand.read_part import read_part
    from excerpts.log.next_week_draft import MOST_BOXES
    from excerpts.score import open_score
    from excerpts.teacher.hard_bars import hard_bars
    from excerpts.words import Words

    read = read_part(open_score(score).part(part), instrument, hand=bass_fingers)
    proposed = finger_part(read, wishes(positions, extensions, tone, open_strings))
    tell(read)
    warn(*(f"{score.name}: {line}" for line in proposed.warnings))
    made = hard_bars(proposed, Words(words or "uk"))
    chosen = made.passages(MOST_BOXES[cast("Level", level)])
    if output is not None:
        write_whole(output, _drawn(made, chosen, output.suffix.lower()))
        print(output)
    if as_json:
        print_json(made.as_json(chosen))
    elif boxes:
        print(made.boxes(chosen))
    elif output is None:
        print("\n".join(_lines(made, chosen)))


def _drawn(made: HardBars, chosen: Sequence[WorkPassage], suffix: str) -> bytes:
    from excerpts.teacher.strip import strip_svg

    if suffix == ".svg":
        return strip_svg(made, chosen, made.title)
    from excerpts.teacher.document import strip_pdf

    return strip_pdf(made, chosen)


def _lines(made: HardBars, chosen: Sequence[WorkPassage]) -> Iterator[str]:
    words = made.words
    yield made.title
    for bar in made.hardest(_LISTED):
        yield f"{made.label(bar.measure):>6} {bar.load:6.1f}  {'; '.join(made.reasons([bar]))}"
    if chosen:
        yield ""
        yield words("hard.passages")
        yield from (f"{number:>6}  {line}" for number, line in enumerate(made.told(chosen), start=1))
