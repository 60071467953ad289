"""Fingers stand clear of stems and slurs. Default tier."""

from __future__ import annotations

import pytest

from excerpts import warmup
from excerpts.engrave import Style, engrave
from excerpts.warmups import Manner


@pytest.mark.parametrize("instrument", ["violin", "viola", "cello", "bass"])
@pytest.mark.parametrize("key", ["C", "G", "E"])
def test_fingers_are_clear_of_stems_and_slurs(instrument: str, key: str) -> None:
    music = warmup(key, instrument=instrument, level="first", manner=Manner(slur=2))
    for system in engrave(music, Style()).systems:
        fingers = [ink.rect for ink in system.music if ink.owner.kind == "fing"]
        others = [ink for ink in system.music if ink.owner.kind in {"stem", "slur"}]
        assert fingers
        for rect in fingers:
            for ink in others:
                reach = ink.between(rect.left - 0.3, rect.right + 0.3)
                assert reach is None or reach[0] >= rect.bottom or reach[1] <= rect.top, (rect, ink.owner)
