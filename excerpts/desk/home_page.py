"""What goes home: for each player of a day a folder, a message for the teacher's own mail, and who was given what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.frame import answer, posted, render, state_of
from excerpts.desk.given_list import Given, given_file, given_to, read_given, with_line
from excerpts.desk.home_folder import files_in, home_folder, put_together
from excerpts.desk.makings import Making, begin
from excerpts.desk.roster import Row, roster
from excerpts.desk.studio_state import Player, StudioState
from excerpts.errors import InputError
from excerpts.system.studio_files import workbook_path
from excerpts.week import Week, load_week
from excerpts.words import Words
from excerpts.workbook.page_texts import Dates, PageTexts, short_day

_SAID: Final = (
    "desk.making.stop",
    "desk.home.made",
    "desk.home.made_one",
    "desk.home.copied",
    "desk.home.given",
    "desk.home.none_chosen",
)


@dataclass(frozen=True, slots=True)
class HomeLine:
    """One player of the day.

    Attributes:
        row: The player, as the first page lists it.
        folder: Where the files go, from the studio's folder.
        files: What is in it already.
        sounds: The week asks for sounds.
        page: The player has a page.
        message: The message, in the player's words.
        more: What it says of sounds and of a page, where they are chosen.
        subject: Its subject.
        given: What the player was given of this week, in words.
    """

    row: Row
    folder: str
    files: tuple[str, ...]
    sounds: bool
    page: bool
    message: str
    more: dict[str, str]
    subject: str
    given: tuple[str, ...]


def _home(request: Request) -> Response:
    state = state_of(request)
    words = state.words
    today = date.today()
    rows = [row for day in roster(state, today).days for row in day.rows if row.day and not row.faults]
    days = sorted({row.day for row in rows if row.day})
    day = _chosen(request.query_params.get("day", ""), days, today)
    dates = Dates(PageTexts(words))
    return render(
        request,
        "home.html",
        title=words("desk.home.title"),
        page="home",
        script="home",
        said=_SAID,
        days=[(one.isoformat(), dates.weekday(one)) for one in days],
        day=day.isoformat() if day else "",
        lines=_lines(state, [row for row in rows if row.day == day], words),
        root=state.folder,
    )


def _chosen(asked: str, days: list[date], today: date) -> date | None:
    """The day that was asked for, else the next with a lesson, else the last; None where there is none."""
    for day in days:
        if day.isoformat() == asked:
            return day
    return next((day for day in days if day >= today), days[-1] if days else None)


def _lines(state: StudioState, rows: list[Row], words: Words) -> list[HomeLine]:
    given = _given(state)
    players = state.players()
    home_lines = []
    for row in rows:
        assert row.day is not None
        week = load_week(row.player.week, state.scores)
        folder = home_folder(state, row.player, row.day.isoformat(), players)
        lines = given_to(given, row.player.name, week.week.start)
        subject, message, more = message_of(week, state.studio.settings.copying)
        home_lines.append(
            HomeLine(
                row=row,
                folder=str(folder.relative_to(state.folder)),
                files=files_in(folder),
                sounds=week.week.sound,
                page=week.player.page,
                message=message,
                more=more,
                subject=subject,
                given=tuple(_said(one, words) for one in lines),
            )
        )
    return home_lines


def message_of(week: Week, copying: str | None) -> tuple[str, str, dict[str, str]]:
    """A message that goes with the files, in the player's words, with nobody else's name.

    Returns:
        Its subject; its text for what the week asks for; and what it says of `sounds` and `page` where they go along.
    """
    words = Words(week.player.words)
    dates = Dates(PageTexts(words)).range(week.week.start, week.week.last)
    subject = words("desk.home.subject", dates=dates)
    file = workbook_path(week.path.parent, week.player.name, week.week.start).with_suffix(".html").name
    more = {
        "sounds": words("desk.home.message_sounds"),
        "page": words("desk.home.message_page", file=file),
    }
    parts = [words("desk.home.message", player=week.player.name, dates=dates)]
    parts += [
        more[name] for name, there in (("sounds", week.week.sound), ("page", week.player.page)) if there
    ]
    parts += [words("desk.home.message_pain"), *filter(None, [copying])]
    return subject, "\n\n".join(parts), more


def _said(one: Given, words: Words) -> str:
    try:
        day = short_day(date.fromisoformat(one.date), words)
    except ValueError:
        day = one.date  # somebody has typed it in a spreadsheet
    return words("desk.home.given_on", day=day, what=one.what)


def _given(state: StudioState) -> list[Given]:
    return read_given(state.saves.show(given_file(state.folder)).data)


def _of_post(request: Request) -> tuple[StudioState, Player, Path]:
    """The studio, player and folder that a write is about.

    Raises:
        InputError: The day is none.
    """
    state = state_of(request)
    said = posted(request)
    player = state.player(str(said.get("player", "")))
    try:
        day = date.fromisoformat(str(said.get("day", "")))
    except ValueError as error:
        raise InputError("this is not a day.") from error
    return state, player, home_folder(state, player, day.isoformat(), state.players())


def _make(request: Request) -> Response:
    state, player, folder = _of_post(request)
    said = posted(request)
    chosen = {name: said.get(name) is True for name in ("workbook", "sounds", "page")}

    def put(making: Making) -> dict[str, Any]:
        made = put_together(state, player, folder, making, **chosen)
        return {"folder": str(made.folder), "files": made.files, "told": made.told}

    return begin(request, put)


def _give(request: Request) -> Response:
    """Write down that a player was given what is in the folder."""
    state, player, folder = _of_post(request)
    files = files_in(folder)
    if player.start is None or not files:
        raise InputError("nothing was put together for this player yet.", where=player.name)
    words = state.words
    kinds = (
        ("workbook", any(name.endswith(".pdf") for name in files)),
        ("sounds", any("/" in name for name in files)),
        ("page", any(name.endswith(".html") for name in files)),
    )
    what = ", ".join(words(f"desk.home.{kind}") for kind, there in kinds if there)
    one = Given(date.today().isoformat(), player.name, player.start.isoformat(), what)
    shown = state.saves.show(given_file(state.folder))
    what_done = words("desk.home.saved", player=player.name)
    state.saves.save(shown.path, shown.digest, with_line(shown.data, one), what=what_done)
    return answer({"given": _said(one, words)})


ROUTES: Final = [
    Route("/home", _home, methods=["GET"]),
    Route("/home/make", _make, methods=["POST"]),
    Route("/home/given", _give, methods=["POST"]),
]
