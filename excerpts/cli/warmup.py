"""`excerpts warmup`: scales and arpeggios in any key."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

import typer

from excerpts.cli.output import check_output, write_whole
from excerpts.cli.packed import packed
from excerpts.errors import InputError

SUFFIXES: Final = (".pdf", ".svg", ".musicxml", ".mxl", ".mid")


def warmup(
    key: Annotated[
        list[str], typer.Argument(help='Keys: D, Bb, "F# minor", "A-flat melodic minor".', show_default=False)
    ],
    output: Annotated[
        Path,
        typer.Option("-o", "--output", help=f"File to write: {', '.join(SUFFIXES)}.", show_default=False),
    ],
    instrument: Annotated[str, typer.Option("--instrument", help="violin, viola, cello or bass.")] = "violin",
    level: Annotated[
        str | None, typer.Option("--level", help="first, lower, middle, upper or advanced.")
    ] = None,
    octaves: Annotated[
        int | None, typer.Option("--octaves", help="Default: the most that fit the level.")
    ] = None,
    start: Annotated[str | None, typer.Option("--from", help="Written note to start on, as A3.")] = None,
    pattern: Annotated[
        list[str] | None, typer.Option("--pattern", help="scale or arpeggio; may be repeated.")
    ] = None,
    variant: Annotated[
        list[str] | None, typer.Option("--variant", help="A practice variant; may be repeated.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file of yours.")] = False,
) -> None:
    """Make scales and arpeggios: up and down, the top note once."""
    from excerpts.warmups import warmup as make

    suffix = output.suffix.lower()
    check_output(output, SUFFIXES, force=force)
    patterns, variants = list(pattern or ["scale"]), list(variant or [])
    wanted = [(k, p, v or None) for k in key for p in patterns for v in variants or [""]]
    if suffix in (".musicxml", ".mxl", ".mid") and len(wanted) > 1:
        raise InputError(
            f"a {suffix} file holds one warm-up.",
            where=str(output),
            hint="Give one key, one pattern and at most one variant, or write a .pdf or .svg.",
        )
    made = [
        make(k, instrument=instrument, level=level, octaves=octaves, start=start, pattern=p, variant=v)
        for k, p, v in wanted
    ]
    match suffix:
        case ".musicxml":
            data = made[0].xml
        case ".mxl":
            data = packed(made[0].xml)
        case ".mid":
            from excerpts.engrave.midi import write_midi

            data = write_midi(made[0])
        case _:
            from excerpts.cli.sheet import warmups_as_pdf, warmups_as_svg

            data = warmups_as_svg(made) if suffix == ".svg" else warmups_as_pdf(made)
    write_whole(output, data)
    typer.echo(str(output))
