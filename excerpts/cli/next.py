"""`excerpts next`: the file of the week after, out of the week and what was written down."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple, cast

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, LogFile, day, log_of, warn, writes
from excerpts.errors import InputError, OutputError
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from excerpts.excerpt import Tempo
    from excerpts.log import Choices, NewBox, NextWeek
    from excerpts.log.offers import Way
    from excerpts.week import Week


class Decided(NamedTuple):
    """What the teacher decides; see `excerpts.log.choices`."""

    focus: Annotated[str | None, Arg("--focus", help="The focus of the new week.")] = None
    change: Annotated[
        list[str] | None,
        Arg("--change", help="ID=shorten, variant, simplify, park or resume; may be repeated."),
    ] = None
    begin: Annotated[
        list[str] | None, Arg("--begin", help="ID=66: the tempo at which a box starts; may be repeated.")
    ] = None
    keep: Annotated[
        list[str] | None,
        Arg("--keep", help="Leave as it is: the id of a box or piece, notes, private; may be repeated."),
    ] = None
    note: Annotated[list[str] | None, Arg("--note", help="A note for the player; may be repeated.")] = None
    box: Annotated[
        list[str] | None,
        Arg("--box", help='A new box, "PIECE BARS; WHY; GOAL": "song 20-21; shift, thumb late; 72".'),
    ] = None
    lighter: Annotated[
        bool, Arg("--lighter", help="After a rest: fewer minutes on the first days, lower starts.")
    ] = False


def next_week(
    week: Annotated[Path, Arg(help="The file of the week that has ended (TOML).", there=True)],
    decided: Decided,
    output: Annotated[Path | None, writes([".toml"], "default: beside it")] = None,
    start: Annotated[
        str | None, Arg("--start", help="First day: 2026-12-07; default: the day of the next lesson.")
    ] = None,
    until: Annotated[
        str | None,
        Arg("--until", help="Last day: 2026-12-13; default: as long as the last week, or seven days."),
    ] = None,
    again: Annotated[bool, Arg("--again", help="The same week again: nothing is decided.")] = False,
    log: LogFile = None,
    force: Force = False,
) -> None:
    """Write the next week's file, and say line by line what was changed and why."""
    from excerpts.log import next_week as make
    from excerpts.log.following_week import same_again
    from excerpts.week import load_week

    loaded = load_week(week)
    if output is not None:
        check_output(output, (".toml",), force=force)
    if again:
        if start or until or any(decided):
            raise InputError("--again decides nothing: leave the other options out.")
        _write(same_again(loaded, target=output), week, force)
        return
    _, book = log_of(loaded, log)
    book.refuse_unread()
    made = make(
        loaded,
        book.rows,
        target=output,
        start=day(start, "--start"),
        until=day(until, "--until"),
        choices=_choices(loaded, decided),
    )
    warn(*book.faults)
    _write(made, week, force)


def _write(made: NextWeek, old: Path, force: bool) -> None:
    if made.path.resolve() == old.resolve():
        raise OutputError(
            "this is the week that has ended; the new one needs a file of its own.", where=str(old)
        )
    check_output(made.path, (".toml",), force=force)
    write_whole(made.path, made.text.encode("utf-8"))
    for line in made.carried.lines:
        print(line)
    print(made.path)


def _choices(week: Week, decided: Decided) -> Choices:
    """The choices that the options say; whether they fit is said where the week is made."""
    from excerpts.log import Choices

    return Choices(
        focus=decided.focus,
        ways=_ways(decided.change or []),
        starts=_starts(week, decided.begin or []),
        kept=frozenset(_kept(week, name) for name in decided.keep or []),
        taken=frozenset(["rest"] if decided.lighter else []),
        notes=tuple(decided.note or []),
        boxes=tuple(map(_new_box, decided.box or [])),
    )


def _kept(week: Week, name: str) -> str:
    """What a name stands for in `Choices.kept`."""
    if name in ("notes", "private"):
        return name
    kinds = {piece.id: "piece" for piece in week.pieces}
    kinds |= {box.id: "box" for box in (*week.boxes, *week.retired)}
    if name not in kinds:
        raise InputError(
            f'--keep: there is no box or piece "{name}".',
            hint=f"There are: {', '.join(kinds)}, notes, private.",
        )
    return f"{kinds[name]} {name}"


def _starts(week: Week, begins: list[str]) -> dict[str, Tempo]:
    """The tempos at which boxes start, in the beats of their targets where no other is named."""
    from excerpts.log.choices import read_start

    boxes = {box.id: box for box in week.boxes}
    starts: dict[str, Tempo] = {}
    for text in begins:
        name, sign, tempo = (part.strip() for part in text.partition("="))
        if not sign or name not in boxes:
            hint = f"For instance: --begin {next(iter(boxes), 'run')}=66"
            raise InputError(f'--begin "{text}" is not a box of this week with its tempo.', hint=hint)
        try:
            starts[name] = read_start(tempo, boxes[name])
        except ValueError as error:
            raise InputError(f"--begin {name}: {error}") from error
    return starts


def _new_box(text: str) -> NewBox:
    """A box out of "PIECE BARS; WHY; GOAL"."""
    from excerpts.log import NewBox

    where, _, rest = (part.strip() for part in text.partition(";"))
    piece, _, bars = (part.strip() for part in where.partition(" "))
    if not bars:
        raise InputError(
            f'--box "{text}" is not a piece and its bars.', hint='For instance: --box "song 20-21"'
        )
    why, _, goal = (part.strip() for part in rest.partition(";"))
    return NewBox.typed(piece, bars, why, goal)


def _ways(changes: list[str]) -> dict[str, Way]:
    from excerpts.log.offers import WAYS
    from excerpts.weekfile.faults import nearest

    ways: dict[str, Way] = {}
    for change in changes:
        box, sign, way = (part.strip() for part in change.partition("="))
        if not sign or not box:
            raise InputError(f'--change "{change}" is not ID=WAY.', hint="For instance: --change run=shorten")
        if way not in WAYS:
            raise InputError(
                f'"{way}" is not a way to change a box.',
                hint=nearest(way, WAYS, f"There are: {', '.join(WAYS)}."),
            )
        if box in ways:
            raise InputError(f'The box "{box}" has two changes.', hint="Choose one.")
        ways[box] = cast("Way", way)
    return ways
