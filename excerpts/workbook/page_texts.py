"""The words of the pages, and dates in them."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from excerpts.words import Words

if TYPE_CHECKING:
    from excerpts.workbook.already_printed import Place


class PageTexts:
    """Looks up what a page says.

    Args:
        words: The texts of the player's language and column.
        child: Take the version for the youngest where the words file has one.
    """

    def __init__(self, words: Words, child: bool = False) -> None:
        self.words = words
        self.child = child

    def __call__(self, message: str, /, **parameters: object) -> str:
        """The text of `workbook.<message>`; a message that starts with "caution." stands by itself."""
        if message.startswith("caution."):
            return self.words(message, **parameters)
        if self.child and f"workbook.child.{message}" in self.words:
            return self.words(f"workbook.child.{message}", **parameters)
        return self.plain(message, **parameters)

    def variant(self, name: str) -> str:
        """What to do in a practice variant."""
        message = f"workbook.child.variant.{name}"
        if self.child and message in self.words:
            return self.words(message)
        from excerpts.variants import instruction  # all variants are loaded by whoever names one

        return instruction(name, self.words)

    def plain(self, message: str, /, **parameters: object) -> str:
        """The text of `workbook.<message>` as it is for everybody."""
        return self.words(f"workbook.{message}", **parameters)


class Dates:
    """Says dates as the player's words have them.

    Args:
        texts: The words of the pages.
    """

    def __init__(self, texts: PageTexts) -> None:
        self.texts = texts

    def _name(self, message: str, place: int) -> str:
        return self.texts(f"date.{message}").split()[place]

    def _parts(self, day: date) -> dict[str, object]:
        return {
            "day": day.day,
            "month": self._name("months", day.month - 1),
            "year": day.year,
            "weekday": self._name("weekdays", day.weekday()),
        }

    def full(self, day: date) -> str:
        """With its year: "30 November 2026"."""
        return self.texts("date.full", **self._parts(day))

    def day(self, day: date) -> str:
        """Without its year: "30 November"."""
        return self.texts("date.day", **self._parts(day))

    def weekday(self, day: date) -> str:
        """With its weekday: "Monday 30 November"."""
        return self.texts("date.weekday", **self._parts(day))

    def range(self, first: date, last: date) -> str:
        """From one day to another, no month or year said twice."""
        if first.year != last.year:
            return self.texts("date.range", first=self.full(first), last=self.full(last))
        if first.month != last.month:
            return self.texts("date.range_year", first=self.day(first), last=self.day(last), year=first.year)
        parts = self._parts(first)
        return self.texts(
            "date.range_month", first=first.day, last=last.day, month=parts["month"], year=first.year
        )

    def short(self, day: date) -> str:
        """Short name of its weekday: "Mon"."""
        return self._name("weekdays_short", day.weekday())

    def line(self, day: date) -> str:
        """Short name and number: "Mon 30"."""
        return f"{self.short(day)} {day.day}"

    def place(self, place: Place, week: date) -> dict[str, object]:
        """A page of an earlier workbook, for a message: its date, with the year where it is another, and its page."""
        return {"date": self.near(place.week, week), "page": place.page}

    def near(self, day: date, week: date) -> str:
        """A day, with its year where that is not the week's."""
        return self.day(day) if day.year == week.year else self.full(day)


def short_day(day: date, words: Words) -> str:
    """A day in a few letters: "30 Nov"."""
    month = words("workbook.date.months").split()[day.month - 1]
    return words("teacher.progress.day", day=day.day, month=month[:3])
