"""`excerpts annotate`: a whole part with its boxes drawn in."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from excerpts.cli.look import PAPER_OPTION, WORDS_OPTION, Look, look
from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from excerpts.engrave import Engraving
    from excerpts.workbook.annotated import Annotated as Boxed

SUFFIXES: Final = (".pdf", ".svg")


def annotate(
    score: Annotated[
        Path, typer.Argument(help="A score, or a week file for all its pieces.", show_default=False)
    ],
    output: Annotated[
        Path,
        typer.Option("-o", "--output", help=f"File to write: {' or '.join(SUFFIXES)}.", show_default=False),
    ],
    address: Annotated[
        list[str] | None,
        typer.Argument(help="Bars of each box: 12-16, 12:3-16:1; none for a week file.", show_default=False),
    ] = None,
    part: Annotated[str | None, typer.Option("--part", help="Name, id, or #2 for the second part.")] = None,
    paper: Annotated[str | None, PAPER_OPTION] = None,
    words: Annotated[str | None, WORDS_OPTION] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> None:
    """Print a whole part with its boxes drawn in, numbered as in the workbook."""
    check_output(output, SUFFIXES, force=force)
    addresses = list(address or [])
    if score.suffix.lower() == ".toml":
        if addresses or part is not None:
            raise InputError(
                "a week file already says which bars are boxed, and in which part.",
                where=str(score),
                hint="Leave out the bars and --part.",
            )
        boxed, chosen_look = _of_week(score, paper, words)
    else:
        boxed, chosen_look = _of_score(score, addresses, part), look(paper, words)
    write_whole(output, _printed(boxed, output.suffix.lower(), chosen_look))
    typer.echo(str(output))


def _of_score(score: Path, addresses: list[str], part: str | None) -> list[tuple[str, Boxed]]:
    from excerpts.score import open_score
    from excerpts.workbook.annotated import annotate as box

    if not addresses:
        raise InputError(
            "no bars are given to box.", where=str(score), hint="Give them after the score, like 41-48."
        )
    opened = open_score(score)
    return [(opened.title or score.stem, box(opened.part(part), addresses))]


def _of_week(path: Path, paper: str | None, words: str | None) -> tuple[list[tuple[str, Boxed]], Look]:
    from excerpts.week import load_week
    from excerpts.workbook.annotated import annotate_week

    week = load_week(path)
    for told in week.unread_marks:
        typer.echo(f"excerpts: {told}", err=True)
    found = annotate_week(week)
    if not found:
        raise InputError("none of its pieces has both a score and a box with bars.", where=str(path))
    chosen_look = look(paper or week.paper, words or week.player.words)
    return [(piece.title, boxed) for piece, boxed in found], chosen_look


def _printed(boxed: list[tuple[str, Boxed]], suffix: str, chosen_look: Look) -> bytes:
    from excerpts.cli.write_sheet import say_missing
    from excerpts.engrave import engrave, stack_svg
    from excerpts.workbook import build_sheet

    style = replace(chosen_look, paged=suffix == ".pdf").style(grey_context=False)
    blocks: list[tuple[str, str, Engraving]] = []
    for title, one in boxed:
        line = " · ".join(text for text in (one.excerpt.origin.composer, one.excerpt.origin.part) if text)
        music = engrave(one.excerpt, style, one.labels)
        say_missing(one.excerpt.origin.score, music.missing)
        blocks.append((title, line, music))
    if suffix == ".svg":
        return stack_svg([music for _, _, music in blocks], headings=[title for title, _, _ in blocks])
    return build_sheet(
        blocks,
        paper=chosen_look.paper,
        title=", ".join(head for head, _, _ in blocks),
        words=chosen_look.words,
    )
