"""The week of a player as a form, with its plan beside it.

The page holds the text that was shown and the text as it would be; every change goes to the desk, which gives back the
new text, the plan and the faults. Only `save` writes.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, Final, get_args
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.added_pages import inbox_names
from excerpts.desk.box_variants import fitting_variants
from excerpts.desk.frame import answer, environment, posted, render, state_of
from excerpts.desk.plan_preview import PlanPreview, all_faults, plan_preview
from excerpts.desk.sharers import included, sharers
from excerpts.desk.studio_state import Player, StudioState
from excerpts.desk.week_form import WeekForm, week_form
from excerpts.desk.week_scores import page_names, parts_of_pieces, score_names
from excerpts.desk.week_texts import WeekTexts, plain, raw_text, read_page_changes
from excerpts.desk.week_view import HEAD, WeekView
from excerpts.errors import InputError
from excerpts.warmups import PATTERNS
from excerpts.weekfile.days import EVERY, WEEKDAYS
from excerpts.weekfile.item_values import FaultName
from excerpts.weekfile.reading import document_of
from excerpts.words import Words

_MOST_TEXTS: Final = 25
_LARGEST: Final = 1_000_000
"""Characters of a week file or a set."""

_SCALE_KEYS: Final = "C G D A E B F Bb Eb Ab Db F# Am Em Bm F#m Dm Gm Cm Fm".split()

_SAYS: Final = (
    "desk.making.stop",
    *(f"desk.week.{name}"
    for name in (
        "saved", "unsaved", "saved_now", "open",
        "not_made", "told", "fault_count.one", "fault_count.many", "removed", "moved", "added",
        "mend_first", "score_saved", "pages_large",
    )),
)  # fmt: skip


def _page(request: Request) -> Response:
    state = state_of(request)
    player = state.player(request.path_params["key"])
    shown = state.saves.show(player.week, opened=True)
    data: dict[str, Any] = {"key": player.key, "week": _name(state, player.week), "files": {}}
    data["files"][data["week"]] = {"digest": shown.digest, "text": shown.data.decode("utf-8", "replace")}
    title = state.words("desk.week.title", player=player.name)
    try:
        texts = WeekTexts(player.week, {player.week: raw_text(shown.data)})
        values = _values(state, player, texts)
    except InputError as error:
        return render(
            request, "week_broken.html", title=state.words("desk.week.broken"), script="week_broken",
            said=_SAYS, what=_short(state, str(error)), text=shown.text, file=player.week.name, data=data,
        )  # fmt: skip
    for document in texts.reading.sources.documents:
        held = state.saves.show(document.file, opened=True)
        name = _name(state, document.file)
        data["files"][name] = {"digest": held.digest, "text": held.data.decode("utf-8", "replace")}
    data["faults"] = _told(state, values["v"].form)
    data["at"] = _asked_for(texts, state, request.query_params.get("at", ""))
    return render(
        request,
        "week.html",
        title=title,
        script="week",
        said=_SAYS,
        data=data,
        dates=_dates(texts, state.words),
        **values,
    )


def _values(state: StudioState, player: Player, texts: WeekTexts) -> dict[str, Any]:
    """What the templates of form and plan need."""
    plan = plan_preview(texts, state.scores)
    form = week_form(texts, plan.faults)
    from excerpts.desk import app

    words = state.words
    studio = texts.reading.studio
    names = score_names(studio, texts.path.parent), page_names(studio), inbox_names(texts.path)
    view = WeekView(form, words, *names, parts_of_pieces(texts, state.scores))
    return {
        "v": view, "plan": _shortened(state, plan), "player": player, "week_days": _week_days(form, words),
        "sharers": sharers(state, player, texts), "part_page": "part_page" in app.PAGES,
        "patterns": list(PATTERNS), "scale_keys": _SCALE_KEYS, "head": HEAD,
        "whys": [(name, view.choice("why", name)) for name in get_args(FaultName)],
    }  # fmt: skip


def _plan(request: Request) -> Response:
    """The texts after some changes, with their plan and what is wrong."""
    state, _, texts = _posted_texts(request)
    changed = texts.changed(read_page_changes(posted(request).get("changes", [])))
    plan = plan_preview(changed, state.scores)
    form = week_form(changed, plan.faults)
    return answer(
        {
            "texts": _new_texts(state, texts, changed),
            "plan": _plan_html(state, plan),
            "faults": _told(state, form),
        }
    )


def _form(request: Request) -> Response:
    """The same with the form anew: after a change that adds, moves or removes something."""
    state, player, texts = _posted_texts(request)
    changed = texts.changed(read_page_changes(posted(request).get("changes", [])))
    values = _values(state, player, changed)
    form = environment().get_template("week_form.html").render(t=state.words, **values)
    return answer(
        {
            "texts": _new_texts(state, texts, changed),
            "form": form,
            "plan": _plan_html(state, values["plan"]),
            "faults": _told(state, values["v"].form),
        }
    )


def _check(request: Request) -> Response:
    """What only the making of the music shows, as `check` tells it."""
    state, _, texts = _posted_texts(request)
    faults, warnings = all_faults(texts, state.scores)
    return answer(
        {
            "faults": _told(state, week_form(texts, faults)),
            "told": [_short(state, str(fault)) for fault in warnings],
        }
    )


def _variants(request: Request) -> Response:
    """The variants that fit a box, as choices."""
    state, player, texts = _posted_texts(request)
    place, boxes = posted(request).get("place"), week_form(texts).items["box"]
    if type(place) is not int or not 0 <= place < len(boxes):
        raise InputError("there is no such box.", hint="Load the page again.")
    box = boxes[place]
    variants = fitting_variants(texts, state.scores, place, state.words)
    pictures = ""
    if box.value("bars") and box.value("piece") and variants.names and box.shared is None:
        steps = [player.key, box.value("piece"), "variants", box.value("id")]
        pictures = "/part/" + "/".join(quote(str(step), safe="") for step in steps)
    template = environment().get_template("week_variants.html")
    html = template.render(t=state.words, found=variants, one=box.fields["variants"], pictures=pictures)
    return answer({"html": html})


def _save(request: Request) -> Response:
    """Write one of the texts: the week file, or a set that it includes."""
    state = state_of(request)
    player = _player(state, request)
    said = posted(request)
    text, digest, name = (said.get(key) for key in ("text", "digest", "file"))
    if (
        not isinstance(text, str)
        or not isinstance(digest, str)
        or not isinstance(name, str)
        or len(text) > _LARGEST
    ):
        raise InputError("this is not the text of a week.")
    path = _file(state, name)
    if path != player.week and path not in included(player.week):
        raise InputError("the desk saves the week file and the sets that it includes.")
    document_of(path, plain(text))
    what = (
        state.words("desk.week.what_save", player=player.name)
        if path == player.week
        else state.words("desk.week.what_set", file=path.name)
    )
    digest = state.saves.save(path, digest, text.encode(), what=what)
    key = next((one.key for one in state.players() if one.week == player.week), player.key)
    return answer({"digest": digest, "key": key})


def _player(state: StudioState, request: Request) -> Player:
    """The player of a request, if the page shows the player's latest week.

    Raises:
        InputError: There is a newer one.
    """
    player = state.player(request.path_params["key"])
    if posted(request).get("week") != _name(state, player.week):
        raise InputError(state.words("desk.week.newer"))
    return player


def _posted_texts(request: Request) -> tuple[StudioState, Player, WeekTexts]:
    """The texts that a page has sent."""
    state = state_of(request)
    player = _player(state, request)
    sent = posted(request).get("texts")
    if not isinstance(sent, dict) or len(sent) > _MOST_TEXTS:
        raise InputError("the texts of a week were expected.")
    texts: dict[Path, str] = {}
    for name, text in sent.items():
        if not isinstance(text, str) or len(text) > _LARGEST:
            raise InputError("the texts of a week were expected.")
        texts[_file(state, name)] = text
    if player.week not in texts:
        raise InputError("the text of the week file was expected.")
    return state, player, WeekTexts(player.week, texts)


def _file(state: StudioState, name: str) -> Path:
    """A file of the studio by its path from the studio's folder."""
    path = state.root / name
    if not path.resolve().is_relative_to(state.root) or path.suffix != ".toml":
        raise InputError("there is no such file in the studio.")
    return path


def _name(state: StudioState, path: Path) -> str:
    return path.relative_to(state.root).as_posix()


def _new_texts(state: StudioState, before: WeekTexts, after: WeekTexts) -> dict[str, str]:
    return {_name(state, path): text for path, text in after.texts.items() if before.texts.get(path) != text}


def _plan_html(state: StudioState, plan: PlanPreview) -> str:
    return environment().get_template("week_plan.html").render(t=state.words, plan=_shortened(state, plan))


def _shortened(state: StudioState, plan: PlanPreview) -> PlanPreview:
    remarks = tuple(_short(state, line) for line in plan.remarks)
    return replace(plan, unmeasured=_short(state, plan.unmeasured), remarks=remarks)


def _told(state: StudioState, form: WeekForm) -> dict[str, list[str]]:
    """Faults by the ids that they stand beside; those of the whole under `faults`."""
    by_id = {name: [_short(state, text) for text in texts] for name, texts in form.told().items()}
    return by_id | ({"faults": [_short(state, text) for text in form.faults]} if form.faults else {})


def _short(state: StudioState, text: str) -> str:
    """A message with files named from the studio's folder."""
    return text.replace(f"{state.root}/", "")


def _asked_for(texts: WeekTexts, state: StudioState, key: str) -> str:
    """The id of the field that an address asks for by the key of its fault ('box "run", bars'); empty for none."""
    if not key:
        return ""
    faults = [fault for fault in all_faults(texts, state.scores)[0] if fault.key == key]
    return next(iter(week_form(texts, faults).told()), "")


def _week_days(form: WeekForm, words: Words) -> list[tuple[str, str]]:
    """The keys of the minutes, each with its name: every day, the weekdays, and the dates that the file names."""
    names = words("desk.week.days_long").split()
    given = form.groups["week"]["minutes"].value
    days = [(EVERY, words("desk.week.every")), *zip(WEEKDAYS, names, strict=True)]
    known = {key for key, _ in days}
    return days + [(key, key) for key in given if key not in known]


def _dates(texts: WeekTexts, words: Words) -> str:
    """From which day to which the week goes; empty where that is not known."""
    content = texts.reading.content
    if content is None:
        return ""
    first, last = content.week.start, content.week.last
    return words("desk.week.dates", first=_day(first, words), last=_day(last, words))


def _day(day: date, words: Words) -> str:
    months, weekdays = (words(f"workbook.date.{name}").split() for name in ("months", "weekdays"))
    return words(
        "workbook.date.weekday", day=day.day, month=months[day.month - 1], weekday=weekdays[day.weekday()]
    )


ROUTES: Final = [
    Route("/week/{key}", _page, methods=["GET"]),
    Route("/week/{key}/plan", _plan, methods=["POST"]),
    Route("/week/{key}/form", _form, methods=["POST"]),
    Route("/week/{key}/check", _check, methods=["POST"]),
    Route("/week/{key}/variants", _variants, methods=["POST"]),
    Route("/week/{key}/save", _save, methods=["POST"]),
]
