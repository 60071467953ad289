"""`excerpts paper`: what is seen on printed pages, drawn in and listed; of a week file, its boxes alone."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, pages, warn
from excerpts.errors import InputError
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from excerpts.paper import PageSeen


def paper(
    file: Annotated[
        Path, Arg(help="A PDF, a picture, or a folder of pictures; a week file with --keep-boxes.")
    ],
    output: Annotated[
        Path | None,
        Arg("-o", "--output", help="Folder for the pictures (default: beside it), or one .pdf to print."),
    ] = None,
    page: Annotated[list[int] | None, Arg("--page", low=1, help="Only this page; may be repeated.")] = None,
    as_json: Annotated[bool, Arg("--json", help="Print what is found as JSON, in millimetres.")] = False,
    keep_boxes: Annotated[
        bool,
        Arg(
            "--keep-boxes",
            help="Of a week file: new pages with its boxes and nothing else, which it names then.",
        ),
    ] = False,
    force: Force = False,
) -> None:
    """Draw the systems and barlines of printed pages in, with the numbers that a box names."""
    from excerpts.paper import COPYING

    if not file.exists():
        raise InputError("there is no such file or folder.", where=str(file))
    if keep_boxes:
        _keep(file)
        return
    if file.suffix.lower() == ".toml":
        raise InputError(
            "this is a week file, and pages are looked at here.",
            where=str(file),
            hint="Name its pages; or add --keep-boxes to keep of them what its boxes show.",
        )
    seen, made = _seen(file, output, page, force)
    if as_json:
        listed = [{"page": number, **asdict(one)} for number, one in seen.items()]
        print(json.dumps({"format": 1, "pages": listed}))
    else:
        print("\n".join(line for number, one in seen.items() for line in _table(number, one, made[number])))
    warn(*(line for number, one in seen.items() for line in _doubts(file, number, one)), COPYING)


def _seen(
    file: Path, output: Path | None, asked: list[int] | None, force: bool
) -> tuple[dict[int, PageSeen], dict[int, Path]]:
    """What is seen on the pages, and the file in which each is drawn."""
    from excerpts.paper import count, find_pages, look, picture

    paged = find_pages(file)
    there = count(paged)
    wanted = sorted(set(asked or range(1, there + 1)))
    if wanted[-1] > there:
        raise InputError(f"there is no page {wanted[-1]}: it has {there}.", where=str(file))
    if output is not None and output.suffix.lower() == ".pdf":
        from excerpts.workbook.numbered_pages import numbered_pages

        check_output(output, (".pdf",), force=force)
        seen = {number: look(paged, number) for number in wanted}
        write_whole(output, numbered_pages(paged, seen, file.name))
        return seen, dict.fromkeys(wanted, output)
    folder = output or file.parent
    targets = {number: folder / f"{file.stem}-page-{number}.png" for number in wanted}
    for target in targets.values():
        if folder.is_dir():
            check_output(target, force=force)
    found = {number: picture(paged, number) for number in wanted}
    folder.mkdir(parents=True, exist_ok=True)
    for number, (_, png) in found.items():
        write_whole(targets[number], png)
    return {number: one for number, (one, _) in found.items()}, targets


def _keep(file: Path) -> None:
    """Write the boxes of a week's pages, and have the week file name them."""
    from excerpts.paper import COPYING
    from excerpts.week import load_week
    from excerpts.week.kept_boxes import keep_boxes
    from excerpts.weekfile.cells import as_utf8

    if file.suffix.lower() != ".toml":
        raise InputError("--keep-boxes is asked of a week file (.toml).", where=str(file))
    week = load_week(file)
    kept, text = keep_boxes(week, as_utf8(file.read_bytes()).decode("utf-8"))
    for one in kept:
        check_output(one.target, (".pdf",))
    for one in kept:
        write_whole(one.target, one.pdf)
        print(f"{one.target}  ({pages(one.boxes)}, one for each box)")
    write_whole(file, text.encode("utf-8"), as_before=True)
    print(f"{file}  names {'it' if len(kept) == 1 else 'them'} now")
    names = ", ".join(str(one.source) for one in kept)
    warn(f"{names}: left as it was. Delete it yourself; weeks before this one still name it.", COPYING)


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
