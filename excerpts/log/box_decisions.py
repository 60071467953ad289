"""What becomes of each box in work: it retires, stays with a new start, goes over unchanged, or takes a way out."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from itertools import count

from excerpts.excerpt import Tempo
from excerpts.log.checks import add_check
from excerpts.log.choices import ChoiceError
from excerpts.log.next_week_draft import NextWeekDraft, below, standing_of
from excerpts.log.offers import Way, best, harder_first, other_variants, simpler
from excerpts.log.row import LogRow
from excerpts.log.standing import CLEAN_DAYS, STUCK_WEEKS, Standing, enough
from excerpts.variants import title
from excerpts.week.bars_in_words import bars_of
from excerpts.week.orders import BoxOrders, Orders
from excerpts.weekfile.edit_text import Value
from excerpts.weekfile.items import CHECK_WEEKS, BoxItem
from excerpts.weekfile.tempo_text import tempo_text


def carry_boxes(story: NextWeekDraft, ways: Mapping[str, Way]) -> None:
    """Decide over every box in work.

    Args:
        story: The way to the next week; steps and lines are added to it.
        ways: Ways out that the teacher chose, by the box's id.
    """
    for box in story.week.boxes:
        stays, now = story.stays(f"box {box.id}"), standing_of(story, box)
        if stays:
            _keep(story, box, now)
            continue
        if (way := ways.get(box.id)) is not None:
            _take(story, box, way)
        elif now.clean:
            _retire(story, box, now)
        else:
            _stay(story, box, now)


def _retire(story: NextWeekDraft, box: BoxItem, now: Standing) -> None:
    values: dict[str, Value | None] = {"since": None, "retired": story.start, "checks": 0}
    story.change(box, values, do="move", to="retired")
    reason = "retired_heard" if now.goal_days < CLEAN_DAYS else "retired"
    due = story.start + timedelta(weeks=CHECK_WEEKS[0])
    concert = story.concert(box)
    early = concert is not None and story.start <= concert <= due
    story.tell(reason, box=story.box(box), days=now.goal_days, day=story.start if early else due)
    if early:
        add_check(story, box)
        story.tell("check_before", day=concert)


def _keep(story: NextWeekDraft, box: BoxItem, now: Standing) -> None:
    """Leave a box in work as it is: nothing is noted but since when it is."""
    story.in_work.append(box.id)
    if values := _since(story, box, now):
        story.change(box, values)
    story.tell("kept", box=story.box(box))


def _since(story: NextWeekDraft, box: BoxItem, now: Standing) -> dict[str, Value | None]:
    """Since when a box is in work, where its table does not say it yet."""
    noted = box.since is not None or not (now.practised or box.id in story.own)
    return {} if noted else {"since": story.since(box)}


def _stay(story: NextWeekDraft, box: BoxItem, now: Standing) -> None:
    story.in_work.append(box.id)
    values = _since(story, box, now) | _start(story, box, now)
    if values:
        story.change(box, values)
    if now.heard is False:
        story.tell("heard_not_clean")
    elif now.goal_days:
        story.tell("one_day", days=now.goal_days, wanted=CLEAN_DAYS)
    if story.weeks(box) >= STUCK_WEEKS and not now.moving:
        _offer(story, box, now)


def _start(story: NextWeekDraft, box: BoxItem, now: Standing) -> dict[str, Value | None]:
    """The new start of a box, and the line that tells it: below the last tempo that had the wanted runs."""
    if (chosen := story.choices.starts.get(box.id)) is not None:
        story.tell("start_chosen", box=story.box(box), start=story.tempo(chosen))
        story.starts[box.id] = chosen
        return {"start": story.start_value(box, chosen)}
    tempo = now.held if now.reached else now.tried
    if not now.practised:
        story.tell("unchanged", box=story.box(box))
        return {}
    if box.target is None or (now.held or now.tried) is None:
        story.tell("stays_goal", box=story.box(box))
        return {}
    runs = {"wanted": story.week.clean_runs(box)}
    fast = now.fastest
    if fast is not None and fast.tempo is not None and not enough(fast, runs["wanted"]):
        runs |= {"n": fast.clean or 0}
        story.tell("fewer", box=story.box(box), tempo=story.tempo(fast.tempo), **runs)
    if tempo is None:
        story.tell("fewer_start")
        return {}
    start = below(tempo, box.target)
    message = ("held" if "n" in runs else "stays") if now.reached else "stays_none_clean"
    story.tell(message, box=story.box(box), reached=story.tempo(tempo), start=story.tempo(start), **runs)
    story.starts[box.id] = start
    return {"start": story.start_value(box, start)}


def _offer(story: NextWeekDraft, box: BoxItem, now: Standing) -> None:
    weeks = story.weeks(box)
    story.tell("stuck" if now.practised else "stuck_untouched", weeks=weeks)
    for way, detail in _offers(story, box):
        story.tell(f"offer.{way}", detail=detail, id=box.id)


def _offers(story: NextWeekDraft, box: BoxItem) -> list[tuple[Way, str]]:
    words = story.words
    offers: list[tuple[Way, str]] = []
    if parts := harder_first(box, _own_rows(story, box)):
        offers.append(("shorten", bars_of(story.week, box.piece, parts[0], words)))
    if names := other_variants(_orders(story, box)):
        offers.append(("variant", "; ".join(title(name, words) for name in names)))
    if target := _simpler_target(story, box):
        offers.append(("simplify", story.tempo(target)))
    return [*offers, ("park", "")]


def _simpler_target(story: NextWeekDraft, box: BoxItem) -> Tempo | None:
    return simpler(box, best(box, _own_rows(story, box), story.week.clean_runs(box)))


def _orders(story: NextWeekDraft, box: BoxItem) -> BoxOrders:
    """The music of a box in work."""
    return next(orders for orders in Orders(story.week).boxes if orders.box.id == box.id)


def _own_rows(story: NextWeekDraft, box: BoxItem) -> list[LogRow]:
    """The log since the box came into work."""
    first = story.since(box)
    return [row for row in story.rows if (row.week or date.min) >= first]


def _take(story: NextWeekDraft, box: BoxItem, way: Way) -> None:
    """Do what the teacher chose for a box; it counts as new from then on, but for parking."""
    if way == "park":
        story.change(box, {"since": None}, do="move", to="parked")  # its weeks count anew when it comes back
        story.tell("parked", box=story.box(box), id=box.id)
        return
    if way == "resume":
        raise ChoiceError(f'The box "{box.id}" is already in work.', choice=f"way {box.id}")
    takes = {"shorten": _shorten, "variant": _vary, "simplify": _simplify}
    takes[way](story, box)
    story.in_work.append(box.id)


def _shorten(story: NextWeekDraft, box: BoxItem) -> None:
    parts = harder_first(box, _own_rows(story, box))
    if parts is None:
        raise ChoiceError(
            f'The box "{box.id}" cannot be shortened by itself: its bars are "{box.bars or box.place or "typed"}".',
            choice=f"way {box.id}",
            hint="Change its bars in the new week file by hand.",
        )
    kept, rest = parts
    story.change(box, {"bars": kept, "since": story.start})
    fresh = free_id(story, box.id)
    values: dict[str, Value | None] = {"id": fresh, "bars": rest, "since": None, "start": None}
    story.change(box, values, do="copy", to="parked")
    kept, rest = (bars_of(story.week, box.piece, bars, story.words) for bars in parts)
    story.tell("shortened", box=story.box(box), kept=kept, rest=rest, id=fresh)


def free_id(story: NextWeekDraft, box_id: str) -> str:
    """An id for another part of a box."""
    taken = story.taken_ids
    return next(name for n in count(2) if (name := f"{box_id[:36]}-{n}") not in taken)


def _vary(story: NextWeekDraft, box: BoxItem) -> None:
    names = other_variants(_orders(story, box))
    if not names:
        raise ChoiceError(f'The box "{box.id}" has had every variant there is.', choice=f"way {box.id}")
    story.change(box, {"variants": names, "since": story.start})
    titles = "; ".join(title(name, story.words) for name in names)
    story.tell("varied", box=story.box(box), variants=titles)


def _simplify(story: NextWeekDraft, box: BoxItem) -> None:
    target = _simpler_target(story, box)
    if target is None or box.target is None:
        raise ChoiceError(
            f'The box "{box.id}" has no target tempo to come down from.',
            choice=f"way {box.id}",
            hint="Change its goal in the new week file by hand.",
        )
    start = story.start_value(box.model_copy(update={"target": target}), below(target, target))
    values: dict[str, Value | None] = {
        "target": story.file_tempo(target),
        "start": start,
        "since": story.start,
    }
    was = story.tempo(box.target)
    comment = story.written("log.next.was", was=tempo_text(box.target, story.written))
    story.change(box, values, comment=comment, beside="target")
    story.tell("simplified", box=story.box(box), target=story.tempo(target), was=was)
