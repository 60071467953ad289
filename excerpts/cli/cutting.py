"""The work of `excerpts cut`, without what reads command lines: plain cuts come here by a way of their own."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from excerpts.errors import InputError
from excerpts.score import Part, Score, open_score
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from excerpts.cli.look import Look
    from excerpts.engrave import Missing
    from excerpts.excerpt import Excerpt

SUFFIXES: Final = (".musicxml", ".mxl", ".svg", ".pdf", ".mid")
_ONE_ONLY: Final = (".musicxml", ".mxl", ".mid")


def cut_music(
    *,
    score: Path,
    address: list[str],
    output: Path,
    part: str | None,
    context: int,
    voice: str | None,
    staff: int | None,
    as_json: bool,
    force: bool,
    variant: Sequence[str] = (),
    look: Look | None = None,
) -> None:
    """Cut bars out of a score and write them; the values are those of the command."""
    suffix = output.suffix.lower()
    check_output(output, SUFFIXES, force=force)
    wanted = list(variant)
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
                "variants, --voice and --staff need a single part.",
                where=str(score),
                hint="Name one part with --part instead of all.",
            )
        if suffix == ".mid":
            raise InputError(
                "a .mid file holds a single part.", where=str(output), hint="Name one part with --part."
            )
        from excerpts.score.whole import whole_passage

        made = [whole_passage(opened, text).cut(context) for text in address]
    else:
        made = _of_part(opened.part(part), address, context, wanted, (voice, staff))
    data, missing = _written(made, suffix, look)
    write_whole(output, data)
    _say(made, missing, output, as_json)


def _is_whole(score: Score, part: str | None) -> bool:
    """Whether all parts are asked for, and none of them is called so."""
    if part is None:
        return False
    from excerpts.score.whole import ALL

    return part == ALL and not any(ALL in (info.name, info.id) for info in score.parts)


def _of_part(
    part: Part, address: list[str], context: int, wanted: list[str], chosen: tuple[str | None, int | None]
) -> list[Excerpt]:
    voice, staff = chosen
    if not wanted:
        if voice is not None or staff is not None:
            from excerpts.score.extract_voice import only

            part = only(part, voice, staff)
        return [part.passage(text).cut(context) for text in address]
    from excerpts.variants import vary

    # The note that a passage runs into stands in the bar after, so a variant always looks at one.
    passages = [part.passage(text).cut(max(context, 1)) for text in address]
    return [vary(whole, text, voice=voice, staff=staff) for whole in passages for text in wanted]


def _written(
    made: list[Excerpt], suffix: str, look: Look | None
) -> tuple[bytes, Sequence[tuple[Missing, ...]]]:
    """The bytes of the file, and what of each excerpt has no ink where it is drawn."""
    match suffix:
        case ".musicxml":
            return made[0].xml, [()]
        case ".mxl":
            from excerpts.cli.packed import packed

            return packed(made[0].xml), [()]
        case ".mid":
            from excerpts.sound.midi import write_midi

            return write_midi(made[0]), [()]
    from excerpts.cli.look import Look
    from excerpts.cli.write_sheet import passages_as_pdf, passages_as_svg

    as_file = passages_as_svg if suffix == ".svg" else passages_as_pdf
    return as_file(made, look or Look())


def _say(made: list[Excerpt], missing: Sequence[tuple[Missing, ...]], output: Path, as_json: bool) -> None:
    if as_json:
        import json

        both = zip(made, missing, strict=True)
        told = {"file": str(output), "excerpts": [_facts(e) | _not_printed(lost) for e, lost in both]}
        print(json.dumps(told, ensure_ascii=False, indent=2))  # noqa: T201
        return
    for excerpt, lost in zip(made, missing, strict=True):
        for line in excerpt.report:
            if line.action == "warning":
                print(f"excerpts: {excerpt.origin.score}: {line}", file=sys.stderr)  # noqa: T201
        if lost:
            from excerpts.cli.write_sheet import say_missing

            say_missing(excerpt.origin.score, lost)
    print(output)  # noqa: T201


def _not_printed(missing: tuple[Missing, ...]) -> dict[str, Any]:
    return {"missing": [{"bar": m.bar, "what": m.what, "count": m.count, "of": m.of} for m in missing]}


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
