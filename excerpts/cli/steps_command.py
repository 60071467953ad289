"""`excerpts steps`: the tempos from a slow start to the goal, and a MIDI file at each of them."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole
from excerpts.words import Words, choices

if TYPE_CHECKING:
    from excerpts.excerpt import Tempo


def steps(
    score: Annotated[Path, typer.Argument(help="A score.", show_default=False)],
    address: Annotated[str, typer.Argument(help="The bars, as for cut.", show_default=False)],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="A folder for the MIDI files.", show_default=False),
    ] = None,
    target: Annotated[
        str | None,
        typer.Option(
            "--target", help='The goal: "crotchet = 92"; default: the tempo of the score.', show_default=False
        ),
    ] = None,
    start: Annotated[
        str | None,
        typer.Option(
            "--start",
            help='Where to begin: "quaver = 60", or 60 in the beat of the goal; default: half the goal.',
            show_default=False,
        ),
    ] = None,
    most: Annotated[int, typer.Option("--most", min=1, max=20, help="How many steps at most.")] = 6,
    half_and_full: Annotated[
        bool,
        typer.Option("--half-and-full", help="Only half tempo and full tempo, to be played in turn."),
    ] = False,
    part: Annotated[str | None, typer.Option("--part", help="Name, id, or #2 for the second part.")] = None,
    voice: Annotated[str | None, typer.Option("--voice", help="Only this voice of the part.")] = None,
    staff: Annotated[int | None, typer.Option("--staff", help="Only this staff of the part.")] = None,
    variant: Annotated[
        str, typer.Option("--variant", help="A practice variant to play at each step.")
    ] = "as-written",
    click: Annotated[
        bool, typer.Option("--click", help="Keep the clicks of the count-in going to the end.")
    ] = False,
    words: Annotated[str | None, typer.Option("--words", help="Names of the beats: uk, us, …")] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite existing files.")] = False,
) -> None:
    """List the tempo steps of some bars; with -o, write each as MIDI, a bar of clicks before it."""
    from dataclasses import replace
    from math import prod

    from excerpts.notes.in_force import tempo_at_box
    from excerpts.score import open_score
    from excerpts.sound.midi import write_midi
    from excerpts.variants import parse_variant, vary
    from excerpts.weekfile.tempo_text import beat_name, number_text, tempo_text

    if half_and_full and start is not None:
        raise typer.BadParameter(
            "--half-and-full begins at half the goal: leave out either --start or --half-and-full",
            param_hint="--start",
        )
    if words is not None and words not in choices():
        raise typer.BadParameter(f"'{words}' is none of {', '.join(choices())}", param_hint="--words")
    spoken = Words(words or "uk")
    passage = open_score(score).part(part).passage(address).cut(context=1)
    goal = _goal(target, tempo_at_box(passage))
    tempos = _steps(goal, start, most, half_and_full)
    made = vary(passage, variant, voice=voice, staff=staff)
    longer = prod(step.variant.info.longer for step in parse_variant(variant))
    if output is None:
        for tempo in tempos:
            typer.echo(tempo_text(tempo, spoken))
        return
    files: list[tuple[Path, bytes]] = []
    for number, tempo in enumerate(tempos, start=1):
        beat = beat_name(tempo.unit, spoken).replace(" ", "-")
        path = output / f"{number}-{beat}-{number_text(tempo.number)}.mid"
        written = replace(tempo, unit=tempo.unit * longer)
        files.append((path, write_midi(made, tempo=written, count_in=True, click=click)))
    if not output.is_dir():
        check_output(output)
        output.mkdir()
    for path, _ in files:
        check_output(path, (".mid",), force=force)
    for path, data in files:
        write_whole(path, data)
        typer.echo(f"{path}")


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
        raise typer.BadParameter(str(error), param_hint="--target") from error


def _steps(goal: Tempo, start: str | None, most: int, half_and_full: bool) -> tuple[Tempo, ...]:
    from excerpts.variants.tempo_steps import half_and_whole, tempo_steps

    try:
        if half_and_full:
            return half_and_whole(goal)
        return tempo_steps(_first(goal, start), goal.number, goal.unit, most)
    except ValueError as error:
        raise typer.BadParameter(str(error), param_hint="--start") from error


def _first(goal: Tempo, start: str | None) -> Fraction:
    """Where the steps begin, in beats of the goal a minute."""
    from excerpts.variants.tempo_steps import slow_start
    from excerpts.weekfile.tempo_text import parse_number, parse_tempo

    if start is not None and "=" not in start:
        return parse_number(start)
    first = slow_start(goal) if start is None else parse_tempo(start)
    return first.quarters_per_minute / goal.unit
