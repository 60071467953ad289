"""`excerpts steps`: the tempos from a slow start to the goal, and a file to listen to at each of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, PartName, ScoreFile, StaffNumber, VoiceName
from excerpts.cli.sound_options import AS_WRITTEN, SOUNDS, Playing
from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole
from excerpts.words import Words, choices

if TYPE_CHECKING:
    from excerpts.excerpt import Excerpt, Tempo

_KINDS = ("mid", *(suffix[1:] for suffix in SOUNDS))

MOST_STEPS: Final = 20


def steps(
    score: ScoreFile,
    address: Annotated[str, Arg(help="The bars, as for cut.")],
    output: Annotated[Path | None, Arg("-o", "--output", help="A folder for files to listen to.")] = None,
    target: Annotated[
        str | None,
        Arg("--target", help='The goal: "crotchet = 92"; default: the tempo of the score.'),
    ] = None,
    start: Annotated[
        str | None,
        Arg(
            "--start",
            help='Where to begin: "quaver = 60", or 60 in the beat of the goal; default: half the goal.',
        ),
    ] = None,
    most: Annotated[
        int | None,
        Arg(
            "--most",
            low=1,
            high=MOST_STEPS,
            help="The most steps, however large they get; default: six, or more where a step would be over a fifth.",
        ),
    ] = None,
    half_and_full: Annotated[
        bool,
        Arg("--half-and-full", help="Half tempo and full tempo only, to play in turn."),
    ] = False,
    part: PartName = None,
    voice: VoiceName = None,
    staff: StaffNumber = None,
    variant: Annotated[str, Arg("--variant", help="A practice variant to play at each step.")] = "as-written",
    kind: Annotated[str, Arg("--as", choices=_KINDS, help="Kind of file.")] = "mid",
    words: Annotated[
        str | None, Arg("--words", choices=choices, help="Names of the beats: uk, us, …")
    ] = None,
    force: Force = False,
    playing: Playing = AS_WRITTEN,
) -> None:
    """List the tempo steps for some bars; with -o, write each as a file to listen to, after a bar of clicks."""
    from dataclasses import replace
    from math import prod

    from excerpts.notes.in_force import tempo_at_box
    from excerpts.score import open_score
    from excerpts.variants import parse_variant, vary
    from excerpts.weekfile.tempo_text import beat_name, number_text, tempo_text

    if half_and_full and start is not None:
        raise InputError(
            "--half-and-full begins at half the goal: leave out either --start or --half-and-full."
        )
    spoken = Words(words or "uk")
    passage = open_score(score).part(part).passage(address).cut(context=1)
    goal = _goal(target, tempo_at_box(passage))
    tempos = _steps(goal, start, most, half_and_full)
    made = vary(passage, variant, voice=voice, staff=staff)
    longer = prod(step.variant.info.longer for step in parse_variant(variant))
    if output is None:
        for tempo in tempos:
            print(tempo_text(tempo, spoken))
        return
    suffix = f".{kind}"
    playing.check(suffix)
    names = [
        f"{number}-{beat_name(tempo.unit, spoken).replace(' ', '-')}-{number_text(tempo.number)}{suffix}"
        for number, tempo in enumerate(tempos, start=1)
    ]
    written = [replace(tempo, unit=tempo.unit * longer) for tempo in tempos]
    playing = playing._replace(count_in=1 if playing.count_in is None else playing.count_in)
    files = zip([output / name for name in names], _files(made, written, suffix, playing), strict=True)
    if not output.is_dir():
        check_output(output)
        output.mkdir()
    for name in names:
        check_output(output / name, force=force)
    for path, data in files:
        write_whole(path, data)
        print(path)


def _files(made: Excerpt, tempos: Sequence[Tempo], suffix: str, playing: Playing) -> Iterator[bytes]:
    """The music at each tempo, all of one loudness."""
    if suffix == ".mid":
        from excerpts.sound.midi import write_midi

        for tempo in tempos:
            yield write_midi(made, tempo=tempo, count_in=playing.count_in or 0, click=playing.click)
        return
    from excerpts.cli.ways_out import sound_of
    from excerpts.sound.perform import perform
    from excerpts.sound.recording import gain_of

    playback = playing.playback(made)
    gain = gain_of(perform(made), playback, tempos[-1])
    for track, tempo in enumerate(tempos, start=1):
        yield sound_of(made, suffix, playback, tempo, track=track, gain=gain)


def _goal(target: str | None, written: Tempo | None) -> Tempo:
    from excerpts.weekfile.tempo_text import parse_tempo

    if target is None:
        if written is None:
            raise InputError(
                "the score gives no tempo here.", hint='Give the goal: --target "crotchet = 92".'
            )
        return written
    try:
        return parse_tempo(target)
    except ValueError as error:
        raise InputError(str(error), where="--target") from error


def _steps(goal: Tempo, start: str | None, most: int | None, half_and_full: bool) -> tuple[Tempo, ...]:
    from excerpts.variants.tempo_steps import WIDEST, half_and_whole, tempo_steps

    try:
        if half_and_full:
            return half_and_whole(goal)
        widest = None if most else WIDEST
        for count in range(most or 6, MOST_STEPS + 1):
            made = tempo_steps(_first(goal, start), goal.number, goal.unit, count, widest=widest)
            if made[-1].quarters_per_minute == goal.quarters_per_minute:
                break
        return made
    except ValueError as error:
        raise InputError(str(error), where="--start") from error


def _first(goal: Tempo, start: str | None) -> Fraction:
    """Where the steps begin, in beats of the goal a minute."""
    from excerpts.variants.tempo_steps import slow_start
    from excerpts.weekfile.tempo_text import parse_number, parse_tempo

    if start is not None and "=" not in start:
        return parse_number(start)
    first = slow_start(goal) if start is None else parse_tempo(start)
    return first.quarters_per_minute / goal.unit
