"""`excerpts paper`: what is seen on printed pages, drawn in and listed."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, warn
from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from excerpts.paper import PageSeen


def paper(
    file: Annotated[Path, Arg(help="A PDF, a picture, or a folder of pictures.")],
    output: Annotated[
        Path | None, Arg("-o", "--output", help="Folder for the pictures; default: beside it.")
    ] = None,
    page: Annotated[list[int] | None, Arg("--page", low=1, help="Only this page; may be repeated.")] = None,
    as_json: Annotated[bool, Arg("--json", help="Print what is found as JSON, in millimetres.")] = False,
    force: Force = False,
) -> None:
    """Draw the systems and barlines of printed pages in, with the numbers that a box names."""
    from excerpts.paper import COPYING, count, find_pages, picture

    if not file.exists():
        raise InputError("there is no such file or folder.", where=str(file))
    pages = find_pages(file)
    there = count(pages)
    wanted = page or list(range(1, there + 1))
    if any(number > there for number in wanted):
        raise InputError(f"there is no page {max(wanted)}: it has {there}.", where=str(file))
    folder = output or file.parent
    targets = {number: folder / f"{file.stem}-page-{number}.png" for number in wanted}
    for target in targets.values():
        if folder.is_dir():
            check_output(target, force=force)
    found = {number: picture(pages, number) for number in wanted}
    folder.mkdir(parents=True, exist_ok=True)
    for number, (_, png) in found.items():
        write_whole(targets[number], png)
    seen = {number: one for number, (one, _) in found.items()}
    if as_json:
        listed = [{"page": number, **asdict(one)} for number, one in seen.items()]
        print(json.dumps({"format": 1, "pages": listed}))
    else:
        print(
            "\n".join(line for number, one in seen.items() for line in _table(number, one, targets[number]))
        )
    warn(*(line for number, one in seen.items() for line in _doubts(file, number, one)), COPYING)


def _table(number: int, seen: PageSeen, target: Path) -> list[str]:
    """A page and its systems, a line each."""
    held = "drawn" if seen.dpi is None else f"{seen.dpi:.0f} dpi{', grey' if seen.grey else ''}"
    lines = [f"page {number} · {seen.width_mm:.0f} × {seen.height_mm:.0f} mm · {held} · {target}"]
    for place, system in enumerate(seen.systems, start=1):
        staves = "1 staff" if len(system.staves) == 1 else f"{len(system.staves)} staves"
        doubt = f" · unsure: {len(system.unsure)}" if system.unsure else ""
        lines.append(
            f"  {place:>2}  {staves:<9} {system.staff_mm:4.1f} mm  barlines 0-{len(system.bars) - 1}{doubt}"
        )
    return lines


def _doubts(file: Path, number: int, seen: PageSeen) -> list[str]:
    where = f"{file}, page {number}"
    return [f"{where}: {seen.doubt}"] if seen.doubt else []
