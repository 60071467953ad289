"""`excerpts warmup`: scales, arpeggios and more in any key."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Final

import typer

from excerpts.cli.look import PAPER_OPTION, WORDS_OPTION, Look, look
from excerpts.cli.packed import packed
from excerpts.errors import InputError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.instruments.instrument import INSTRUMENTS, LEVELS
from excerpts.system.output import check_output, write_whole
from excerpts.warmups import PATTERNS, Manner
from excerpts.warmups import warmup as make
from excerpts.warmups.drone import drone_of, with_drone_part, with_drone_track

SUFFIXES: Final = (".pdf", ".svg", ".musicxml", ".mxl", ".mid")


def warmup(
    output: Annotated[
        Path,
        typer.Option("-o", "--output", help=f"File to write: {', '.join(SUFFIXES)}.", show_default=False),
    ],
    key: Annotated[
        list[str] | None,
        typer.Argument(help='Keys: D, Bb, "F# minor", "A-flat melodic minor".', show_default=False),
    ] = None,
    instrument: Annotated[
        str, typer.Option("--instrument", help=f"One of {', '.join(INSTRUMENTS)}.")
    ] = "violin",
    level: Annotated[str | None, typer.Option("--level", help=f"One of {', '.join(LEVELS)}.")] = None,
    octaves: Annotated[
        int | None, typer.Option("--octaves", help="1 to 4. Default: the most that fit the level.")
    ] = None,
    start: Annotated[str | None, typer.Option("--from", help="Written note to start on, as A3.")] = None,
    pattern: Annotated[
        list[str] | None, typer.Option("--pattern", help=f"One of {', '.join(PATTERNS)}; may be repeated.")
    ] = None,
    variant: Annotated[
        list[str] | None, typer.Option("--variant", help="A practice variant; may be repeated.")
    ] = None,
    turn: Annotated[
        bool, typer.Option("--turn", help="Three octaves with the turn at the bottom: tonic, third, second.")
    ] = False,
    slur: Annotated[int | None, typer.Option("--slur", help="Notes to a bow: 2, 3, 4, 8 …")] = None,
    fingerings: Annotated[
        str | None,
        typer.Option(
            "--fingerings",
            help="open or fourth (first position), a finger to begin with (2), or each finger (0123 0123).",
        ),
    ] = None,
    tempo: Annotated[
        str | None, typer.Option("--tempo", help='"crotchet = 60", "dotted quarter = 44".')
    ] = None,
    drone: Annotated[
        bool, typer.Option("--drone", help="Add a tonic drone (.mid, .musicxml, .mxl).")
    ] = False,
    listed: Annotated[
        Path | None,
        typer.Option("--list", help="A list of scales (.toml, .csv): prints slips to draw from (.pdf)."),
    ] = None,
    paper: Annotated[str | None, PAPER_OPTION] = None,
    words: Annotated[str | None, WORDS_OPTION] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> None:
    """Make scales, arpeggios, double stops and tone exercises in any key."""
    suffix = output.suffix.lower()
    if listed is not None:
        check_output(output, (".pdf",), force=force)
        if key:
            raise InputError("slips are printed from a list only.", hint="Leave out the keys, or --list.")
        write_whole(output, _slips(listed, look(paper, words)))
        typer.echo(str(output))
        return
    if not key:
        raise InputError("there is no key.", hint="Name one (D), or a list of scales (--list scales.toml).")
    check_output(output, SUFFIXES, force=force)
    patterns, variants = list(pattern or ["scale"]), list(variant or [])
    wanted = [(k, p, v or None) for k in key for p in patterns for v in variants or [""]]
    if suffix in (".musicxml", ".mxl", ".mid") and len(wanted) > 1:
        raise InputError(
            f"a {suffix} file holds one warm-up.",
            where=str(output),
            hint="Give one key, one pattern and at most one variant, or write a .pdf or .svg.",
        )
    chosen_look = look(paper, words)
    manner = Manner(turn, slur, fingerings, _tempo(tempo), drone)
    made = [
        make(
            k, instrument=instrument, level=level, octaves=octaves, start=start, pattern=p, variant=v,
            manner=manner, words=chosen_look.words,
        )
        for k, p, v in wanted
    ]  # fmt: skip
    write_whole(output, _file(suffix, made, chosen_look, level))
    typer.echo(str(output))


def _slips(listed: Path, chosen_look: Look) -> bytes:
    from excerpts.week.check import unplayable_rows
    from excerpts.weekfile.faults import WeekFaultsError
    from excerpts.weekfile.scale_list import read_list_file
    from excerpts.workbook.slips import build_slips

    file = read_list_file(listed)
    if faults := (*file.faults, *unplayable_rows(file)):
        raise WeekFaultsError(faults)
    return build_slips(file.scales, paper=chosen_look.paper, words=chosen_look.words)


def _tempo(text: str | None) -> Tempo | None:
    from excerpts.weekfile.tempo_text import parse_tempo

    if text is None:
        return None
    try:
        return parse_tempo(text)
    except ValueError as error:
        raise InputError(str(error)) from error


def _file(suffix: str, made: list[Excerpt], chosen_look: Look, level: str | None) -> bytes:
    """The bytes of the file that was asked for."""
    if suffix in {".pdf", ".svg"}:
        from excerpts.cli.write_sheet import say_missing, warmups_as_pdf, warmups_as_svg
        from excerpts.workbook.reader import reader

        if level == "first":  # the large print of a beginner's workbook
            chosen_look = replace(chosen_look, staff_mm=reader(level, None).staff_mm)
        as_file = warmups_as_svg if suffix == ".svg" else warmups_as_pdf
        drawn = as_file(made, chosen_look)
        for excerpt, missing in zip(made, drawn.missing, strict=True):
            say_missing(excerpt.origin.title, missing)
        return drawn.data
    only = made[0]
    drone = drone_of(only)
    if suffix == ".mid":
        from excerpts.sound.midi import write_midi

        return with_drone_track(write_midi(only), drone) if drone else write_midi(only)
    xml = with_drone_part(only, drone) if drone else only.xml
    return packed(xml) if suffix == ".mxl" else xml
