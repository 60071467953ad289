"""`excerpts annotate`: a whole part with its boxes drawn in."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, PaperName, PartName, WordsName, warn, writes
from excerpts.cli.ways_out import SHEETS
from excerpts.editions import EditionName
from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole
from excerpts.words import Words
from excerpts.workbook.look import Look, look

if TYPE_CHECKING:
    from excerpts.workbook.annotated import Annotated as Boxed
    from excerpts.workbook.paper_image import DrawnPaper


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
        drawn = _of_week(score, paper, words, output.suffix.lower())
    else:
        drawn = _drawn(_of_score(score, addresses, part), output.suffix.lower(), look(paper, words))
    write_whole(output, drawn)
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


def _of_week(path: Path, paper: str | None, words: str | None, suffix: str) -> bytes:
    from excerpts.week import load_week
    from excerpts.workbook.annotated import annotate_pages, annotate_week

    week = load_week(path)
    warn(*week.remarks)
    boxed = [(piece.title, one) for piece, one in annotate_week(week)]
    chosen_look = Look(week.edition(cast("EditionName | None", paper)), Words(words or week.player.words))
    pages = annotate_pages(week, chosen_look.on(suffix).style())
    if not boxed and not pages:
        raise InputError("none of its pieces has a score or pages with a box in them.", where=str(path))
    if pages and suffix != ".pdf":
        raise InputError("printed pages with their boxes can be written as .pdf only.", where=str(path))
    return _drawn(boxed, suffix, chosen_look, pages)


def _drawn(
    boxed: list[tuple[str, Boxed]],
    suffix: str,
    chosen_look: Look,
    pages: Sequence[tuple[str, DrawnPaper]] = (),
) -> bytes:
    from excerpts.engrave import engrave
    from excerpts.workbook.sheet_blocks import Block, Sheet

    style = chosen_look.on(suffix).style(grey_context=False, long_rests=True)
    blocks: list[Block] = []
    for title, one in boxed:
        origin = one.excerpt.origin
        line = " · ".join(text for text in (origin.composer, origin.part) if text)
        music = engrave(one.excerpt, style, one.labels)
        warn(*(f"{origin.score}: {missing}" for missing in music.missing))
        blocks.append((title, line, music))
    heads = dict.fromkeys([*(head for head, _, _ in blocks), *(head for head, _ in pages)])
    return SHEETS[suffix](Sheet(blocks, ", ".join(heads), chosen_look, pages=pages))
