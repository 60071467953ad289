"""Practice workbooks for string players: cut, varied, planned and printed from MusicXML scores."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from excerpts.errors import ExcerptsError, InputError
    from excerpts.excerpt import BarRef, Box, Excerpt, OpenEnd, Origin, Position, ReportLine, Tempo
    from excerpts.score import open_score
    from excerpts.score.abc import from_abc
    from excerpts.variants import variants, vary
    from excerpts.warmups import warmup

# Each name is imported when it is first asked for: a command that only cuts must not load what varies.
_HOMES = {
    "excerpts.errors": ("ExcerptsError", "InputError"),
    "excerpts.excerpt": (
        "BarRef",
        "Box",
        "Excerpt",
        "OpenEnd",
        "Origin",
        "Position",
        "ReportLine",
        "Tempo",
    ),
    "excerpts.variants": ("variants", "vary"),
    "excerpts.score": ("open_score",),
    "excerpts.score.abc": ("from_abc",),
    "excerpts.warmups": ("warmup",),
}

__all__ = [
    "BarRef",
    "Box",
    "Excerpt",
    "ExcerptsError",
    "InputError",
    "OpenEnd",
    "Origin",
    "Position",
    "ReportLine",
    "Tempo",
    "from_abc",
    "open_score",
    "variants",
    "vary",
    "warmup",
]


def __getattr__(name: str) -> object:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(home), name)
    raise AttributeError(f"module 'excerpts' has no attribute {name!r}")
