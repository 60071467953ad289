"""Workbooks and other files that the desk itself has named: by the key that it gave, and by nothing else."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.frame import state_of
from excerpts.desk.studio_state import NotThereError

_FOR_VIEWERS: Final = (
    "default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; frame-ancestors 'self'"
)
"""A browser's own viewer of PDFs styles itself; the file gets no script and no network."""


def _file(request: Request) -> Response:
    path, kind = state_of(request).given(request.path_params["key"])
    try:
        data = path.read_bytes()
    except OSError as error:
        raise NotThereError(f"the file cannot be read ({error.strerror}).") from error
    return for_viewer(data, path.name, kind)


def for_viewer(data: bytes, name: str, kind: str = "application/pdf") -> Response:
    """A file as the browser's own viewer takes it.

    Args:
        data: What it holds.
        name: What it is called when it is saved.
        kind: Its media type.
    """
    plain = name.encode("ascii", "replace").decode().replace('"', "").replace("\\", "")
    headers = {
        "Content-Disposition": f'inline; filename="{plain}"',
        "Content-Security-Policy": _FOR_VIEWERS,
        "X-Frame-Options": "SAMEORIGIN",
    }
    return Response(data, media_type=kind, headers=headers)


ROUTES: Final = [Route("/file/{key}", _file, methods=["GET"])]
