"""The practice variants that fit the notes of a box, as choices."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from excerpts.desk.week_texts import WeekTexts
from excerpts.errors import InputError
from excerpts.score import Score
from excerpts.variants import title, variants
from excerpts.week.orders.everything import Orders
from excerpts.week.resolve import resolve_rest
from excerpts.words import Words


@dataclass(frozen=True, slots=True)
class Fitting:
    """The variants of a box.

    Attributes:
        names: Those that fit, as the file names them, each with its title.
        usual: The titles of those that are taken when the teacher names none.
    """

    names: tuple[tuple[str, str], ...] = ()
    usual: tuple[str, ...] = ()


def fitting_variants(texts: WeekTexts, scores: Callable[[Path], Score], place: int, words: Words) -> Fitting:
    """The variants that fit a box; none for a box on paper, and for one whose bars are not there.

    Args:
        texts: The week.
        scores: Opens a score.
        place: The place of the box in the file, from 0.
        words: The words of the titles.
    """
    week, _ = resolve_rest(texts.reading, scores)
    if week is None:
        return Fitting()
    kept = texts.reading.kept.kept.get(("box",), list(range(len(week.boxes))))
    if place not in kept:
        return Fitting()
    orders = Orders(week).boxes[kept.index(place)]
    try:
        if orders.music.made() is None:
            return Fitting()
    except InputError:
        return Fitting()  # told beside its bars
    names = [
        text for info in variants() for text in info.examples if orders.fits(text) and orders.suits(text)
    ]
    usual = orders.usual()
    return Fitting(
        tuple((name, title(name, words)) for name in dict.fromkeys(names)),
        tuple(title(name, words) for name in usual),
    )
