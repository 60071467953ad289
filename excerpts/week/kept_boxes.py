"""Gives printed pages up for what the boxes of a week show of them: new pages, and changes to the week file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

from excerpts.errors import InputError, PaperError
from excerpts.paper import PaperCut, cut, find_pages
from excerpts.paper.kept import boxes_alone
from excerpts.week.model import Week
from excerpts.week.printed_bars import on_pages, printed
from excerpts.weekfile.change_text import Change, changed_text
from excerpts.weekfile.items import BoxItem

_TABLES: Final = ("box", "retired", "parked")
_SUFFIX: Final = "-boxes"


@dataclass(frozen=True, slots=True)
class KeptPages:
    """The pages of a piece that its boxes keep.

    Attributes:
        source: The pages that they are taken from.
        target: The file that they go into, beside them.
        pdf: The file's bytes.
        boxes: How many boxes, each on a page of its own.
    """

    source: Path
    target: Path
    pdf: bytes
    boxes: int


def keep_boxes(week: Week, text: str) -> tuple[list[KeptPages], str]:
    """What of printed pages the boxes of a week need, those that are retired or parked too.

    Args:
        week: The week.
        text: Its file.

    Returns:
        The new pages of each piece, and the text of a week file that names them.

    Raises:
        InputError: There are none, or a piece or box of them stands in an included file.
        PaperError: A box cannot be cut out, or would not be found on the new page.
    """
    raw = tomllib.loads(text.removeprefix("\ufeff"))
    kept: list[KeptPages] = []
    for place, table in enumerate(raw.get("piece", ())):
        name = str(table.get("id"))
        boxes = list(_boxes(week, raw, name)) if name in week.page_paths else []
        if not boxes:
            continue
        source = week.page_paths[name]
        cuts = [printed(box, week.piece(name), find_pages(source)) for _, box in boxes]
        pdf, areas = boxes_alone(cuts)
        _check(week, [box for _, box in boxes], cuts, pdf, areas)
        target = _free(source, [one.target for one in kept])
        kept.append(KeptPages(source, target, pdf, len(boxes)))
        text = changed_text(text, _of_piece(place, table, target))
        for page, ((path, _), parts) in enumerate(zip(boxes, areas, strict=True), start=1):
            text = changed_text(text, _of_box(path, raw[path[0]][path[1]], page, parts))
    if not kept:
        raise InputError("no box of it is cut from printed pages.", where=str(week.path))
    return kept, text


def _boxes(week: Week, raw: dict[str, Any], piece: str) -> Iterator[tuple[tuple[str, int], BoxItem]]:
    """The boxes on the pages of a piece, each with its table and place in the file."""
    items = {"box": week.boxes, "retired": week.retired, "parked": week.parked}
    for table in _TABLES:
        written = [str(one.get("id")) for one in raw.get(table, ())]
        for box in items[table]:
            if box.piece == piece and on_pages(box, week):
                if box.id not in written:
                    raise InputError(
                        f'the box "{box.id}" stands in a file that this one includes.',
                        where=str(week.path),
                        hint="Put it into the week file first.",
                    )
                yield (table, written.index(box.id)), box


def _check(
    week: Week,
    boxes: list[BoxItem],
    cuts: list[PaperCut],
    pdf: bytes,
    areas: list[tuple[tuple[float, float, float, float], ...]],
) -> None:
    """See that each box is found on its new page, before anything is written."""
    with TemporaryDirectory() as folder:
        path = Path(folder, "boxes.pdf")
        path.write_bytes(pdf)
        for page, (box, before, parts) in enumerate(zip(boxes, cuts, areas, strict=True), start=1):
            where = f'{week.path.name}, box "{box.id}"'
            try:
                after = cut(find_pages(path), page, parts)
            except PaperError as error:
                raise PaperError(f"it would not be found again: {error.what}", where=where) from error
            if len(after.lines) != len(before.lines):
                raise PaperError("its lines would not be found again.", where=where)


def _of_piece(place: int, table: dict[str, Any], target: Path) -> Iterator[Change]:
    name = Path(str(table["pages"])).parent / target.name
    yield Change("set", ("piece", place, "pages"), name.as_posix())
    for key in ("first_bars", "counted", "blank"):
        if key in table:
            yield Change("set", ("piece", place, key), None)


def _of_box(
    path: tuple[str, int],
    table: dict[str, Any],
    page: int,
    parts: tuple[tuple[float, float, float, float], ...],
) -> Iterator[Change]:
    yield Change("set", (*path, "page"), page)
    yield Change("set", (*path, "areas"), [list(part) for part in parts])
    for key in [key for key in ("area", "systems") if key in table]:
        yield Change("set", (*path, key), None)


def _free(source: Path, taken: list[Path]) -> Path:
    """A name beside the pages that no file has."""
    stem = re.sub(rf"{_SUFFIX}(-\d+)?$", "", source.stem if source.is_file() else source.name)
    number = 1
    while True:
        path = source.parent / f"{stem}{_SUFFIX}{f'-{number}' if number > 1 else ''}.pdf"
        if not path.exists() and path not in taken:
            return path
        number += 1
