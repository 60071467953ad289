"""The practice variants there are: each is a `VARIANT` of a module in `catalogue/`, a family is its `VARIANTS`."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from pkgutil import iter_modules

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import Voice
from excerpts.variants import catalogue as forms
from excerpts.words import Words


@dataclass(frozen=True, slots=True)
class VariantInfo:
    """What is known of a variant without using it.

    Attributes:
        name: Short trade word, as teachers type it.
        for_faults: Ids of the faults that it is for ("uneven", "speed"): common practice, no proof.
        parameter: What may follow the name after a colon ("NUMBER"); "" where nothing may.
        same_notes: The notes are those of the source, so a workbook need not print them again.
        order: Place in lists.
        kind: What it changes: "rhythm", "bowing", "line" (which notes), "chain", "hand", "tempo"; "" for
            what goes with anything.
        after: What it is stacked on there ("long-short"), for one that shows little alone.
        shown: Parameters with which a list of all variants in notes shows it; "" for none.
        again: A second time it changes nothing, so that it may stand in a stack twice.
        spoken: All that it is is a word to the player.
        longer: How many times as long it writes every value, the metronome's beat too; the sound is the same.
    """

    name: str
    for_faults: tuple[str, ...]
    parameter: str = ""
    same_notes: bool = False
    order: int = 100
    kind: str = ""
    shown: tuple[str, ...] = ("",)
    after: str = ""
    again: bool = False
    spoken: bool = False
    longer: int = 1

    @property
    def examples(self) -> tuple[str, ...]:
        """As typed, with each of the parameters that are shown."""
        before = f"{self.after}+" if self.after else ""
        return tuple(before + (f"{self.name}:{given}" if given else self.name) for given in self.shown)

    @property
    def usage(self) -> str:
        """How it is typed ("slow[:NUMBER]")."""
        return f"{self.name}[:{self.parameter}]" if self.parameter else self.name


@dataclass(frozen=True, slots=True)
class Variant:
    """A variant and what it does; exactly one of the three functions is given.

    Attributes:
        info: What is known of it.
        on_line: Turns the line of a box (see `take_box`) into the variant's; gets the parameter, "" if none.
        in_words: The same, where something is written over the notes; gets the player's own words too.
        on_excerpt: Turns an excerpt into another, where all of its MusicXML must stay.
        check: Refuses a parameter that makes no sense, before any music is looked at.
    """

    info: VariantInfo
    on_line: Callable[[Voice, str], Voice] | None = None
    in_words: Callable[[Voice, str, Words], Voice] | None = None
    on_excerpt: Callable[[Excerpt, str], Excerpt] | None = None
    check: Callable[[str], None] | None = None

    def vary_line(self, line: Voice, parameter: str, words: Words) -> Voice:
        """The variant of a line of events.

        Raises:
            VariantError: It does not fit the line.
            TypeError: It is one that works on the excerpt itself.
        """
        if self.in_words is not None:
            return self.in_words(line, parameter, words)
        if self.on_line is not None:
            return self.on_line(line, parameter)
        raise TypeError(f"{self.info.name} does not work on lines")


@dataclass(frozen=True, slots=True)
class Stage:
    """One variant of a stack, with its parameter."""

    variant: Variant
    parameter: str

    @property
    def typed(self) -> str:
        """As it is typed: "slow:60"."""
        return self.variant.info.name + (f":{self.parameter}" if self.parameter else "")


@lru_cache(maxsize=1)
def registered() -> dict[str, Variant]:
    """Every variant by name, in the order of lists."""
    modules = [import_module(f"{forms.__name__}.{module.name}") for module in iter_modules(forms.__path__)]
    families = [getattr(module, "VARIANTS", None) or (module.VARIANT,) for module in modules]
    ordered: list[Variant] = sorted(
        (one for family in families for one in family), key=lambda v: v.info.order
    )
    return {variant.info.name: variant for variant in ordered}


def variants() -> tuple[VariantInfo, ...]:
    """What is known of every variant, in the order of lists."""
    return tuple(variant.info for variant in registered().values())


def check_whole_number(variant: str, parameter: str, least: int, most: int, what: str) -> None:
    """Refuse what is no whole number from `least` to `most` (below 100); no parameter is left to the variant.

    Args:
        variant: Its name as it is typed.
        parameter: What stands after the colon.
        least: The smallest number that is taken.
        most: The largest.
        what: What is counted, as in "number of notes".

    Raises:
        VariantError: It is none; the hint says what would be right.
    """
    if parameter and not (re.fullmatch(r"\d{1,2}", parameter) and least <= int(parameter) <= most):
        raise VariantError(
            f"{parameter!r} in '{variant}:{parameter}' is not a {what}.",
            hint=f"Give {least} to {most}, like {variant}:5.",
        )
