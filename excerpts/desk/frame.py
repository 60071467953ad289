"""What every page is made with: its template in the frame, in the studio's words, and answers to writes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, cast

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse

from excerpts.desk.studio_state import StudioState
from excerpts.system.resources import templates


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates of the desk: everything escaped, every missing name an error."""
    return Environment(
        loader=FileSystemLoader(templates() / "desk"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def state_of(request: Request) -> StudioState:
    """The studio of a request."""
    return cast("StudioState", request.app.state.studio)


def render(
    request: Request,
    template: str,
    *,
    title: str,
    page: str = "",
    script: str = "",
    said: Sequence[str] = (),
    status: int = 200,
    **values: object,
) -> HTMLResponse:
    """A page.

    Args:
        request: The request.
        template: Its template in `templates/desk`, which extends `frame.html`.
        title: Its title.
        page: Which link of the frame leads to it: "studio", "warmups", "home", "undo", or none.
        script: Its module in `templates/desk`, without the ending; none where it needs no other than the frame's.
        said: Message ids whose texts the script needs (`desk.said("…")` there); those of the frame are there anyway.
        status: Status of the answer.
        values: What the template needs; `t` gives the words, `nonce` that of scripts and styles.
    """
    words = state_of(request).words
    spoken = {name: words(name) for name in (*FRAME_SAYS, *said)}
    html = (
        environment()
        .get_template(template)
        .render(
            t=words,
            title=title,
            page=page,
            script=script,
            spoken=spoken,
            language=words.tag,
            nonce=request.scope["state"]["nonce"],
            **values,
        )
    )
    return HTMLResponse(html, status)


FRAME_SAYS = (
    "desk.frame.nothing_to_undo",
    "desk.frame.undone",
    "desk.frame.no_answer",
    "desk.frame.failed",
    "desk.frame.conflict_lead",
    "desk.frame.undo_lead",
    "desk.frame.ours",
    "desk.frame.before",
)
"""Messages that the frame's own script says."""


def posted(request: Request) -> dict[str, Any]:
    """What a write says, read by the guards: a table."""
    return cast("dict[str, Any]", request.scope["state"]["json"])


def uploaded(request: Request) -> bytes:
    """The bytes of a file that was dropped on a page."""
    return cast("bytes", request.scope["state"]["body"])


def answer(said: dict[str, Any], status: int = 200) -> JSONResponse:
    """An answer to a write."""
    return JSONResponse(said, status)
