"""A time-stamping authority on loopback, honest or not."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

Answering = Callable[[BaseHTTPRequestHandler, bytes], None]
"""What the server does with a request, given its body."""


@contextmanager
def served(answering: Answering) -> Iterator[str]:
    """The server's address."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length", "0")))
            try:
                answering(self, body)
            except (BrokenPipeError, ConnectionResetError):
                self.close_connection = True  # the client had enough

        def do_GET(self) -> None:
            self.send_error(405)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/tsa"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def replying(
    make: Callable[[bytes], bytes], kind: str = "application/timestamp-reply", status: int = 200
) -> Answering:
    """An answer made of the request, sent in one piece."""

    def answer(handler: BaseHTTPRequestHandler, body: bytes) -> None:
        data = make(body)
        handler.send_response(status)
        handler.send_header("Content-Type", kind)
        handler.send_header("Content-Length", str(len(data)))
        handler.end_headers()
        handler.wfile.write(data)

    return answer
