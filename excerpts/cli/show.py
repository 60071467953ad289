"""`excerpts show`: what is in a score."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from excerpts.cli.showing import show_score


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
) -> None:
    """Show title, parts, bars, rehearsal marks, keys, times and tempi of a score."""
    show_score(score=score, as_json=as_json, boxes=boxes)
