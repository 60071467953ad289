"""Builds a workbook: week, plan and music become page models, the page models a PDF."""

from __future__ import annotations

import logging
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from time import perf_counter
from typing import TYPE_CHECKING, Any

from excerpts.editions import TINTS, Edition, EditionName, Tint
from excerpts.engrave import Style
from excerpts.system.studio_files import WorkbookFacts
from excerpts.week import BoxMusic, Week
from excerpts.week.measured import week_music
from excerpts.week.orders.check import orders_told
from excerpts.week.plan import Plan, plan_week, tight_places, tight_text
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.words import Words
from excerpts.workbook.already_printed import Kept, digests, kept, printed_pages
from excerpts.workbook.blocks import Only, body_blocks, first_blocks
from excerpts.workbook.box_pages import BoxPages, Tell, silent
from excerpts.workbook.first_page import FirstPage
from excerpts.workbook.impose import imposed
from excerpts.workbook.page_fit import Fitter, size_rules
from excerpts.workbook.page_names import LONGEST_FOCUS, LONGEST_NAME, Names, shortened
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.pages import BoxPage, Workbook
from excerpts.workbook.paginate import Block, Page
from excerpts.workbook.reader import Reader, fitting, reader
from excerpts.workbook.rehearsal import rehearsal
from excerpts.workbook.render import collector_paused, filled_in, lay_out_text, write_pdf
from excerpts.workbook.render_cache import RenderCache
from excerpts.workbook.sections import Sections
from excerpts.workbook.workbook_music import Music

if TYPE_CHECKING:
    from weasyprint import Document

_LOGGER = logging.getLogger("excerpts")

GALLEY_MM = 1_000_000
"""Height of the page without an end on which everything is measured."""

MOCK_MM = 150
"""Width from which on a page has room for the sheet and the slips of a rehearsal."""


@dataclass(frozen=True, slots=True)
class Built:
    """A finished workbook.

    Attributes:
        pdf: The file.
        pages: How many pages it has.
        warnings: What the teacher should know, in words.
        told: What was left out of it, or is worth another look, with file and line.
        timings: Seconds for the engraving (verovio and our own drawing), for WeasyPrint, and for all the rest.
    """

    pdf: bytes
    pages: int
    warnings: tuple[str, ...] = ()
    told: tuple[Fault, ...] = ()
    timings: dict[str, float] = field(default_factory=dict)


def build_workbook(
    week: Week,
    *,
    paper: EditionName | None = None,
    today: date | None = None,
    only: Collection[Only] = (),
    earlier: Sequence[WorkbookFacts] = (),
    memory: RenderCache | None = None,
    tell: Tell = silent,
) -> Built:
    """Build the workbook of a week.

    Args:
        week: The week.
        paper: The edition; that of the week's paper and the player's print where it is left out.
        today: A day to mark in the plan, and to count from.
        only: The sections that are wanted; empty for all.
        earlier: Workbooks of the player, the latest first: music that they hold is not printed again.
        memory: Knows what was made before.
        tell: Told what is being done.

    Raises:
        WeekFaultsError: A score, part or bar is not there, or a warm-up cannot be made; all such faults are told.
    """
    with collector_paused():
        return _built(week, week.edition(paper), today, only, earlier, memory or RenderCache(), tell)


def _built(
    week: Week,
    size: Edition,
    today: date | None,
    only: Collection[Only],
    earlier: Sequence[WorkbookFacts],
    memory: RenderCache,
    tell: Tell,
) -> Built:
    start = perf_counter()
    tell("notes", 0, 0)
    player = week.player
    kind = fitting(reader(player.level, player.age, week.staff_mm), size)
    texts = PageTexts(Words(player.words), kind.child)
    music = Music(week, Names(week, texts), Style.on(size, kind.staff_mm), memory)
    checked = orders_told(week, music.orders)
    if checked.faults:
        raise WeekFaultsError(checked.faults)
    measured = week_music(week)
    plan = plan_week(week, measured)
    wanted = digests(week, music.orders, f"{kind.staff_mm} {kind.print}")
    in_print = kept(wanted, earlier)
    book = page_models(week, plan, kind, texts, music, today, in_print, measured.boxes, tell)
    modelled = perf_counter()
    tell("pages", 0, 0)
    before = rehearsal(week, plan, measured, texts)
    document = _laid_out(
        book,
        kind,
        size,
        texts,
        music,
        only,
        before.blocks() if size.text_width > MOCK_MM else [],
        player.tint,
    )
    pages = len(document.pages)
    sheets, said = imposed(document) if size.folded else document, list[str]()
    held = {} if only else printed_pages(document, wanted, in_print)
    facts = WorkbookFacts(player.name, week.week.start, held)
    pdf = write_pdf(sheets, tagged=not size.folded, music=music.log, said=said, facts=facts.entries())
    done = perf_counter()
    return Built(
        pdf=pdf,
        pages=pages,
        warnings=(
            *week.remarks,
            *said,
            *(_warnings(week, kind, texts, pages, music) if size.name == "" else ()),
            *_faults(music.memory),
            *music.missing,
            *music.remarks,
            *(tight_text(tight, week, texts.words) for tight in tight_places(plan, week, measured)),
        ),
        told=checked.told,
        timings={
            "engraving": music.seconds,
            "weasyprint": done - modelled,
            "own": modelled - start - music.seconds,
        },
    )


def _laid_out(
    book: Workbook,
    kind: Reader,
    size: Edition,
    texts: PageTexts,
    music: Music,
    only: Collection[Only],
    before: Sequence[Block] = (),
    tint: Tint | None = None,
) -> Document:
    """The pages of a workbook on a ground of that tint; what is printed `before` a performance comes last."""
    first: list[Block] = []
    if not only or "plan" in only:
        first = first_blocks(book, across=kind.child and not size.narrow, child=kind.child)
    body = body_blocks(
        book, size.text_height, only, row_mm=kind.row_mm if size.to_write else 0.0, alone=size.alone
    )
    if not only:
        body[len(body) - 1 : len(body) - 1] = before
    anchors = [
        block.item.anchor for block in body if block.kind == "opening" and isinstance(block.item, BoxPage)
    ]
    sizes = size_rules(size, kind) + (f"@page{{background:{TINTS[tint]}}}" if tint else "")
    images: dict[str, Any] = dict(music.pictures.images)
    styles = ["page.css", "workbook.css", "rehearsal.css"]
    styles += [f"{kind.print}.css"] if kind.print != "standard" else []
    styles += size.styles

    def text(pages: Sequence[Page], numbers: Mapping[str, int], galley: bool) -> str:
        return filled_in(
            "workbook.html",
            book=book,
            pages=pages,
            numbers=numbers,
            galley=galley,
            gaps=sorted({group.gap for page in pages for group in page.groups} - {0.0}),
            reader=kind,
            edition=size,
            t=texts,
        )

    def lay_out(html: str, rules: str) -> Document:
        return lay_out_text(html, images=images, styles=styles, page_rules=rules)

    def measure(page: Page, numbers: Mapping[str, int]) -> Mapping[str, float]:
        rules = f"{sizes}@page{{size:{size.width}mm {GALLEY_MM}mm}}"
        galley = lay_out(text([page], numbers, True), rules)
        return {name: at[1] for name, at in galley.pages[0].anchors.items()}

    fitter = Fitter(
        lambda pages, numbers: lay_out(text(pages, numbers, False), sizes), measure, anchors, size
    )
    return fitter.fit(first, body)


def page_models(
    week: Week,
    plan: Plan,
    kind: Reader,
    texts: PageTexts,
    music: Music,
    today: date | None = None,
    in_print: Kept | None = None,
    lengths: Mapping[str, BoxMusic] | None = None,
    tell: Tell = silent,
) -> Workbook:
    """Everything that the workbook prints, as plain values."""
    sections = Sections(week, plan, texts, music, in_print)
    boxes = BoxPages(week, plan, kind, texts, music, in_print, lengths).build(tell)
    tell("exercises", 0, 0)
    first = FirstPage(week, plan, kind, texts, today).build(boxes, sections.warmup_names())
    day = Dates(texts).day(week.week.start)
    return Workbook(
        title=texts("title", player=week.player.name, date=Dates(texts).full(week.week.start)),
        author=texts("author"),
        language=texts.words.tag,
        footer=texts("footer", player=shortened(week.player.name, LONGEST_NAME), date=day),
        focus=shortened(week.week.focus or "", LONGEST_FOCUS),
        copying=week.studio.settings.copying or texts("copying"),
        first=first,
        warmups=sections.warmups(),
        warmup_texts=sections.warmup_texts(),
        studies=sections.studies(),
        technique_texts=sections.technique_texts(),
        boxes=boxes,
        pieces=sections.pieces(),
        cites=bool(in_print),
    )


def _faults(memory: RenderCache) -> tuple[str, ...]:
    """How many variants failed, and which: our fault, and no reason to go without the workbook."""
    if not memory.faults:
        return ()
    count = len(memory.faults)
    left_out = "1 variant is" if count == 1 else f"{count} variants are"
    return (
        f"{left_out} left out because of a fault in this program, not of yours: {'; '.join(memory.faults)}. "
        "excerpts --debug workbook shows where.",
    )


def _warnings(week: Week, kind: Reader, texts: PageTexts, pages: int, music: Music) -> tuple[str, ...]:
    for line in dict.fromkeys(music.log):
        _LOGGER.info("engraver, %s: %s", week.player.name, line)
    warnings = []
    if pages > kind.most_pages:
        warnings.append(texts("budget.passed", player=week.player.name, pages=pages, most=kind.most_pages))
    return tuple(warnings)
