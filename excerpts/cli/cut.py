"""`excerpts cut`: bars out of a score, as music or as pages."""

from __future__ import annotations

import json
import sys
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from excerpts.cli.look import PAPER_OPTION, WORDS_OPTION, Look, look
from excerpts.cli.packed import packed
from excerpts.errors import InputError
from excerpts.output import check_output, write_whole
from excerpts.score import Part, Score, open_score
from excerpts.score.select import only
from excerpts.score.whole import ALL, whole_passage

if TYPE_CHECKING:
    from excerpts.excerpt import Excerpt

SUFFIXES: Final = (".musicxml", ".mxl", ".svg", ".pdf", ".mid")
_ONE_ONLY: Final = (".musicxml", ".mxl", ".mid")


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
    context: Annotated[int, typer.Option("--context", min=0, max=16, help="Bars before and after.")] = 1,
    variant: Annotated[
        list[str] | None, typer.Option("--variant", help="A practice variant; may be repeated.")
    ] = None,
    voice: Annotated[str | None, typer.Option("--voice", help="Only this voice of the part.")] = None,
    staff: Annotated[int | None, typer.Option("--staff", help="Only this staff of the part.")] = None,
    paper: Annotated[str | None, PAPER_OPTION] = None,
    words: Annotated[str | None, WORDS_OPTION] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print what was done as JSON.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Write over a file of yours.")] = False,
) -> None:
    """Cut bars out of a score, with a bar of context, as they stand or as practice variants."""
    suffix = output.suffix.lower()
    check_output(output, SUFFIXES, force=force)
    wanted = list(variant or [])
    chosen_look = look(paper, words)
    if suffix in _ONE_ONLY and (len(address) > 1 or len(wanted) > 1):
        raise InputError(
            f"a {suffix} file holds one passage in one variant.",
            where=str(output),
            hint="Give one address and at most one --variant, or write a .pdf or .svg.",
        )
    opened = open_score(score)
    if _is_whole(opened, part):
        if wanted or voice is not None or staff is not None:
            raise InputError(
                "variants, --voice and --staff are of one part.",
                where=str(score),
                hint="Name the part by --part in place of all.",
            )
        if suffix == ".mid":
            raise InputError(
                "a .mid file is written of one part.", where=str(output), hint="Name the part by --part."
            )
        made = [whole_passage(opened, text).cut(context) for text in address]
    else:
        made = _of_part(opened.part(part), address, context, wanted, (voice, staff))
    write_whole(output, _written(made, suffix, chosen_look))
    _say(made, output, as_json)


def _is_whole(score: Score, part: str | None) -> bool:
    """Whether all parts are asked for, and none of them is called so."""
    return part == ALL and not any(ALL in (info.name, info.id) for info in score.parts)


def _of_part(
    part: Part, address: list[str], context: int, wanted: list[str], chosen: tuple[str | None, int | None]
) -> list[Excerpt]:
    voice, staff = chosen
    if not wanted:
        chosen_part = only(part, voice, staff)
        return [chosen_part.passage(text).cut(context) for text in address]
    from excerpts.practice import vary

    # The note that a passage runs into stands in the bar after, so a variant always looks at one.
    passages = [part.passage(text).cut(max(context, 1)) for text in address]
    return [vary(whole, text, voice=voice, staff=staff) for whole in passages for text in wanted]


def _written(made: list[Excerpt], suffix: str, chosen_look: Look) -> bytes:
    match suffix:
        case ".musicxml":
            return made[0].xml
        case ".mxl":
            return packed(made[0].xml)
        case ".mid":
            from excerpts.engrave.midi import write_midi

            return write_midi(made[0])
    from excerpts.cli.sheet import passages_as_pdf, passages_as_svg

    as_file = passages_as_svg if suffix == ".svg" else passages_as_pdf
    return as_file(made, chosen_look)


def _say(made: list[Excerpt], output: Path, as_json: bool) -> None:
    if as_json:
        typer.echo(
            json.dumps(
                {"file": str(output), "excerpts": [_facts(e) for e in made]}, ensure_ascii=False, indent=2
            )
        )
        return
    for excerpt in made:
        for line in excerpt.report:
            if line.action == "warning":
                print(f"excerpts: {excerpt.origin.score}: {line}", file=sys.stderr)  # noqa: T201
    typer.echo(f"{output}")


def _facts(excerpt: Excerpt) -> dict[str, Any]:
    def exact(value: Fraction) -> int | str:
        return value.numerator if value.denominator == 1 else str(value)

    return {
        "address": excerpt.origin.address,
        "part": excerpt.origin.part,
        "variant": excerpt.origin.variant,
        "bars": [
            {"place": b.place, "label": b.label, "start": exact(b.start), "length": exact(b.length)}
            for b in excerpt.bars
        ],
        "boxes": [
            {
                "from": {"bar": excerpt.bars[b.start.bar].label, "onset": exact(b.start.onset)},
                "to": {"bar": excerpt.bars[b.end.bar].label, "onset": exact(b.end.onset)},
            }
            for b in excerpt.boxes
        ],
        "tempo": None
        if excerpt.tempo is None
        else {"number": exact(excerpt.tempo.number), "unit": exact(excerpt.tempo.unit)},
        "open_ends": [
            {"kind": o.kind, "edge": o.edge, "bar": excerpt.bars[o.at.bar].label, "onset": exact(o.at.onset)}
            for o in excerpt.open_ends
        ],
        "report": [
            {"action": r.action, "what": r.what, "bar": r.bar, "detail": r.detail} for r in excerpt.report
        ],
    }
