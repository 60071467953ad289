"""`excerpts warmup`: scales, arpeggios and more in any key."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from excerpts.cli.command import Arg
from excerpts.cli.fingering import BassFingers
from excerpts.cli.options import Force, PaperName, VariantNames, WordsName, warn, writes
from excerpts.cli.sound_options import AS_WRITTEN, Playing
from excerpts.cli.ways_out import SHEETS, WARMUPS
from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole
from excerpts.workbook.look import Look, look

if TYPE_CHECKING:
    from excerpts.excerpt import Excerpt, Tempo


def _instruments() -> str:
    from excerpts.instruments.instrument import INSTRUMENTS

    return f"One of {', '.join(INSTRUMENTS)}."


def _levels() -> str:
    from excerpts.instruments.instrument import LEVELS

    return f"One of {', '.join(LEVELS)}."


def _patterns() -> str:
    from excerpts.warmups import PATTERNS

    return f"One of {', '.join(PATTERNS)}; may be repeated."


def warmup(
    output: Annotated[Path, writes([*SHEETS, *WARMUPS])],
    key: Annotated[
        list[str] | None,
        Arg(help='Keys: D, Bb, "F# minor", "A-flat melodic minor".'),
    ] = None,
    instrument: Annotated[str, Arg("--instrument", help=_instruments)] = "violin",
    bass_fingers: BassFingers = None,
    level: Annotated[str | None, Arg("--level", help=_levels)] = None,
    octaves: Annotated[
        int | None, Arg("--octaves", help="1 to 4. Default: the most that fit the level.")
    ] = None,
    start: Annotated[str | None, Arg("--from", help="Written note to start on, as A3.")] = None,
    pattern: Annotated[list[str] | None, Arg("--pattern", help=_patterns)] = None,
    variant: VariantNames = None,
    turn: Annotated[
        bool, Arg("--turn", help="Three octaves with the turn at the bottom: tonic, third, second.")
    ] = False,
    slur: Annotated[int | None, Arg("--slur", help="Notes to a bow: 2, 3, 4, 8 …")] = None,
    fingerings: Annotated[
        str | None,
        Arg(
            "--fingerings",
            help="open or fourth (first position), usual (beyond it), a finger to begin with (2), "
            "each finger (0123 0123), or none.",
        ),
    ] = None,
    tempo: Annotated[str | None, Arg("--tempo", help='"crotchet = 60", "dotted quarter = 44".')] = None,
    listed: Annotated[
        Path | None,
        Arg("--list", help="A list of scales (.toml, .csv): prints slips to draw from (.pdf)."),
    ] = None,
    paper: PaperName = None,
    words: WordsName = None,
    force: Force = False,
    playing: Playing = AS_WRITTEN,
) -> None:
    """Make scales, arpeggios, double stops and tone exercises in any key."""
    suffix = output.suffix.lower()
    if listed is not None:
        check_output(output, (".pdf",), force=force)
        if key:
            raise InputError("slips are printed from a list only.", hint="Leave out the keys, or --list.")
        write_whole(output, _slips(listed, look(paper, words)))
        print(output)
        return
    if not key:
        raise InputError("there is no key.", hint="Name one (D), or a list of scales (--list scales.toml).")
    check_output(output, (*SHEETS, *WARMUPS), force=force)
    playing.check(suffix, tonic=True)
    from excerpts.instruments.instrument import in_hand
    from excerpts.instruments.instrument_names import instrument as find_instrument
    from excerpts.warmups import Manner
    from excerpts.warmups import warmup as make

    patterns, variants = list(pattern or ["scale"]), list(variant or [])
    wanted = [(k, p, v or None) for k in key for p in patterns for v in variants or [""]]
    if suffix in WARMUPS and len(wanted) > 1:
        raise InputError(
            f"a {suffix} file holds one warm-up.",
            where=str(output),
            hint="Give one key, one pattern and at most one variant, or write a .pdf or .svg.",
        )
    chosen_look = look(paper, words)
    manner = Manner(turn, slur, fingerings, _tempo(tempo), playing.drone is not None)
    player = in_hand(find_instrument(instrument), bass_fingers)
    made = [
        make(
            k, instrument=player, level=level, octaves=octaves, start=start, pattern=p, variant=v,
            manner=manner, words=chosen_look.words,
        )
        for k, p, v in wanted
    ]  # fmt: skip
    warn(
        *(f"{one.origin.title}: {line.detail}" for one in made for line in one.report if line.what == "range")
    )
    write_whole(output, _file(suffix, made, chosen_look, level, playing))
    print(output)


def _slips(listed: Path, chosen_look: Look) -> bytes:
    from excerpts.week.orders.check import unplayable_rows
    from excerpts.weekfile.faults import WeekFaultsError
    from excerpts.weekfile.scale_list import read_list_file
    from excerpts.workbook.slips import build_slips

    file = read_list_file(listed)
    if faults := (*file.faults, *unplayable_rows(file)):
        raise WeekFaultsError(faults)
    return build_slips(file.scales, size=chosen_look.size, words=chosen_look.words)


def _tempo(text: str | None) -> Tempo | None:
    from excerpts.weekfile.tempo_text import parse_tempo

    if text is None:
        return None
    try:
        return parse_tempo(text)
    except ValueError as error:
        raise InputError(str(error)) from error


def _file(suffix: str, made: list[Excerpt], chosen_look: Look, level: str | None, playing: Playing) -> bytes:
    """The bytes of the file that was asked for."""
    if suffix in WARMUPS:
        return WARMUPS[suffix](made[0], playing)
    from excerpts.workbook.reader import reader
    from excerpts.workbook.sheet_blocks import warmups

    if level == "first":  # the large print of a beginner's workbook
        chosen_look = replace(chosen_look, staff_mm=reader(level, None).staff_mm)
    sheet = warmups(made, chosen_look.on(suffix))
    for excerpt, missing in zip(made, sheet.missing, strict=True):
        warn(*(f"{excerpt.origin.title}: {one}" for one in missing))
    return SHEETS[suffix](sheet)
