"""Warm-ups: the sheet at once, as it is chosen; printed, or added to a player's week."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.frame import answer, posted, render, state_of
from excerpts.desk.given_files import for_viewer
from excerpts.desk.warmup_sheet import WarmupChoice, pdf, pictures, told_of, with_warmups
from excerpts.errors import InputError, VariantError
from excerpts.instruments.instrument import INSTRUMENTS, LEVELS
from excerpts.variants import parse_variant, title, variants
from excerpts.warmups import PATTERNS
from excerpts.weekfile.read_week import read_week
from excerpts.words import Words

KEYS: Final = ("C", "G", "D", "A", "E", "B", "F", "Bb", "Eb", "Ab", "Db")
"""Keys that are offered, each in major and in minor; any other may be typed."""

FINGERINGS: Final = ("open", "fourth", "2", "none")

SAID: Final = ("desk.warmups.added",)


def _page(request: Request) -> Response:
    state = state_of(request)
    words = state.words
    return render(
        request,
        "warmups.html",
        title=words("desk.warmups.title"),
        page="warmups",
        script="warmups",
        said=SAID,
        keys=[*KEYS, *(f"{key} minor" for key in ("A", "E", "B", "F#", "C#", "D", "G", "C", "F", "Bb"))],
        patterns=[(name, words(f"desk.warmups.pattern.{name}")) for name in PATTERNS],
        instruments=[(name, words(f"instrument.{name}")) for name in INSTRUMENTS],
        levels=[(name, words(f"desk.warmups.level.{name}")) for name in LEVELS],
        variants=[(name, title(name, words)) for name in _variants()],
        fingerings=[(name, words(f"desk.warmups.fingers.{name}")) for name in FINGERINGS],
        players=state.players(),
    )


def _variants() -> Iterator[str]:
    """Every variant that changes notes, as it is typed: with an example of its parameter where it needs one."""
    for info in variants():
        if info.spoken:
            continue
        try:
            parse_variant(info.name)
        except VariantError:
            yield info.examples[0]
        else:
            yield info.name


def _draw(request: Request) -> Response:
    """Pictures of the warm-ups, with what is said over each, and what does not fit."""
    state, choice = state_of(request), WarmupChoice.of(posted(request))
    words = state.words
    made = choice.made(words)
    sheet = choice.sheet(made, state.studio.settings, words, paged=False)
    return answer({"pictures": pictures(sheet), "told": told_of(made, sheet)})


def _sheet(request: Request) -> Response:
    """The sheet as a PDF: its address says what was chosen."""
    state, choice = state_of(request), WarmupChoice.of(request.query_params)
    words = state.words
    made = choice.made(words)
    sheet = choice.sheet(made, state.studio.settings, words, paged=True)
    return for_viewer(pdf(sheet), f"{words('desk.warmups.title')}.pdf")


def _add(request: Request) -> Response:
    """Add the warm-ups to the latest week of a player."""
    state, said = state_of(request), posted(request)
    player, choice = state.player(str(said.get("player", ""))), WarmupChoice.of(said)
    content = read_week(player.week).content
    if content is None:
        raise InputError(
            "this week file has faults: mend them on the page of the week first.", where=player.week.name
        )
    one = content.player
    # As it will be printed there: for the player's instrument and level, in the player's words.
    fitted = WarmupChoice(choice.keys, {**choice.texts, "level": one.level})
    made = fitted.made(Words(one.words))
    shown = state.saves.show(player.week, opened=True)
    new = with_warmups(shown.data.decode("utf-8"), player.week, choice.items(one.instrument))
    what = state.words("desk.warmups.step", player=player.name)
    state.saves.save(player.week, shown.digest, new.encode("utf-8"), what=what)
    return answer(
        {
            "player": player.name,
            "names": [excerpt.origin.title for excerpt in made],
            "week": f"/week/{player.key}",
        }
    )


ROUTES: Final = [
    Route("/warmups", _page, methods=["GET"]),
    Route("/warmups/draw", _draw, methods=["POST"]),
    Route("/warmups/sheet", _sheet, methods=["GET"]),
    Route("/warmups/add", _add, methods=["POST"]),
]
