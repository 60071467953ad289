"""The desk's own scripts, styles and faces: each by a route of its own, none by a path that a request names."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.system.resources import templates

_FACES: Final = (
    "SourceSansPro-Regular",
    "SourceSansPro-It",
    "SourceSansPro-Semibold",
    "SourceSerifPro-Semibold",
)


def _give(path: Path, kind: str, _request: Request) -> Response:
    return Response(path.read_bytes(), media_type=kind)


def routes() -> list[Route]:
    """A route for every file that pages load."""
    folder = templates() / "desk"
    files = [(path, f"/own/{path.name}", "text/javascript") for path in sorted(folder.glob("*.mjs"))]
    files += [(path, f"/own/{path.name}", "text/css") for path in sorted(folder.glob("*.css"))]
    files += [
        (templates() / "fonts" / "text" / f"{name}.ttf", f"/own/{name}.ttf", "font/ttf") for name in _FACES
    ]
    return [Route(address, partial(_give, path, kind), methods=["GET"]) for path, address, kind in files]
