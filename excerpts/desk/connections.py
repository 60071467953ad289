"""Connections that are opened and never used do not stop the desk: they are closed after some seconds."""

from __future__ import annotations

import asyncio
from typing import Any, Final

from uvicorn.protocols.http.h11_impl import H11Protocol

PATIENCE: Final = 10.0
"""Seconds in which a connection has to bring its next request."""

MOST: Final = 400
"""Connections at a time; a process may have 256 open files on a Mac, 1024 elsewhere, and needs some itself."""


class Connection(H11Protocol):
    """A connection that is closed when no whole request has come for a while."""

    _watch: asyncio.TimerHandle | None = None
    _seen: Any = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin, and look again in a while; where there are too many, those that brought nothing are closed."""
        super().connection_made(transport)
        if len(self.connections) > MOST:
            for other in [one for one in self.connections if isinstance(one, Connection)]:
                if other is not self and other.cycle is None:
                    other.transport.abort()
        self._watch = self.loop.call_later(PATIENCE, self._look)

    def connection_lost(self, exc: Exception | None) -> None:
        """End."""
        if self._watch is not None:
            self._watch.cancel()
        super().connection_lost(exc)

    def _look(self) -> None:
        """Close the connection if nothing new was begun since last time and nothing is being answered."""
        if self.cycle is None or (self.cycle is self._seen and self.cycle.response_complete):
            self.transport.abort()
            return
        self._seen = self.cycle
        self._watch = self.loop.call_later(PATIENCE, self._look)
