"""`excerpts cut`: bars out of a score, as music or as pages."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from excerpts.cli.cutting import SUFFIXES, cut_music
from excerpts.cli.look import PAPER_OPTION, WORDS_OPTION, look
from excerpts.cli.quick import MOST_CONTEXT


def cut(
    score: Annotated[
        Path, typer.Argument(help="A score: MusicXML, or kern, MEI, ABC or MIDI.", show_default=False)
    ],
    address: Annotated[
        list[str],
        typer.Argument(
            help="Bars: 12, 12-16, 12:3-16:1, C-D (rehearsal marks), @1-@4 (places).", show_default=False
        ),
    ],
    output: Annotated[
        Path,
        typer.Option("-o", "--output", help=f"File to write: {', '.join(SUFFIXES)}.", show_default=False),
    ],
    part: Annotated[
        str | None,
        typer.Option("--part", help="Name, id, #2 for the second part, or all for the whole score."),
    ] = None,
    context: Annotated[
        int, typer.Option("--context", min=0, max=MOST_CONTEXT, help="Bars before and after.")
    ] = 1,
    variant: Annotated[
        list[str] | None, typer.Option("--variant", help="A practice variant; may be repeated.")
    ] = None,
    voice: Annotated[str | None, typer.Option("--voice", help="Only this voice of the part.")] = None,
    staff: Annotated[int | None, typer.Option("--staff", help="Only this staff of the part.")] = None,
    paper: Annotated[str | None, PAPER_OPTION] = None,
    words: Annotated[str | None, WORDS_OPTION] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print what was done as JSON.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> None:
    """Cut bars out of a score, with a bar of context, as they stand or as practice variants."""
    cut_music(
        score=score,
        address=address,
        output=output,
        part=part,
        context=context,
        variant=variant or (),
        voice=voice,
        staff=staff,
        look=look(paper, words),
        as_json=as_json,
        force=force,
    )
