"""Fills the sections of warm-ups, technique and repertoire."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import partial

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.practice import instruction, title
from excerpts.practice.passage import where
from excerpts.warmups import short_name, warmup, warmup_line
from excerpts.week import Piece, Plan, TechniqueItem, WarmupItem, Week
from excerpts.week.planner import repertoire
from excerpts.workbook.dates import Dates
from excerpts.workbook.drill_blocks import drill_blocks
from excerpts.workbook.kept import NOTHING, Kept
from excerpts.workbook.music import Music
from excerpts.workbook.names import Names
from excerpts.workbook.pace import without_tempo
from excerpts.workbook.pages import MusicBlock, PieceRow, TextItem
from excerpts.workbook.texts import PageTexts


class Sections:
    """Builds the sections that are not boxes.

    Args:
        week: The week.
        plan: Its plan.
        texts: The words of the pages.
        music: Cuts and engraves.
        kept: What is in print already.
    """

    def __init__(self, week: Week, plan: Plan, texts: PageTexts, music: Music, kept: Kept = NOTHING) -> None:
        self.kept = kept
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
            TextItem(item.text or self.texts("kept_item", what=self._short_name(item)), item.minutes)
            for place, item in items
            if item.text or place in self.kept.warmups
        )

    def warmups(self) -> tuple[MusicBlock, ...]:
        """The warm-ups in notes: each as it stands where no variant is asked for, else in its variants."""
        new = [item for place, item in enumerate(self.week.warmups) if place not in self.kept.warmups]
        wanted = [(item, name) for item in new if item.key for name in item.variants or ("",)]
        first_plain = next((place for place, (_, name) in enumerate(wanted) if not name), -1)
        return tuple(
            self._warmup(item, name, self.texts("warmup_text") if place == first_plain else "")
            for place, (item, name) in enumerate(wanted)
        )

    def _warmup(self, item: WarmupItem | TechniqueItem, variant: str, told: str) -> MusicBlock:
        words = self.texts.words
        player = self.week.player
        make = partial(
            warmup,
            item.key or "",
            instrument=item.instrument or player.instrument,
            level=player.level,
            octaves=item.octaves,
            start=item.from_,
            pattern=item.pattern or "scale",
            words=words,
            manner=item.manner,
        )
        plain = make()
        head = _title(plain)
        if variant:
            head = f"{head}: {title(variant, words)}"
        style = replace(self.music.plain, bar_numbers="none")
        try:
            excerpt, engraving = (
                self.music.engrave_variant(variant, head, lambda: make(variant=variant), style)
                if variant
                else (plain, self.music.engrave(plain, style))
            )
        except VariantError as refusal:
            told = self.texts.refused(refusal)
            return MusicBlock(head, note=told, minutes=item.minutes)
        told = instruction(variant, words) if variant else told
        told = " ".join(part for part in (item.note, warmup_line(plain), told) if part)
        return MusicBlock(head, told, self.music.pictures.of(engraving, head), minutes=item.minutes)

    def technique_texts(self) -> tuple[TextItem, ...]:
        """Technique in words, and the boxes that are taken as drills."""
        numbers = {box.id: place for place, box in enumerate(self.week.boxes, start=1)}
        items = []
        for place, item in enumerate(self.week.technique):
            if item.text:
                items.append(TextItem(item.text, item.minutes))
            elif item.drill:
                number = numbers[item.drill]
                told = self._drill(item, number)
                told = self.texts("kept_item", what=told) if place in self.kept.technique else told
                items.append(TextItem(told, item.minutes, f"box-{number}"))
            elif item.piece and (place in self.kept.technique or item.piece not in self.week.score_paths):
                told = f"{self.week.piece(item.piece).title}, {self.texts('bars_text', bars=item.bars)}"
                told = self.texts("kept_item", what=told) if place in self.kept.technique else told
                items.append(TextItem(told, item.minutes))
        return tuple(items)

    def _drill(self, item: TechniqueItem, number: int) -> str:
        said = self.texts("drill", number=number)
        if not item.variants:
            return said
        return f"{said}: {', '.join(title(name, self.texts.words) for name in item.variants)}"

    def studies(self) -> tuple[MusicBlock, ...]:
        """Bars of studies, scales, and drills on boxes, with the variants asked for."""
        blocks = []
        for place, item in enumerate(self.week.technique):
            if place in self.kept.technique:
                continue
            if item.key:
                blocks += [self._warmup(item, name, "") for name in item.variants or ("",)]
            if item.drill:
                blocks += drill_blocks(self.week, item, self.texts, self.music)
            if item.piece and item.bars and item.piece in self.week.score_paths:
                piece = self.week.piece(item.piece)
                excerpt = self.music.bars(piece, item.bars)
                if excerpt is not None:
                    blocks += self._study(piece, item, excerpt)
        return tuple(blocks)

    def _study(self, piece: Piece, item: TechniqueItem, excerpt: Excerpt) -> list[MusicBlock]:
        words, pictures = self.texts.words, self.music.pictures
        engraving = self.music.engrave(excerpt, self.music.in_context)
        place = self.names.spoken.place(engraving.spoken, excerpt.origin.address)
        head = f"{piece.title}, {place}"
        blocks = [MusicBlock(head, systems=pictures.of(engraving, place), minutes=item.minutes)]
        for name in item.variants:
            varied_head = f"{head}: {title(name, words)}"
            make = partial(self._plainly, excerpt, name)
            try:
                _, varied = self.music.engrave_variant(name, where(excerpt), make, self.music.plain)
            except VariantError as refusal:
                told = self.texts.refused(refusal)
                blocks.append(MusicBlock(varied_head, note=told))
                continue
            told = f"{title(name, words)}: {place}"
            blocks.append(MusicBlock(varied_head, instruction(name, words), pictures.of(varied, told)))
        return blocks

    def _plainly(self, excerpt: Excerpt, name: str) -> Excerpt:
        """A variant without a tempo of its own."""
        return without_tempo(self.music.varied(excerpt, name))

    def pieces(self) -> tuple[PieceRow, ...]:
        """The repertoire: each piece with its days."""
        return tuple(self._piece(piece) for piece in repertoire(self.week))

    def _days(self, played: list[date]) -> tuple[str, ...]:
        practised = [day.date for day in self.plan.days if day.minutes]
        if len(practised) > 2 and played == practised:
            return (self.texts("pieces.every_day"),)
        return tuple(self.dates.line(day) for day in played)

    def _performance(self, day: date | None) -> str:
        if day is None:
            return ""
        return self.dates.day(day) if day.year == self.week.week.start.year else self.dates.full(day)

    def _piece(self, piece: Piece) -> PieceRow:
        minutes = {
            day.date: sum(item.minutes for item in day.section("repertoire") if item.piece == piece.id)
            for day in self.plan.days
        }
        played = {day: amount for day, amount in minutes.items() if amount}
        least, most = min(played.values(), default=0), max(played.values(), default=0)
        told = "pieces.a_day" if least == most else "pieces.a_day_range"
        return PieceRow(
            title=piece.title,
            composer=piece.composer or "",
            status=self.texts(f"status.{piece.status}"),
            days=self._days(list(played)),
            minutes=self.texts(told, minutes=most, least=least, most=most) if played else "",
            date=self._performance(piece.date),
        )


def _title(excerpt: Excerpt) -> str:
    """Title of a warm-up, as its maker wrote it into the music."""
    return excerpt.tree().findtext("movement-title") or ""
