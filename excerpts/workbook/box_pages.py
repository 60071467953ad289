"""Fills the pages of the boxes: the excerpt, its recipe, its variants, its record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from string import ascii_lowercase

from excerpts.engrave import Style
from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.paper import PaperCut
from excerpts.variants import title
from excerpts.variants.passage import where
from excerpts.warmups.heard_key import drone_named
from excerpts.week import BoxMusic, Week
from excerpts.week.box_tempos import box_tempos
from excerpts.week.orders import BoxOrders, Order
from excerpts.week.plan import Plan, StepName, recipe
from excerpts.week.plan.describe import listen_for
from excerpts.week.sound_files import sound_names
from excerpts.weekfile.items import BoxItem
from excerpts.words import capital
from excerpts.workbook import pages
from excerpts.workbook.already_printed import Kept, box_anchor
from excerpts.workbook.box_record import BoxDay, box_days, box_record
from excerpts.workbook.pace import without_tempo
from excerpts.workbook.page_names import Names
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.pages import BoxPage, LogDay, MusicBlock, Picture, Record, StepCell
from excerpts.workbook.reader import Reader
from excerpts.workbook.workbook_music import Music

PASTE_MM = 34.0
"""Room to paste two lines of a printed part into."""

ALL_STEPS = 60
"""Minutes in which the recipe has all its steps, for a box without a day in depth."""

EMPTY_DAYS = 3
"""Lines in the record of a box that no day of the plan has room for."""

Tell = Callable[[str, int, int], None]
"""Is told what is being done ("notes", "box", "exercises", "pages"), and for boxes which of how many."""


def silent(_what: str, _number: int, _of: int) -> None:
    """Tell nobody."""


class BoxPages:
    """Builds the pages of the boxes of one workbook.

    Args:
        week: The week.
        plan: Its plan.
        reader: Who it is for.
        texts: The words of the pages.
        music: Cuts and engraves.
        lengths: The length of each box, by its id, as far as it is known.
        kept: Where music is in print already.
    """

    def __init__(
        self,
        week: Week,
        plan: Plan,
        reader: Reader,
        texts: PageTexts,
        music: Music,
        kept: Kept | None = None,
        lengths: Mapping[str, BoxMusic] | None = None,
    ) -> None:
        self.kept = kept or {}
        self.lengths = lengths or {}
        self.week = week
        self.plan = plan
        self.reader = reader
        self.texts = texts
        self.music = music
        self.names = Names(week, texts)
        self.dates = Dates(texts)

    def build(self, tell: Tell = silent) -> tuple[BoxPage, ...]:
        """A page model for each box, in the order of the week file."""
        made = []
        for number, box in enumerate(self.week.boxes, start=1):
            tell("box", number, len(self.week.boxes))
            made.append(self._box(number, box))
        return tuple(made)

    def _box(self, number: int, box: BoxItem) -> BoxPage:
        orders = self.music.orders.boxes[number - 1]
        excerpt = orders.music.made()
        days = box_days(self.plan, box)
        tempos = box_tempos(box, self.week, sum(day.depth for day in days))
        block, subline = self._music(number, box, excerpt, tempos, orders.paper.made())
        blocks = self._variants(orders, excerpt) if excerpt is not None else {}
        played = [name for name, block in blocks.items() if block.systems]
        steps = self._recipe(box, days, tempos, played, excerpt, box_anchor(number) in self.kept)
        marks = self._marks(steps, len(played))
        printed = [block for block in blocks.values() if block.systems]
        page = BoxPage(
            anchor=box_anchor(number),
            number=number,
            title=self.names.box(box),
            subline=subline,
            why=self._why(box),
            music=block,
            paste=PASTE_MM if block is None else 0.0,
            recipe=steps,
            others=self._others(days, steps),
            variants=tuple(replace(one, mark=mark) for one, mark in zip(printed, marks, strict=True)),
            spoken=tuple(block for block in blocks.values() if not block.systems),
            record=self._record(number, box),
        )
        return self._without_music(page) if page.anchor in self.kept else page

    def _without_music(self, page: BoxPage) -> BoxPage:
        """The page of a box that an earlier workbook has: its way and its record are new, its music is not."""
        place = self.texts("kept", **self.dates.place(self.kept[page.anchor], self.week.week.start))
        return replace(page, music=None, paste=0.0, variants=(), spoken=(), kept=place)

    def _music(
        self,
        number: int,
        box: BoxItem,
        excerpt: Excerpt | None,
        tempos: tuple[Tempo, ...],
        paper: PaperCut | None,
    ) -> tuple[MusicBlock | None, str]:
        """What is cut out of a page and the engraved excerpt, and the grey line of the box with its goal."""
        goal = self.names.goal(box)
        beyond = box.target and tempos[-1].quarters_per_minute < box.target.quarters_per_minute
        goal_text = self.texts("goal_beyond" if beyond else "goal", goal=goal) if goal else ""
        heard = sound_names(self.week, "box", number - 1)
        sound = self.texts("sound", names=heard) if heard else ""
        title, printed = self.names.box(box), self._printed(number, box, paper)
        if excerpt is None:
            return MusicBlock(title, systems=printed) if printed else None, goal_text
        names = self.names.spoken
        # The number stands at the box once: at the page where there is one.
        labels = () if printed else (str(number),)
        engraving = self.music.engrave(excerpt, _numbered(self.music.boxed, box), labels)
        spoken, address = engraving.spoken, excerpt.origin.address
        place = names.place(spoken, address) if box.in_score else ""
        parts = (spoken.part, names.metre(spoken), names.key(spoken), goal_text, sound)
        block = MusicBlock(title, systems=(*printed, *self.music.pictures.of(engraving, place)))
        return block, " · ".join(part for part in parts if part)

    def _printed(self, number: int, box: BoxItem, paper: PaperCut | None) -> tuple[Picture, ...]:
        """The lines that are cut out of a printed page."""
        if paper is None:
            return ()
        what = self.texts("from_page", what=self.names.box(box), page=", ".join(map(str, paper.pages)))
        return self.music.from_paper(paper, str(number), what)

    def _why(self, box: BoxItem) -> str:
        faults = self.names.faults(box)
        faults = f"{capital(faults)}." if faults else ""
        listen = self.texts("listen", what=listen_for(box, self.texts.words)) if self.texts.child else ""
        return " ".join(part for part in (faults, box.note, listen) if part)

    def _recipe(
        self,
        box: BoxItem,
        days: list[BoxDay],
        tempos: tuple[Tempo, ...],
        played: list[str],
        excerpt: Excerpt | None,
        in_print: bool,
    ) -> tuple[StepCell, ...]:
        depth = [day.minutes for day in days if day.depth]
        steps = recipe(
            depth[0] if depth else ALL_STEPS,
            box,
            self.week,
            self.lengths.get(box.id),
            days=len(depth),
            variants=len(played),
            context=excerpt is None or _has_context(excerpt),
        )
        return tuple(
            self._step(number, name, minutes if depth else None, box, tempos, played, in_print)
            for number, (name, minutes) in enumerate(steps.items(), start=1)
        )

    def _step(
        self,
        number: int,
        name: StepName,
        minutes: int | None,
        box: BoxItem,
        tempos: tuple[Tempo, ...],
        played: list[str],
        in_print: bool,
    ) -> StepCell:
        if name == "rhythms" and any("separate" in one.split("+") for one in played):
            name_id = "rhythms_and_bows"
        else:
            name_id = name
        text_id = "written_text_goal" if name == "written" and not tempos else f"{name}_text"
        if name == "rhythms" and in_print:
            text_id = "rhythms_text_kept"
        marks = self._listed([f"{number}{letter}" for letter in ascii_lowercase[: len(played)]])
        return StepCell(
            number=number,
            kind=name,
            name=self.texts(f"recipe.{name_id}"),
            text=self.texts(f"recipe.{text_id}", marks=marks, runs=self.week.clean_runs(box)),
            minutes=minutes,
            tempos=self._step_tempos(name, tempos),
            tempo=self.texts("recipe.context_tempo") if name == "context" and tempos else "",
        )

    def _marks(self, steps: tuple[StepCell, ...], count: int) -> list[str]:
        """Marks of the printed variants: the number of their step and a letter."""
        number = next((step.number for step in steps if step.kind == "rhythms"), 0)
        return [f"{number or ''}{letter}" for letter in ascii_lowercase[:count]]

    def _listed(self, parts: list[str]) -> str:
        if len(parts) < 2:
            return "".join(parts)
        return self.texts("recipe.marks", first=", ".join(parts[:-1]), last=parts[-1])

    def _step_tempos(self, step: str, tempos: tuple[Tempo, ...]) -> tuple[pages.TempoLabel, ...]:
        """Which of the tempo steps belong to a step of the recipe: the first and the last of them."""
        if not tempos or step == "context":
            return ()
        count = {"slow": 1, "pieces": 2, "rhythms": (len(tempos) + 2) // 2}.get(step, len(tempos))
        return self.names.ends(tempos[:count])

    def _others(self, days: list[BoxDay], steps: tuple[StepCell, ...]) -> str:
        """What to do on the days when the box is only played again."""
        if self.reader.child or not any(day.depth for day in days) or all(day.depth for day in days):
            return ""
        kept = [str(step.number) for step in steps if step.kind in {"slow", "written", "context"}]
        return self.texts("recipe.others", steps=self._listed(kept))

    def _variants(self, orders: BoxOrders, excerpt: Excerpt) -> dict[str, MusicBlock]:
        """The practice versions by their names; one that cannot be drawn is told on the console."""
        blocks: dict[str, MusicBlock] = {}
        for order in orders.variants:
            with suppress(VariantError):
                blocks[order.name] = self._variant(orders, excerpt, order)
        return blocks

    def _variant(self, orders: BoxOrders, excerpt: Excerpt, order: Order[Excerpt | None]) -> MusicBlock:
        head = capital(title(order.name, self.texts.words))
        if order.made() is None:
            line = self.texts.variant(order.name)
            return MusicBlock(head, note=drone_named(line, order.name, excerpt, self.texts.words))
        _, engraving = self.music.engrave_variant(
            orders.made_as(order.name),
            where(excerpt),
            lambda: without_tempo(order.made() or excerpt),
            _numbered(self.music.plain, orders.box),
        )
        line = f"{head}: {self.names.spoken.place(engraving.spoken, excerpt.origin.address)}"
        return MusicBlock(
            head, self.texts.variant(orders.made_as(order.name)), self.music.pictures.of(engraving, line)
        )

    def _record(self, number: int, box: BoxItem) -> Record:
        record = box_record(self.week, self.plan, box, circles=self.reader.circles)
        tempos = record.tempos
        lines = [
            LogDay(
                self.dates.line(day.day),
                day.meant,
                day.depth,
                self.names.marks((day.tempo,))[0] if day.tempo else None,
            )
            for day in record.days
        ] or [LogDay("", (False,) * max(len(tempos), 1))] * EMPTY_DAYS
        same = len({tempo.unit for tempo in tempos}) == 1
        marks = self.names.marks(tempos)
        return Record(
            beat=marks[0].beat if same else None,
            tempos=tuple(replace(mark, beat=None) for mark in marks) if same else marks,
            goal=box.goal or "",
            runs=self.week.clean_runs(box),
            days=tuple(lines),
            circles=self.reader.circles,
            rule=self._rule() if number == 1 else "",
        )

    def _rule(self) -> str:
        """What a clean run is, and what a slip costs in the count."""
        words = self.texts.words
        return f"{words('plan.clean_run.text')} {words(f'plan.slip.{self.week.plan.slip}')}"


def _numbered(style: Style, box: BoxItem) -> Style:
    """The style for the music of a box: bars written out in the week file have no numbers of their own."""
    return replace(style, bar_numbers="none") if box.abc is not None else style


def _has_context(excerpt: Excerpt) -> bool:
    """Whether there is anything outside the box to play it in."""
    if not excerpt.boxes:
        return False
    first, last = excerpt.boxes[0].start, excerpt.boxes[-1].end
    end = excerpt.bars[last.bar].length if last.bar < len(excerpt.bars) else Fraction(0)
    return (first.bar, first.onset) > (0, 0) or last.bar < len(excerpt.bars) - 1 or last.onset < end
