"""What a player has in print already: music that an earlier workbook of the same player holds as it is now.

Only a workbook is believed, never a week file: each says in its PDF what music it holds and on which page, so that a
week that had left its music out is not taken for one that printed it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from excerpts.errors import InputError, WeekError
from excerpts.excerpt import Excerpt
from excerpts.system.studio_files import WorkbookFacts, read_facts, same_player
from excerpts.week import Week
from excerpts.week.orders import BoxOrders, CheckOrders, DrillOrders, Order, Orders, ScaleOrders, StudyOrders

if TYPE_CHECKING:
    from weasyprint import Document


@dataclass(frozen=True, slots=True)
class Place:
    """Where music stands in print.

    Attributes:
        week: First day of the week whose workbook it is.
        page: The page, as it is printed there.
    """

    week: date
    page: int


Kept = Mapping[str, Place]
"""Where music is in print, by its anchor in the new workbook; what is not there is printed."""


def box_anchor(number: int) -> str:
    """The name of a box in its workbook, by its number."""
    return f"box-{number}"


def warmup_anchor(place: int) -> str:
    """The name of a warm-up in its workbook, by its place in the week, from 0."""
    return f"warmup-{place}"


def technique_anchor(place: int) -> str:
    """The name of an item of technique in its workbook, by its place in the week, from 0."""
    return f"technique-{place}"


Digests = tuple[str, ...]
"""A digest of all that an item prints in notes, and those of parts of it that serve by themselves."""


def digests(week: Week, orders: Orders, look: str) -> dict[str, Digests]:
    """Digests of everything in notes that each item prints, by its anchor.

    Args:
        week: The week.
        orders: Its music.
        look: How it is printed: sizes and habits of the player.
    """
    player = week.player
    facts = (look, player.instrument, player.level, player.words)

    def of(*items: object) -> str:
        return sha256(repr((facts, items)).encode()).hexdigest()[:16]

    by_anchor: dict[str, Digests] = {}
    for number, box in enumerate(orders.boxes, start=1):
        alone = of(_of_box(week, box), *_drawn([box.music]))
        by_anchor[box_anchor(number)] = of(alone, *_drawn(box.variants)), alone
    for place, warmup in orders.warmups.items():
        by_anchor[warmup_anchor(place)] = (of(*_drawn(warmup.printed)),)
    for place, item in orders.technique.items():
        by_anchor[technique_anchor(place)] = (
            (of(_of_box(week, item.box), *_drawn([item.music])),)
            if isinstance(item, CheckOrders)
            else (of(*_drawn(_wanted(item))),)
        )
    return by_anchor


def _of_box(week: Week, orders: BoxOrders) -> tuple[object, ...]:
    box = orders.box
    title = week.piece(box.piece).title if box.piece else ""
    paper = orders.paper.made()
    return title, box.bars, box.place, box.abc, box.marks, *((paper.digest,) if paper else ())


def _wanted(orders: ScaleOrders | StudyOrders | DrillOrders) -> Sequence[Order[Any]]:
    if isinstance(orders, DrillOrders):
        return (orders.drills,)
    return orders.printed if isinstance(orders, ScaleOrders) else (orders.music, *orders.variants)


def _drawn(wanted: Iterable[Order[Any]]) -> Iterator[object]:
    """All that the notes of orders look like; what cannot be made is not printed."""
    for order in wanted:
        try:
            made = order.made()
        except InputError:
            continue
        for one in made if isinstance(made, tuple) else (made,):
            music = one if isinstance(one, Excerpt) or one is None else one.music
            yield order.name, music and (music.xml, music.boxes, music.open_ends)


def kept(wanted: Mapping[str, Digests], earlier: Sequence[WorkbookFacts]) -> Kept:
    """What need not be printed again, and where it is.

    Args:
        wanted: Digests of the music by anchor.
        earlier: Workbooks of the player, the latest first.
    """
    places: dict[str, Place] = {}
    for anchor, (digest, *_) in wanted.items():
        book = next((book for book in earlier if digest in book.music), None)
        if book is not None:
            places[anchor] = Place(book.week, book.music[digest])
    return places


def printed_pages(document: Document, wanted: Mapping[str, Digests], in_print: Kept) -> dict[str, int]:
    """The page on which the music of each digest is printed in a workbook, from 1.

    Args:
        document: The pages, before they are put on sheets.
        wanted: Digests of the music by anchor.
        in_print: What is not printed again.
    """
    return {
        digest: number
        for number, page in enumerate(document.pages, start=1)
        for anchor in page.anchors
        if anchor in wanted and anchor not in in_print
        for digest in wanted[anchor]
    }


def earlier_workbooks(week: Week) -> dict[Path, WorkbookFacts]:
    """The workbooks of earlier weeks of the same player that stand beside the week file, the latest first, by file.

    Raises:
        WeekError: There is none.
    """
    folder = week.path.parent
    read = [(path, read_facts(path)) for path in sorted(folder.glob("*.pdf"))]
    earlier = [
        (path, facts)
        for path, facts in read
        if facts and facts.week < week.week.start and same_player(facts.player, week.player.name)
    ]
    if not earlier:
        raise WeekError(
            f"there is no earlier workbook (PDF) of {week.player.name} in {folder} that says what it holds.",
            where=str(week.path),
            hint="Without one everything is new: leave out --new.",
        )
    return dict(sorted(earlier, key=lambda one: one[1].week, reverse=True))
