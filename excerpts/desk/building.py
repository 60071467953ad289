"""Builds a studio while its pages stay usable: one build at a time, told step by step to whoever looks."""

from __future__ import annotations

import logging
from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock, Thread
from typing import Any

from excerpts.desk.roster import faults_of
from excerpts.desk.studio_state import StudioState
from excerpts.errors import ExcerptsError, InputError
from excerpts.studio.builders import Halt, HaltedError
from excerpts.studio.run import Outcome, Progress, Summary, build_studio
from excerpts.system.cache import cache_folder

Event = dict[str, Any]

_LOGGER = logging.getLogger("excerpts")


@dataclass
class Build:
    """One build.

    Attributes:
        events: What has happened so far, in order; the last is of kind "end".
        halt: Ends it.
    """

    events: list[Event] = field(default_factory=list)
    halt: Halt = field(default_factory=Halt)

    @property
    def over(self) -> bool:
        """Whether it has ended."""
        return bool(self.events) and self.events[-1]["kind"] == "end"


class Building:
    """Starts builds of one studio.

    Args:
        state: The studio.
    """

    def __init__(self, state: StudioState) -> None:
        self._state = state
        self._lock = Lock()
        self.last: Build | None = None

    @property
    def running(self) -> bool:
        """Whether a build is under way."""
        return self.last is not None and not self.last.over

    def start(self, only: Collection[Path] = ()) -> Build:
        """Start a build in a thread of its own; the one that is under way where there is one.

        Args:
            only: These week files alone; everything that has changed where it is empty.
        """
        with self._lock:
            if self.last is None or self.last.over:
                self.last = Build()
                Thread(target=self._run, args=(self.last, tuple(only)), daemon=True).start()
            return self.last

    def _run(self, build: Build, only: tuple[Path, ...]) -> None:
        events = build.events
        said: set[Path] = set()

        def done(outcome: Outcome) -> None:
            said.add(outcome.week)
            events.append(self._told(outcome))

        names: dict[Path, str] = {}
        words = self._state.words

        def step(week: Path, what: str, number: int, of: int) -> None:
            now = words(f"desk.making.{what}", number=number, of=of)
            events.append({"kind": "step", "now": f"{names.get(week, week.stem)}: {now}"})

        progress = Progress(
            begun=lambda count: events.append({"kind": "begun", "count": count}),
            done=done,
            waiting=lambda: events.append({"kind": "waiting"}),
            step=step,
        )
        try:
            names |= {one.week: one.name for one in self._state.players()}
            summary = build_studio(
                self._state.folder, cache=cache_folder(), progress=progress, only=only, halt=build.halt
            )
        except HaltedError:
            events.append({"kind": "end", "why": ""})
        except ExcerptsError as error:
            events.append({"kind": "end", "why": str(error)})
        except Exception as error:  # a fault of ours, in a thread that nobody waits for
            _LOGGER.exception("a build failed")
            events.append({"kind": "end", "why": f"{type(error).__name__}: {error}"})
        else:
            for outcome in summary.outcomes:
                if outcome.state == "failed" and outcome.week not in said:
                    done(outcome)  # it never came to be built
            events.append(_end(summary))

    def _told(self, outcome: Outcome) -> Event:
        player = next((one for one in self._state.players() if one.week == outcome.week), None)
        event: Event = {
            "kind": "done",
            "state": outcome.state,
            "player": player.name if player else outcome.week.name,
            "key": player.key if player else "",
            "told": [
                line.removeprefix(f"{outcome.week.name}, ") for line in (*outcome.told, *outcome.warnings)
            ],
        }
        if outcome.state == "failed":
            event["faults"] = self._faults(outcome)
        elif outcome.target:
            event["file"] = self._state.give(outcome.target)
        return event

    def _faults(self, outcome: Outcome) -> list[tuple[str, str]]:
        """What is wrong, each with its key in the week file where it has one."""
        from excerpts.week.orders.check import check_week  # not before the first page is there

        try:
            faults = check_week(outcome.week).faults
        except InputError as error:
            return list(faults_of(error))
        return [(str(fault), fault.key) for fault in faults] or [(outcome.why, "")]


def _end(summary: Summary) -> Event:
    states = [one.state for one in summary.outcomes]
    return {
        "kind": "end",
        "made": states.count("made"),
        "unchanged": states.count("unchanged"),
        "failed": states.count("failed"),
        "why": "\n".join(
            [*(day.fault for day in summary.days if day.fault), *filter(None, [summary.trouble])]
        ),
    }
