"""`excerpts show`: what is in a score."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from excerpts.cli.look import chosen
from excerpts.cli.showing import show_score
from excerpts.words import choices


def show(
    score: Annotated[
        Path, typer.Argument(help="A score: MusicXML, or kern, MEI, ABC or MIDI.", show_default=False)
    ],
    as_json: Annotated[bool, typer.Option("--json", help="Print everything as JSON.")] = False,
    boxes: Annotated[
        bool,
        typer.Option(
            "--boxes",
            help="Show the passages that are marked in the score: by a bracket line, words in a rectangle, "
            "or notes in one colour.",
        ),
    ] = False,
    words: Annotated[
        str | None,
        typer.Option("--words", help=f"Words to use: {', '.join(choices())}; default: those of the studio."),
    ] = None,
) -> None:
    """Show title, parts, bars, rehearsal marks, keys, times and tempi of a score."""
    named = chosen(words, choices(), "--words") if words is not None else None
    show_score(score=score, as_json=as_json, boxes=boxes, words=named)
