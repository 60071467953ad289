"""`excerpts cut`: bars out of a score, as music or as pages."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from excerpts.cli.command import Arg
from excerpts.cli.options import (
    Force,
    PaperName,
    ScoreFile,
    StaffNumber,
    VariantNames,
    VoiceName,
    WordsName,
    exact,
    print_json,
    warn,
    writes,
)
from excerpts.cli.sound_options import AS_WRITTEN, Playing
from excerpts.cli.ways_out import MUSIC, SHEETS
from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from excerpts.engrave import Missing
    from excerpts.excerpt import Excerpt
    from excerpts.score import Part, Score

_MOST_CONTEXT = 16


def cut(
    score: ScoreFile,
    address: Annotated[
        list[str], Arg(help="Bars: 12, 12-16, 12:3-16:1, C-D (rehearsal marks), @1-@4 (places).")
    ],
    output: Annotated[Path, writes([*MUSIC, *SHEETS])],
    part: Annotated[
        str | None, Arg("--part", help="Name, id, #2 for the second part, or all for the whole score.")
    ] = None,
    context: Annotated[int, Arg("--context", high=_MOST_CONTEXT, help="Bars before and after.")] = 1,
    variant: VariantNames = None,
    voice: VoiceName = None,
    staff: StaffNumber = None,
    paper: PaperName = None,
    words: WordsName = None,
    as_json: Annotated[bool, Arg("--json", help="Print what was done as JSON.")] = False,
    force: Force = False,
    playing: Playing = AS_WRITTEN,
) -> None:
    """Cut bars out of a score, with a bar of context, as they stand or as practice variants."""
    suffix = output.suffix.lower()
    check_output(output, (*MUSIC, *SHEETS), force=force)
    playing.check(suffix)
    wanted = variant or []
    if suffix in MUSIC and (len(address) > 1 or len(wanted) > 1):
        raise InputError(
            f"a {suffix} file holds one passage in one variant.",
            where=str(output),
            hint="Give one address and at most one --variant, or write a .pdf or .svg.",
        )
    from excerpts.score import open_score

    opened = open_score(score)
    if playing.of_all_parts:
        part = _all_parts(part)
    if _is_whole(opened, part):
        _check_whole(score, bool(wanted) or voice is not None or staff is not None)
        from excerpts.score.whole import whole_passage

        made = [whole_passage(opened, text).cut(context) for text in address]
    else:
        made = _of_part(opened.part(part), address, context, wanted, (voice, staff))
    missing: Sequence[tuple[Missing, ...]] = [()]
    if suffix in MUSIC:
        data = MUSIC[suffix](made[0], playing, opened)
    else:
        from excerpts.cli.commands import hear
        from excerpts.workbook.look import look
        from excerpts.workbook.sheet_blocks import passages

        hear()
        sheet = passages(made, look(paper, words).on(suffix))
        data, missing = SHEETS[suffix](sheet), sheet.missing
    write_whole(output, data)
    _say(made, missing, output, as_json)


def _check_whole(score: Path, chosen: bool) -> None:
    if chosen:
        raise InputError(
            "variants, --voice and --staff need a single part.",
            where=str(score),
            hint="Name one part with --part instead of all.",
        )


def _all_parts(part: str | None) -> str:
    if part not in {None, "all"}:
        raise InputError("--without and --with choose among all parts.", hint="Leave out --part.")
    return "all"


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
            from excerpts.score.extract_voice import extract_voice

            part = extract_voice(part, voice, staff)
        return [part.passage(text).cut(context) for text in address]
    from excerpts.variants import vary

    # The note that a passage runs into stands in the bar after, so a variant always looks at one.
    passages = [part.passage(text).cut(max(context, 1)) for text in address]
    return [vary(whole, text, voice=voice, staff=staff) for whole in passages for text in wanted]


def _say(made: list[Excerpt], missing: Sequence[tuple[Missing, ...]], output: Path, as_json: bool) -> None:
    if as_json:
        both = zip(made, missing, strict=True)
        facts = {"file": str(output), "excerpts": [_facts(e) | _not_printed(lost) for e, lost in both]}
        print_json(facts)
        return
    for excerpt, lost in zip(made, missing, strict=True):
        warnings = [line for line in excerpt.report if line.action == "warning"]
        for line in (*warnings, *dict.fromkeys(lost)):
            warn(f"{excerpt.origin.score}: {line}")
    print(output)


def _not_printed(missing: tuple[Missing, ...]) -> dict[str, Any]:
    return {"missing": [{"bar": m.bar, "what": m.what, "count": m.count, "of": m.of} for m in missing]}


def _facts(excerpt: Excerpt) -> dict[str, Any]:
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
            {"id": r.id, "action": r.action, "what": r.what, "bar": r.bar, "detail": r.detail}
            for r in excerpt.report
        ],
    }
