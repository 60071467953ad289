"""`excerpts fingering`: strings, positions and fingers of a part, as proposed by rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, PaperName, PartName, WordsName, print_json, warn, writes
from excerpts.cli.ways_out import MUSIC, SHEETS
from excerpts.errors import InputError
from excerpts.instruments.instrument import BASS_FINGERS
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from excerpts.excerpt import Excerpt
    from excerpts.lefthand.fingering import Fingering, Row
    from excerpts.lefthand.path import Wishes
    from excerpts.lefthand.read_part import PartNotes
    from excerpts.lefthand.write_fingers import Sign
    from excerpts.score import Passage

_ENDINGS = (".musicxml", ".mxl", *SHEETS)

InstrumentName = Annotated[
    str | None, Arg("--instrument", help="violin, viola, cello or bass, where the part's name does not tell.")
]
Positions = Annotated[
    str | None, Arg("--positions", help='The positions that were taught, as "1,3"; 0 is half position.')
]
Extensions = Annotated[str | None, Arg("--extensions", choices=("avoid",), help="avoid: for a small hand.")]
Tone = Annotated[
    str | None, Arg("--tone", choices=("dark", "bright"), help="dark: lower strings; bright: the highest.")
]
BassFingers = Annotated[
    str | None,
    Arg("--bass-fingers", choices=BASS_FINGERS, help="1-2-4 or 1-3-4, on the bass; default: 1-2-4."),
]
OpenStrings = Annotated[
    str | None, Arg("--open", choices=("never", "always"), help="Open strings; default: by rule.")
]


def fingering(
    score: Annotated[Path, Arg(help="A score, or a week file for one of its boxes.")],
    bars: Annotated[
        str | None, Arg(help="Bars, as for cut; default: the whole part. With a week file, the id of a box.")
    ] = None,
    output: Annotated[Path | None, writes(_ENDINGS, "without it they are listed")] = None,
    part: PartName = None,
    instrument: InstrumentName = None,
    positions: Positions = None,
    extensions: Extensions = None,
    tone: Tone = None,
    open_strings: OpenStrings = None,
    bass_fingers: BassFingers = None,
    every: Annotated[
        bool, Arg("--all", help="Write every finger, not only those that a player needs.")
    ] = False,
    marks: Annotated[bool, Arg("--marks", help="Print them as marks to copy into a week file.")] = False,
    as_json: Annotated[bool, Arg("--json", help="Print them as JSON.")] = False,
    paper: PaperName = None,
    words: WordsName = None,
    force: Force = False,
) -> None:
    """Propose strings, positions and fingers of a part for strings."""
    if output is not None:
        check_output(output, _ENDINGS, force=force)
    from excerpts.lefthand.fingering import finger_part
    from excerpts.lefthand.read_part import read_part
    from excerpts.lefthand.write_fingers import as_marks, signs, within

    asked = wishes(positions, extensions, tone, open_strings)
    if score.suffix.lower() == ".toml":
        passage, read, asked = _of_week(score, bars, asked, bass_fingers)
    else:
        from excerpts.score import open_score

        chosen = open_score(score).part(part)
        passage = chosen.passage(bars) if bars else chosen.whole()
        read = read_part(chosen, instrument, hand=bass_fingers)
    proposed = finger_part(read, asked)
    inside = replace(proposed, notes=tuple(one for one in proposed.notes if within(one, passage.span)))
    if not inside.notes:
        raise InputError(f"there are no notes in {passage.address}.", where=passage.part.where)
    tell(read)
    warn(*(f"{score.name}: {line}" for line in inside.warnings))
    written = signs(proposed, passage.span, every)
    if output is not None:
        _write(output, passage, read.marks, written, bars is not None, paper, words)
        print(output)
    if as_json:
        rows = [row.as_json() for row in inside.rows()]
        print_json({"format": 1, "part": passage.part.info.name, "notes": rows})
    elif marks:
        print("marks = [", *(f'  "{mark}",' for mark in as_marks(proposed, written)), "]", sep="\n")
    elif output is None:
        print("\n".join(_table(inside)))


def _of_week(
    path: Path, box_id: str | None, asked: Wishes, hand: str | None
) -> tuple[Passage, PartNotes, Wishes]:
    """A box of a week file, its part with the teacher's marks, and what player and piece ask for beside the options."""
    from excerpts.lefthand.path import Wishes, taught_positions
    from excerpts.lefthand.read_part import read_part
    from excerpts.week import load_week

    week = load_week(path)
    box = next((box for box in week.boxes if box.id == box_id and box.in_score), None)
    chosen = week.part(box.piece) if box and box.piece else None
    if box is None or box.piece is None or box.in_score is None or chosen is None:
        there = ", ".join(box.id for box in week.boxes if box.in_score)
        raise InputError(
            f"'{box_id or ''}' is no box with bars in a score, whose notes fingering needs.",
            where=str(path),
            hint=f"There are: {there}.",
        )
    piece, player = week.piece(box.piece), week.player
    read = read_part(
        chosen, player.instrument, (*piece.marks, *box.marks), piece.pupil_bars, hand or player.bass_fingers
    )
    taught = taught_positions(player.positions, player.level)
    asked = Wishes(
        asked.positions if asked.positions is not None else taught,
        asked.small_hand or player.extensions == "avoid",
        asked.tone or piece.tone or "",
        asked.open_strings or piece.open_strings or "",
    )
    return chosen.passage(box.in_score, piece.pupil_bars), read, asked


def tell(read: PartNotes) -> None:
    """Say which tempo was assumed, where the score tells none."""
    from excerpts.lefthand.read_part import USUAL_TEMPO

    if not read.tempo_told:
        warn(f"{read.part.score.name} says no tempo: crotchet = {USUAL_TEMPO} is assumed.")


def wishes(
    positions: str | None, extensions: str | None, tone: str | None, open_strings: str | None
) -> Wishes:
    """What the options ask for.

    Raises:
        InputError: `positions` are no numbers.
    """
    from excerpts.lefthand.path import Wishes

    taught = None
    if positions is not None:
        numbers = [one.strip() for one in positions.split(",")]
        if not all(one.isdecimal() and len(one) < 3 for one in numbers):
            raise InputError(
                f"--positions: '{positions}' are no positions.", hint='Write "1,3"; 0 is half position.'
            )
        taught = frozenset(map(int, numbers))
    return Wishes(taught, extensions == "avoid", tone or "", open_strings or "")


def _write(
    output: Path,
    passage: Passage,
    marks: Sequence[str],
    written: list[Sign],
    boxed: bool,
    paper: str | None,
    words: str | None,
) -> None:
    from excerpts.lefthand.write_fingers import with_fingers
    from excerpts.workbook.look import look

    chosen = look(paper, words)
    made: Excerpt = passage.cut(1 if boxed else 0, piece_marks=marks)
    made = with_fingers(made, written, chosen.words("fingering.proposed"))
    if not boxed:
        made = replace(made, boxes=())
    suffix = output.suffix.lower()
    if suffix in MUSIC:
        write_whole(output, MUSIC[suffix](made))
        return
    from excerpts.workbook.sheet_blocks import passages

    sheet = passages([made], chosen.on(suffix))
    write_whole(output, SHEETS[suffix](sheet))
    warn(*(f"{made.origin.score}: {line}" for lost in sheet.missing for line in lost))


def _table(proposed: Fingering) -> list[str]:
    """A line for each note."""
    lines = [f"{'bar':>6} {'beat':>6}  {'note':<6} {'string':<6} {'position':<10} {'finger':<6} sure"]
    for one in proposed.notes:
        rows = proposed.rows_of(one)
        lines += [_line(row, proposed.first_finger(one)) for row in rows]
    return lines


def _line(row: Row, first: str) -> str:
    from excerpts.instruments.instrument import NUMERALS

    head = f"{row.bar:>6} {'grace' if row.grace else row.beat:>6}  {row.pitch:<6} "
    if row.string is None:
        return f"{head}-"
    position = "half" if row.position == 0 else str(row.position)
    place = f"{position} on {first}" if first else position
    return f"{head}{NUMERALS[row.string - 1]:<6} {place:<10} {row.finger!s:<6} {row.sure:.2f}"
