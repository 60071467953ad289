"""`excerpts sound`: the sound files of a week."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final, Literal

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, WeekFile, warn
from excerpts.cli.sound_options import AS_WRITTEN, SOUNDS, Playing
from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from collections.abc import Callable

    from excerpts.recordings.week_sound import WeekSound

MOST_MINUTES: Final = 120
MOST_MB: Final = 100
"""More than this is made only when it is asked for twice."""


def sound(
    week: WeekFile,
    output: Annotated[Path, Arg("-o", "--output", help="A folder for the sound files.")],
    steps: Annotated[
        Literal["ends", "all"],
        Arg("--steps", choices=("ends", "all"), help="Tempo steps of a box: today's and the goal, or all."),
    ] = "ends",
    together: Annotated[bool, Arg("--all", help="Also one file with all the steps of each box.")] = False,
    tuning: Annotated[
        Literal["pure", "equal"],
        Arg(
            "--tuning", choices=("pure", "equal"), help="Open strings: pure fifths, or equal beside a piano."
        ),
    ] = "pure",
    kind: Annotated[
        str, Arg("--as", choices=[suffix[1:] for suffix in SOUNDS], help="Kind of file.")
    ] = "mp3",
    yes: Annotated[
        bool, Arg("--yes", help=f"Make more than {MOST_MINUTES} minutes or {MOST_MB} MB without asking.")
    ] = False,
    force: Force = False,
    playing: Playing = AS_WRITTEN,
) -> None:
    """Write the sound files of a week: boxes at today's tempo and the goal, scales over a drone, strings to tune to."""
    if playing.of_all_parts or playing.drone is not None:
        raise InputError(
            "--drone, --without and --with are for single passages.",
            hint="excerpts cut takes them; scales have their drone.",
        )
    from dataclasses import replace

    from excerpts.recordings.week_sound import AS_USUAL, WeekSound
    from excerpts.week import load_week
    from excerpts.week.measured import week_music
    from excerpts.week.plan import Plan, plan_week
    from excerpts.week.sound_files import has_notes, sound_files

    loaded, suffix = load_week(week), f".{kind}"
    plan = plan_week(loaded, week_music(loaded)) if steps == "all" or together else Plan(())
    days = {box.id: len(plan.days_of(box=box.id)) for box in loaded.boxes}
    files = sound_files(loaded, steps, together=together, a=playing.a, days=days)
    playback = replace(
        AS_USUAL, click=playing.click, gap=playing.gap, repeats=playing.repeats == "played",
        intonation=playing.intonation, a=playing.a,
        count_in=AS_USUAL.count_in if playing.count_in is None else playing.count_in,
        times=playing.times or AS_USUAL.times,
    )  # fmt: skip
    warn(
        *(
            f'{week}: the box "{box.id}" is cut from a page, and sound needs notes: its bars may be typed as ABC (abc) '
            "besides."
            for box in loaded.boxes
            if box.place is None and not has_notes(box, loaded)
        )
    )
    made = WeekSound(loaded, files, playback, tuning)
    minutes, megabytes = made.seconds / 60, made.megabytes(suffix)
    if (minutes > MOST_MINUTES or megabytes > MOST_MB) and not yes:
        raise InputError(
            f"this would be {minutes:.0f} minutes and {megabytes:.0f} MB of sound.",
            where=str(week),
            hint="Add --yes to make it all the same, or take fewer --times or --steps.",
        )
    if not output.is_dir():
        check_output(output)
        output.mkdir()
    paths = [output / f"{file.name}{suffix}" for file in files]
    for path in paths:
        check_output(path, force=force)
    size = _write(made, paths, suffix)
    warn(*made.unplayed, *filter(None, [made.not_to_share]))
    print(f"{len(files)} files, {minutes:.1f} minutes, {size / 1e6:.1f} MB. {PURPOSE}")


PURPOSE: Final = (
    "For notes, rhythm and pitch; not for tone or bowing. Keep it soft; stop when it rings; rest."
)


def _write(made: WeekSound, paths: list[Path], suffix: str) -> int:
    """Write all files, and give their size in bytes."""
    total = 0
    with _bar(len(paths)) as step:
        for file, path in zip(made.files, paths, strict=True):
            data = made.made(file, suffix)
            write_whole(path, data)
            total += len(data)
            print(path)
            step()
    return total


@contextmanager
def _bar(count: int) -> Iterator[Callable[[], None]]:
    """A bar on the terminal that fills file by file; nothing where the output goes elsewhere."""
    import sys

    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("sound", total=count)
        yield lambda: bar.advance(task)
