"""A small web server on this machine that answers as a test tells it, over real HTTP."""

from __future__ import annotations

import threading
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass
class Reply:
    """Status, body and headers of one answer; ``drop`` hangs up without a word."""

    status: int = 200
    body: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)
    drop: bool = False


@dataclass
class Stub:
    """Answers by path, with what was asked; a list is answered in turn, its last for good."""

    address: str
    replies: dict[str, list[Reply]] = field(default_factory=dict)
    asked: list[tuple[str, dict[str, str]]] = field(default_factory=list)

    def on(self, path: str, *replies: Reply) -> None:
        """Answer a path."""
        self.replies[path] = list(replies)

    def paths(self) -> list[str]:
        """What was asked, in order."""
        return [path for path, _ in self.asked]


@contextmanager
def serving() -> Iterator[Stub]:
    """Serve on a free port until the block ends."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler())
    stub = Stub(f"http://127.0.0.1:{server.server_port}")
    server.stub = stub  # type: ignore[attr-defined]
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield stub
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def _handler() -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            stub: Stub = self.server.stub  # type: ignore[attr-defined]
            stub.asked.append((self.path, dict(self.headers)))
            waiting = stub.replies.get(self.path, [Reply(404, b"{}")])
            reply = waiting.pop(0) if len(waiting) > 1 else waiting[0]
            if reply.drop:
                self.close_connection = True
                return
            self.send_response(reply.status)
            for name, value in {"Content-Length": str(len(reply.body)), **reply.headers}.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(reply.body)

        def log_message(self, *args: object) -> None:
            """Say nothing."""

    return Handler
