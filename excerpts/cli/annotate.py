"""`excerpts annotate`: a whole part with its boxes drawn in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

from excerpts.cli.command import Arg
from excerpts.cli.look import Look, look
from excerpts.cli.options import Force, PaperName, PartName, WordsName, warn, writes
from excerpts.cli.ways_out import SHEETS
from excerpts.editions import EditionName
from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole
from excerpts.words import Words

if TYPE_CHECKING:
    from excerpts.workbook.annotated import Annotated as Boxed


def annotate(
    score: Annotated[Path, Arg(help="A score, or a week file for all its pieces.")],
    output: Annotated[Path, writes([*SHEETS])],
    address: Annotated[
        list[str] | None, Arg(help="Bars of each box: 12-16, 12:3-16:1; none for a week file.")
    ] = None,
    part: PartName = None,
    paper: PaperName = None,
    words: WordsName = None,
    force: Force = False,
) -> None:
    """Print a whole part with its boxes drawn in, numbered as in the workbook."""
    check_output(output, tuple(SHEETS), force=force)
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
    write_whole(output, _drawn(boxed, output.suffix.lower(), chosen_look))
    print(output)


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
    warn(*week.remarks)
    boxed = annotate_week(week)
    if not boxed:
        raise InputError("none of its pieces has both a score and a box with bars.", where=str(path))
    chosen_look = Look(week.edition(cast("EditionName | None", paper)), Words(words or week.player.words))
    return [(piece.title, one) for piece, one in boxed], chosen_look


def _drawn(boxed: list[tuple[str, Boxed]], suffix: str, chosen_look: Look) -> bytes:
    from excerpts.cli.write_sheet import Block, Sheet
    from excerpts.engrave import engrave

    style = chosen_look.on(suffix).style(grey_context=False, long_rests=True)
    blocks: list[Block] = []
    for title, one in boxed:
        origin = one.excerpt.origin
        line = " · ".join(text for text in (origin.composer, origin.part) if text)
        music = engrave(one.excerpt, style, one.labels)
        warn(*(f"{origin.score}: {missing}" for missing in music.missing))
        blocks.append((title, line, music))
    return SHEETS[suffix](Sheet(blocks, ", ".join(head for head, _, _ in blocks), chosen_look))
