"""`excerpts demo`: the workbooks of three invented players."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from excerpts.cli.command import Arg
from excerpts.cli.options import Force
from excerpts.cli.week import build
from excerpts.system.output import check_output, make_folder
from excerpts.system.resources import scores
from excerpts.system.studio_files import workbook_path


def demo(
    out: Annotated[Path, Arg("--out", help="Folder to write to; made if it is not there.")] = Path("demo"),
    force: Force = False,
) -> None:
    """Build the demo workbooks: three invented players, our own music."""
    from excerpts.week import load_week

    make_folder(out, parents=False)
    weeks = [load_week(path) for path in sorted((scores() / "weeks").glob("*.toml"))]
    targets = [workbook_path(out, week.player.name, week.week.start) for week in weeks]
    for target in targets:
        check_output(target, (".pdf",), force=force)
    for week, target in zip(weeks, targets, strict=True):
        build(week, target)
