"""The sections around the boxes: warm-ups, technique with its drills, repertoire."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import partial

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.variants import instruction, title
from excerpts.variants.passage import where
from excerpts.warmups import short_name, warmup_line
from excerpts.warmups.heard_key import drone_named
from excerpts.week import Week
from excerpts.week.bars_in_words import bars_of
from excerpts.week.orders import CheckOrders, DrillOrders, Order, ScaleOrders, StudyOrders
from excerpts.week.plan import Plan, repertoire
from excerpts.week.sound_files import Section, sound_names
from excerpts.weekfile.items import Piece
from excerpts.weekfile.scale_items import TechniqueItem, WarmupItem
from excerpts.workbook.already_printed import Kept, box_anchor, technique_anchor, warmup_anchor
from excerpts.workbook.pace import without_tempo
from excerpts.workbook.page_names import Names
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.pages import MusicBlock, PieceRow, TextItem
from excerpts.workbook.workbook_music import Music


def drill_blocks(week: Week, orders: DrillOrders, texts: PageTexts, music: Music) -> list[MusicBlock]:
    """Engrave the drills that a box gives; none where it gives none, which is told on the console.

    Args:
        week: The week.
        orders: What the technique item that asks for a drill has made.
        texts: The words of the pages.
        music: Engraves.
    """
    number = [other.id for other in week.boxes].index(orders.box.box.id) + 1
    try:
        drills = orders.drills.made()
    except VariantError:
        return []
    blocks = []
    for drill in drills:
        head = texts.words(f"drill.{drill.kind}.title", number=number)
        line = texts.words(f"drill.{drill.kind}.line", bar=drill.bar)
        if drill.assumed:
            guessed = "drill.assumed_shift" if drill.kind == "shift" else "drill.assumed"
            line = f"{line} {texts.words(guessed)}"
        engraving = music.engrave(drill.music, replace(music.plain, bar_numbers="none"))
        blocks.append(MusicBlock(head, line, music.pictures.of(engraving, head)))
    return blocks


class Sections:
    """Builds the sections that are not boxes.

    Args:
        week: The week.
        plan: Its plan.
        texts: The words of the pages.
        music: Cuts and engraves.
        kept: Where music is in print already.
    """

    def __init__(
        self, week: Week, plan: Plan, texts: PageTexts, music: Music, kept: Kept | None = None
    ) -> None:
        self.kept = kept or {}
        self.week = week
        self.plan = plan
        self.texts = texts
        self.music = music
        self.names = Names(week, texts)
        self.dates = Dates(texts)

    def warmup_names(self) -> tuple[str, ...]:
        """A few words for each warm-up, for the week's table."""
        return tuple(item.text or self._short_name(item) for item in self.week.warmups)

    def _short_name(self, item: WarmupItem) -> str:
        return short_name(item.key or "", item.pattern, self.texts.words)

    def warmup_texts(self) -> tuple[TextItem, ...]:
        """The warm-ups in words, and those in notes that are in print already."""
        items = enumerate(self.week.warmups)
        return tuple(
            TextItem(item.text or self._kept(self._short_name(item), warmup_anchor(place)), item.minutes)
            for place, item in items
            if item.text or warmup_anchor(place) in self.kept
        )

    def warmups(self) -> tuple[MusicBlock, ...]:
        """The warm-ups in notes: each as it stands where no variant is asked for, else in its variants."""
        made = self.music.orders.warmups
        blocks: list[MusicBlock] = []
        rule = self.texts("warmup_text")  # once, with the first that has no variant
        for place, orders in made.items():
            if warmup_anchor(place) in self.kept:
                continue
            own = []
            for one in orders.printed:
                own += self._scale(orders, one, "" if one.name else rule)
                rule = rule if one.name else ""
            blocks += _named(own, warmup_anchor(place))
        return tuple(blocks)

    def _kept(self, what: str, anchor: str, message: str = "kept_item") -> str:
        """What is in print already, with its place; what is not, as it is."""
        if anchor not in self.kept:
            return what
        return self.texts(message, what=what, **self.dates.place(self.kept[anchor], self.week.week.start))

    def _heard(self, orders: ScaleOrders) -> str:
        """The sound file of a scale, where the week has sound."""
        made = self.music.orders
        keyed: dict[Section, Mapping[int, object]] = {"warmup": made.warmups, "technique": made.technique}
        place = next(
            (s, place) for s, all_of in keyed.items() for place, one in all_of.items() if one is orders
        )
        names = sound_names(self.week, *place)
        return f"({self.texts('sound', names=names)})" if names else ""

    def _scale(self, orders: ScaleOrders, order: Order[Excerpt], line: str) -> list[MusicBlock]:
        """A scale or a variant of it; none where it cannot be drawn, which is told on the console."""
        words, item, variant = self.texts.words, orders.item, order.name
        plain = orders.plain.made()
        minutes = item.minutes if isinstance(item, WarmupItem | TechniqueItem) else None
        head = plain.tree().findtext("movement-title") or ""
        if variant:
            head = f"{head}: {title(variant, words)}"
        style = replace(self.music.plain, bar_numbers="none")
        try:
            excerpt, engraving = (
                self.music.engrave_variant(variant, head, order.made, style)
                if variant
                else (plain, self.music.engrave(plain, style))
            )
        except VariantError:
            return []
        line = drone_named(instruction(variant, words), variant, excerpt, words) if variant else line
        heard = self._heard(orders) if order is orders.printed[0] else ""
        line = " ".join(part for part in (item.note, warmup_line(plain), line, heard) if part)
        return [MusicBlock(head, line, self.music.pictures.of(engraving, head), minutes=minutes)]

    def technique_texts(self) -> tuple[TextItem, ...]:
        """Technique in words, and the boxes that are taken as drills."""
        numbers = {box.id: place for place, box in enumerate(self.week.boxes, start=1)}
        items = []
        for place, item in enumerate(self.week.technique):
            anchor = technique_anchor(place)
            if item.text:
                items.append(TextItem(self._kept(item.text, anchor, "kept_check"), item.minutes))
            elif item.drill:
                orders = self.music.orders.technique[place]
                if isinstance(orders, DrillOrders) and orders.gives_none:
                    continue  # told on the console
                number = numbers[item.drill]
                text = self._drill(item, number)
                to_box = "" if anchor in self.kept else box_anchor(number)
                items.append(TextItem(self._kept(text, anchor), item.minutes, to_box))
            elif item.piece and (anchor in self.kept or item.piece not in self.week.score_paths):
                bars = bars_of(self.week, item.piece, item.bars or "", self.texts.words)
                text = f"{self.week.piece(item.piece).title}, {bars}"
                items.append(TextItem(self._kept(text, anchor), item.minutes))
            elif item.key and anchor in self.kept:
                text = short_name(item.key, item.pattern, self.texts.words)
                items.append(TextItem(self._kept(text, anchor), item.minutes))
        return tuple(items)

    def _drill(self, item: TechniqueItem, number: int) -> str:
        said = self.texts("drill", number=number)
        if not item.variants:
            return said
        return f"{said}: {', '.join(title(name, self.texts.words) for name in item.variants)}"

    def studies(self) -> tuple[MusicBlock, ...]:
        """Bars of studies, scales, and drills on boxes, with the variants asked for."""
        blocks: list[MusicBlock] = []
        for place, orders in self.music.orders.technique.items():
            anchor = technique_anchor(place)
            if anchor in self.kept:
                continue
            if isinstance(orders, ScaleOrders):
                own = [block for one in orders.printed for block in self._scale(orders, one, "")]
            elif isinstance(orders, DrillOrders):
                own = drill_blocks(self.week, orders, self.texts, self.music)
            elif isinstance(orders, CheckOrders):
                own = self._check(orders)
            else:
                own = self._study(orders)
            blocks += _named(own, anchor)
        return tuple(blocks)

    def _check(self, orders: CheckOrders) -> list[MusicBlock]:
        """The music of a retired box that comes back for a check; what to do stands among the technique in words."""
        excerpt = orders.music.made()
        if excerpt is None:
            return []
        engraving = self.music.engrave(excerpt, self.music.in_context)
        head = self.names.box(orders.box.box)
        return [MusicBlock(head, systems=self.music.pictures.of(engraving, head))]

    def _study(self, orders: StudyOrders) -> list[MusicBlock]:
        words, pictures, item = self.texts.words, self.music.pictures, orders.item
        excerpt = orders.music.made()
        if excerpt is None:
            return []
        engraving = self.music.engrave(excerpt, self.music.in_context)
        place = self.names.spoken.place(engraving.spoken, excerpt.origin.address)
        head = f"{self.week.piece(item.piece or '').title}, {place}"
        blocks = [MusicBlock(head, systems=pictures.of(engraving, place), minutes=item.minutes)]
        for order in orders.variants:
            name = order.name
            varied_head = f"{head}: {title(name, words)}"
            make = partial(_plainly, order)
            try:
                _, varied = self.music.engrave_variant(name, where(excerpt), make, self.music.plain)
            except VariantError:
                continue  # told on the console
            text = f"{title(name, words)}: {place}"
            line = drone_named(instruction(name, words), name, excerpt, words)
            blocks.append(MusicBlock(varied_head, line, pictures.of(varied, text)))
        return blocks

    def pieces(self) -> tuple[PieceRow, ...]:
        """The repertoire: each piece with its days."""
        return tuple(self._piece(piece) for piece in repertoire(self.week))

    def _days(self, played: list[date]) -> tuple[str, ...]:
        practised = [day.date for day in self.plan.days if day.minutes]
        if len(practised) > 2 and played == practised:
            return (self.texts("pieces.every_day"),)
        return tuple(self.dates.line(day) for day in played)

    def _piece(self, piece: Piece) -> PieceRow:
        minutes = {
            day.date: sum(item.minutes for item in day.section("repertoire") if item.piece == piece.id)
            for day in self.plan.days
        }
        played = {day: amount for day, amount in minutes.items() if amount}
        least, most = min(played.values(), default=0), max(played.values(), default=0)
        message = "pieces.a_day" if least == most else "pieces.a_day_range"
        return PieceRow(
            title=piece.title,
            composer=piece.composer or "",
            status=self.texts(f"status.{piece.status}"),
            days=self._days(list(played)),
            minutes=self.texts(message, minutes=most, least=least, most=most) if played else "",
            date=self.dates.near(piece.date, self.week.week.start) if piece.date else "",
        )


def _named(blocks: list[MusicBlock], anchor: str) -> list[MusicBlock]:
    """The blocks of one item; the first that has music has its name."""
    first = next((place for place, block in enumerate(blocks) if block.systems), -1)
    return [replace(block, anchor=anchor) if place == first else block for place, block in enumerate(blocks)]


def _plainly(order: Order[Excerpt]) -> Excerpt:
    """A variant without a tempo of its own."""
    return without_tempo(order.made())
