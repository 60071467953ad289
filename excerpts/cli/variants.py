"""`excerpts variants`: the practice variants there are, or all that fit some bars, in notes."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from excerpts.cli.look import PAPER_OPTION, WORDS_OPTION, look
from excerpts.errors import VariantError
from excerpts.system.output import check_output, write_whole
from excerpts.words import Words

if TYPE_CHECKING:
    from excerpts.excerpt import Excerpt

_COLUMN: Final = 24
"""As wide as most names are with what may follow them; longer ones get a line of their own."""


def variants(
    score: Annotated[
        Path | None,
        typer.Argument(help="A score: try all variants on some of its bars.", show_default=False),
    ] = None,
    address: Annotated[str | None, typer.Argument(help="The bars, as for cut.", show_default=False)] = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            help="Print them in notes, as a .pdf; without it they are listed.",
            show_default=False,
        ),
    ] = None,
    part: Annotated[str | None, typer.Option("--part", help="Name, id, or #2 for the second part.")] = None,
    voice: Annotated[str | None, typer.Option("--voice", help="Only this voice of the part.")] = None,
    staff: Annotated[int | None, typer.Option("--staff", help="Only this staff of the part.")] = None,
    paper: Annotated[str | None, PAPER_OPTION] = None,
    words: Annotated[str | None, WORDS_OPTION] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> None:
    """List the practice variants with a line each; with a score and bars, make all that fit them."""
    chosen_look = look(paper, words)
    if score is None or address is None:
        if score is not None or output is not None:
            raise typer.BadParameter("give a score and its bars: SCORE ADDRESS")
        _list(chosen_look.words)
        return
    if output is not None:
        check_output(output, (".pdf",), force=force)
    made = _all_of(score, address, part, voice, staff)
    if output is None:
        for excerpt in made:
            typer.echo(excerpt.origin.variant)
        return
    from excerpts.cli.write_sheet import say_missing, variants_as_pdf

    drawn = variants_as_pdf(made, chosen_look)
    write_whole(output, drawn.data)
    for excerpt, missing in zip(made, drawn.missing, strict=True):
        say_missing(f"{excerpt.origin.score}, {excerpt.origin.variant}", missing)
    typer.echo(f"{output}")


def _list(words: Words) -> None:
    from excerpts.variants import instruction, title
    from excerpts.variants import variants as all_variants

    for info in all_variants():
        if len(info.usage) < _COLUMN:
            start = f"{info.usage:<{_COLUMN}}"
        else:
            start = f"{info.usage}\n{' ' * _COLUMN}"
        typer.echo(f"{start}{title(info.name, words)}: {instruction(info.name, words)}")
    typer.echo("\nStack them with +, in order: separate+long-short")


def _all_of(
    score: Path, address: str, part: str | None, voice: str | None, staff: int | None
) -> list[Excerpt]:
    """Every variant that fits the bars; why the others do not goes to the error stream.

    Raises:
        VariantError: None of them fits.
    """
    from excerpts.score import open_score
    from excerpts.variants import variants as all_variants
    from excerpts.variants import vary

    passage = open_score(score).part(part).passage(address).cut(context=1)
    made: list[Excerpt] = []
    refused: dict[str, VariantError] = {}
    for text in (text for info in all_variants() for text in info.examples):
        try:
            made.append(vary(passage, text, voice=voice, staff=staff))
        except VariantError as error:
            refused[text] = error
    if not made and refused:
        raise next(iter(refused.values()))
    for reason in dict.fromkeys(error.what for error in refused.values()):
        names = ", ".join(text for text, error in refused.items() if error.what == reason)
        print(f"not {names}: {reason}", file=sys.stderr)  # noqa: T201
    return made
