"""Gathers the music of a workbook: what is to be made for the week, made once, and engraved."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from time import perf_counter

from excerpts.engrave import Style
from excerpts.engrave.svg.drawing import data_uri
from excerpts.excerpt import Excerpt
from excerpts.paper import PaperCut
from excerpts.week import Week
from excerpts.week.orders import Orders
from excerpts.words import Words, capital
from excerpts.workbook.beat import beat_images
from excerpts.workbook.music_names import SpokenNames
from excerpts.workbook.page_names import Names
from excerpts.workbook.pages import Picture
from excerpts.workbook.paper_image import DrawnPaper, drawn
from excerpts.workbook.pdf_image import DrawnMusic, UnknownShapeError
from excerpts.workbook.render_cache import Printed, PrintedSystem, RenderCache


class Pictures:
    """Turns engravings into pictures for the pages, and keeps what stands behind their addresses.

    Args:
        words: Texts for the spoken descriptions.
    """

    def __init__(self, words: Words) -> None:
        self.names = SpokenNames(words)
        self.images: dict[str, DrawnMusic | DrawnPaper] = dict(beat_images())

    def of(self, engraving: Printed, what: str = "") -> tuple[Picture, ...]:
        """The systems as pictures, each with a description for those who hear the page.

        Args:
            engraving: The music.
            what: What it is ("bars 3–4"); its bars where it is left out.
        """
        names, systems = self.names, engraving.systems
        what = what or names.place(engraving.spoken)
        spoken = [names.alt(engraving.spoken, what)]
        spoken += [names.next_line(what, line, len(systems)) for line in range(2, len(systems) + 1)]
        return tuple(
            Picture(self._source(system), system.width_mm, system.height_mm, alt)
            for system, alt in zip(systems, spoken, strict=True)
        )

    def of_paper(self, lines: Sequence[DrawnPaper], what: str) -> tuple[Picture, ...]:
        """Lines cut out of a printed page as pictures; what notes they hold nobody knows.

        Args:
            lines: The lines.
            what: Which bars or place of which page.
        """
        pictures = []
        for number, line in enumerate(lines, start=1):
            alt = self.names.next_line(what, number, len(lines)) if number > 1 else capital(what)
            pictures.append(Picture(self._paper(line, what), line.width_mm, line.height_mm, alt))
        return tuple(pictures)

    def _paper(self, line: DrawnPaper, _what: str) -> str:
        """Address of a line from paper."""
        return self._kept(line)

    def _kept(self, image: DrawnMusic | DrawnPaper) -> str:
        source = f"music:{len(self.images) + 1}"
        self.images[source] = image
        return source

    def _source(self, system: PrintedSystem) -> str:
        """Address of a system's picture: a ready image, or its SVG where it holds more than plain paths."""
        try:
            past = (system.past_left_mm, system.past_right_mm)
            image = DrawnMusic(system.svg, system.width_mm, system.height_mm, past)
        except UnknownShapeError:
            return data_uri(system.svg)
        return self._kept(image)


class Music:
    """The music of one week; `orders` is the list of it.

    Args:
        week: The week.
        names: Names for the spoken descriptions.
        style: How it is engraved.
        memory: Knows what was made before.
    """

    def __init__(self, week: Week, names: Names, style: Style, memory: RenderCache | None = None) -> None:
        self.memory = memory or RenderCache()
        self.orders = Orders(week, names.words, self._varied, self.memory)
        self.week = week
        self.names = names
        self.boxed = style
        self.in_context = replace(self.boxed, draw_box=False)
        self.plain = replace(self.in_context, grey_context=False)
        self.seconds = 0.0
        self.log: list[str] = []
        self.remarks: list[str] = []
        self._missing: dict[tuple[str, str], str] = {}
        self.pictures = Pictures(names.words)

    def engrave(self, excerpt: Excerpt, style: Style, labels: tuple[str, ...] = ()) -> Printed:
        """Engrave, count the time, and note what has no ink."""
        with self._timed():
            engraving = self.memory.printed(excerpt, style, labels)
        self.log.extend(engraving.log)
        origin = excerpt.origin
        where = ", ".join(filter(None, (origin.score or origin.title, origin.variant)))
        for one in engraving.missing:
            # Said once: what a passage lacks, its variants lack as well.
            self._missing.setdefault((origin.score, str(one)), f"{self.week.player.name}: {where}: {one}")
        return engraving

    def from_paper(self, cut: PaperCut, label: str, what: str) -> tuple[Picture, ...]:
        """The music of a box that is cut out of a printed page.

        Args:
            cut: What is cut out.
            label: The number of the box.
            what: What it is ("bars 3–4, page 2").
        """
        lines, smaller = drawn(cut, self.boxed, label)
        if smaller:
            self.remarks.append(
                f"{self.week.player.name}: box {label}: its staves are smaller than {self.boxed.staff_mm:g} mm: the "
                "area is too wide or too high for the page, and no barline is found to break it at. Give it as areas."
            )
        return self.pictures.of_paper(lines, what)

    def engrave_variant(
        self, name: str, place: str, make: Callable[[], Excerpt], style: Style
    ) -> tuple[Excerpt, Printed]:
        """Make a variant and engrave it; whatever goes wrong with it is a refusal.

        Args:
            name: The variant.
            place: The passage, as messages name it.
            make: Makes it.
            style: Sizes and choices.

        Raises:
            VariantError: It does not fit, or it failed.
        """

        def made() -> tuple[Excerpt, Printed]:
            excerpt = make()
            return excerpt, self.engrave(excerpt, style)

        return self.memory.guarded(name, place, made)

    @property
    def missing(self) -> tuple[str, ...]:
        """What has no ink anywhere, in words."""
        return tuple(self._missing.values())

    def _varied(self, excerpt: Excerpt, name: str) -> Excerpt:
        return self.memory.varied(excerpt, name, self.names.words)

    @contextmanager
    def _timed(self) -> Iterator[None]:
        start = perf_counter()
        try:
            yield
        finally:
            self.seconds += perf_counter() - start
