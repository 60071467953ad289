"""`excerpts variants`: the practice variants there are, or all that fit some bars, in notes."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, PaperName, PartName, StaffNumber, VoiceName, WordsName, warn
from excerpts.cli.ways_out import SHEETS
from excerpts.errors import InputError, VariantError
from excerpts.system.output import check_output, write_whole
from excerpts.words import Words
from excerpts.workbook.look import look

if TYPE_CHECKING:
    from excerpts.excerpt import Excerpt

_COLUMN: Final = 24
"""As wide as most names are with what may follow them; longer ones get a line of their own."""


def variants(
    score: Annotated[Path | None, Arg(help="A score: try all variants on some of its bars.")] = None,
    address: Annotated[str | None, Arg(help="The bars, as for cut.")] = None,
    output: Annotated[
        Path | None, Arg("-o", "--output", help="Print them in notes, as a .pdf; without it they are listed.")
    ] = None,
    part: PartName = None,
    voice: VoiceName = None,
    staff: StaffNumber = None,
    paper: PaperName = None,
    words: WordsName = None,
    force: Force = False,
) -> None:
    """List the practice variants with a line each; with a score and bars, make all that fit them."""
    chosen_look = look(paper, words)
    if score is None or address is None:
        if score is not None or output is not None:
            raise InputError("give a score and its bars: SCORE ADDRESS.")
        _list(chosen_look.words)
        return
    if output is not None:
        check_output(output, (".pdf",), force=force)
    made = _all_of(score, address, part, voice, staff)
    if output is None:
        for excerpt in made:
            print(excerpt.origin.variant)
        return
    from excerpts.workbook.sheet_blocks import variants as all_on_a_sheet

    sheet = all_on_a_sheet(made, chosen_look)
    write_whole(output, SHEETS[".pdf"](sheet))
    for excerpt, missing in zip(made, sheet.missing, strict=True):
        warn(*(f"{excerpt.origin.score}, {excerpt.origin.variant}: {one}" for one in missing))
    print(output)


def _list(words: Words) -> None:
    from excerpts.variants import instruction, title
    from excerpts.variants import variants as all_variants

    for info in all_variants():
        if len(info.usage) < _COLUMN:
            start = f"{info.usage:<{_COLUMN}}"
        else:
            start = f"{info.usage}\n{' ' * _COLUMN}"
        print(f"{start}{title(info.name, words)}: {instruction(info.name, words)}")
    print("\nStack them with +, in order: separate+long-short")


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
            made.append(_new(vary(passage, text, voice=voice, staff=staff), made))
        except VariantError as error:
            refused[text] = error
    if not made and refused:
        raise next(iter(refused.values()))
    for reason in dict.fromkeys(error.what for error in refused.values()):
        names = ", ".join(text for text, error in refused.items() if error.what == reason)
        print(f"not {names}: {reason}", file=sys.stderr)
    return made


def _new(made: Excerpt, before: Sequence[Excerpt]) -> Excerpt:
    """A variant, unless the same one with another parameter is the same music.

    Raises:
        VariantError: It is: `slur:3` of groups of four, from the beat, is `slur:3-1`.
    """
    name = made.origin.variant
    for other in before:
        alike = other.origin.variant.partition(":")[0] == name.partition(":")[0]
        if alike and other.xml == made.xml:
            raise VariantError(f"it is the same as {other.origin.variant} here.")
    return made
