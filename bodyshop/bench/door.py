"""The door of the bench: how long a caller may take to say what it wants, and how many may be inside.

The guard looks at a request when its head is there. Until then nothing is known of a caller but that it has
a connection, and any program of this machine can have one. So a head has to come in time and may be so long
only, and where all places are taken a caller that has not asked for anything yet gives way to the next.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from typing import Any, Final

from uvicorn.config import Config
from uvicorn.protocols.http.auto import AutoHTTPProtocol
from uvicorn.server import ServerState

__all__ = ["Door", "Patience"]

_FULL: Final = (
    b"HTTP/1.1 503 Service Unavailable\r\ncontent-type: text/plain; charset=utf-8\r\n"
    b"content-length: 29\r\nconnection: close\r\n\r\nThe bench has no place left.\n"
)


@dataclass(frozen=True, slots=True)
class Patience:
    """`head_s` is the time for the head of a request, `head_bytes` its greatest length, `places` how many
    connections there may be at once: a browser holds up to six, and one for each tab.
    """

    head_s: float = 10.0
    head_bytes: int = 64_000
    places: int = 128


class Door(AutoHTTPProtocol):  # type: ignore[misc, valid-type]
    """One connection of the server, watched until a request is there."""

    patience = Patience()

    def __init__(
        self,
        config: Config,
        server_state: ServerState,
        app_state: dict[str, Any],
        _loop: asyncio.AbstractEventLoop | None = None,
    ) -> None:
        super().__init__(config, server_state, app_state, _loop)
        self._late: asyncio.TimerHandle | None = None
        self._before: object = None
        self._got = 0
        self._came = 0.0
        self._is_out = False

    # ------------------------------------------------------------ what the connection tells

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Let a caller in, if need be in place of one that has not asked for anything."""
        if len(self.connections) >= self.patience.places and not self._make_room():
            self._is_out = True
            assert isinstance(transport, asyncio.WriteTransport)  # noqa: S101 - as for every stream
            transport.write(_FULL)
            transport.close()
            return
        super().connection_made(transport)
        self._came = self.loop.time()
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Take what came, and wait for the rest of a head no longer than it may take."""
        if self._is_out:
            return
        if self._late is None and not self._is_asking():
            self._wait()
        super().data_received(data)
        if self._late is None:
            return
        self._got += len(data)
        if self.cycle is not self._before or not self._is_ours():
            self._stop_waiting()
        elif self._got > self.patience.head_bytes:
            self._put_out()

    def eof_received(self) -> None:
        """Nothing more comes."""
        if not self._is_out:
            super().eof_received()

    def connection_lost(self, exc: Exception | None) -> None:
        """It is over."""
        self._stop_waiting()
        if not self._is_out:
            super().connection_lost(exc)

    # ------------------------------------------------------------ waiting for a head

    def _is_asking(self) -> bool:
        """Whether a request is here that has not been answered yet."""
        return self.cycle is not None and not self.cycle.response_complete

    def _is_ours(self) -> bool:
        """Whether the connection is one of requests still, and has not become a web socket."""
        return bool(self.transport.get_protocol() is self)

    def _wait(self) -> None:
        self._before, self._got = self.cycle, 0
        self._late = self.loop.call_later(self.patience.head_s, self._put_out)

    def _stop_waiting(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _put_out(self) -> None:
        self._stop_waiting()
        if self._is_ours():
            self.connections.discard(self)
            self.transport.abort()

    def _make_room(self) -> bool:
        """Put out whoever has waited longest without asking for anything; False where nobody has."""
        silent = [each for each in self.connections if isinstance(each, Door) and each.cycle is None]
        if not silent:
            return False
        min(silent, key=lambda each: each._came)._put_out()  # noqa: SLF001 - one of its own kind
        return True
