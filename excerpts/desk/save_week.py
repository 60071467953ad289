"""Writes what a page changes in a week file, or in a set that it includes, unless the change would make a fault."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from starlette.requests import Request

from excerpts.desk.frame import posted, state_of
from excerpts.desk.open_part import ShownWeek, week_in
from excerpts.desk.saves import ChangedOutside
from excerpts.desk.studio_state import Player
from excerpts.desk.week_texts import PageChange
from excerpts.errors import InputError
from excerpts.week.model import Week
from excerpts.weekfile.faults import Fault


def save_week(
    request: Request,
    player: Player,
    file: ShownWeek,
    faults: tuple[Fault, ...],
    changes: Sequence[PageChange],
    what: str,
    check: Callable[[Week], str] = lambda _week: "",
) -> str:
    """Write changes to a week file and the sets that it includes, unless they make a fault.

    Args:
        request: The write, which brings the digest that the week was shown with.
        player: Whose file it is.
        file: The week as it is.
        faults: The faults that it has.
        changes: The changes, each with for whom it is where it is one to a set.
        what: What is done, for the list of undo.
        check: Looks at the week as it would be, and gives what is worth telling.

    Returns:
        What is worth telling.

    Raises:
        ChangedOutside: The files are not as the page shows them.
        SharedError: A change is to a set, and does not say for whom.
        InputError: The week would have a fault that it did not have.
    """
    state = state_of(request)
    after = file.texts.changed(changes)
    shown = {one.path: one for one in file.shown}
    anew = {path: text.encode() for path, text in after.texts.items() if text != file.texts.texts[path]}
    if posted(request).get("digest") != file.digest:
        path, data = next(iter(anew.items()), (player.week, file.shown[0].data))
        raise ChangedOutside(path, data, shown[path].data, file.digest)
    week, now_wrong = week_in(state, after)
    before = {fault.message for fault in faults}
    if new := [fault.message for fault in now_wrong if fault.message not in before]:
        raise InputError(" ".join(new), where=player.week.name)
    warnings = check(week)
    for path, data in anew.items():
        state.saves.save(path, shown[path].digest, data, what=what)
    return warnings
