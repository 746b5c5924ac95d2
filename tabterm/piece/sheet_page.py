"""A page of this machine that shows the newest sheet, and shows it anew when another has come.

It is served on loopback alone, at an address that cannot be guessed, to whoever asks for it by that address: a
name that leads to loopback (DNS rebinding) is refused by the header `Host` (RFC 9110, 7.2). The browser is told to
run nothing but the page's own script, and to load nothing from elsewhere (Content Security Policy, W3C).
"""

from __future__ import annotations

import html
import secrets
import threading
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import PurePath
from typing import NamedTuple

HOST = "127.0.0.1"
KINDS = {".pdf": "application/pdf", ".png": "image/png"}
"""Media types of what can be shown (IANA's registry)."""

PAGE = """<!doctype html>
<html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>{name}</title>
<style nonce="{nonce}">
html, body, iframe {{ display: block; margin: 0; border: 0; width: 100%; height: 100% }}
</style>
<iframe title="{name}" src="sheet?{number}"></iframe>
<script nonce="{nonce}">
let shown = "{number}"
setInterval(async () => {{
  const number = await (await fetch("number")).text()
  if (number !== shown) location.reload()
}}, {every_ms})
</script>
</html>
"""

EVERY_MS = 1000
"""How often the page asks whether there is another sheet; tuned here."""


class Shown(NamedTuple):
    """A sheet as the page shows it."""

    name: str
    data: bytes
    number: int


class SheetPage:
    """Serves the newest sheet until it is closed.

    Attributes:
        url: Where a browser of this machine finds it.
    """

    def __init__(self) -> None:
        self._server = _Server((HOST, 0), _Handler)
        self._server.key = secrets.token_urlsafe(16)
        self.url = f"http://{HOST}:{self._server.server_port}/{self._server.key}/"
        threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True).start()

    def show(self, name: str, data: bytes) -> None:
        """Show a sheet in place of the one before."""
        self._server.shown = Shown(name, data, self._server.shown.number + 1)

    def close(self) -> None:
        """Serve no more."""
        self._server.shutdown()
        self._server.server_close()


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    key = ""
    shown = Shown("no sheet yet", b"", 0)


class _Handler(BaseHTTPRequestHandler):
    server: _Server

    def do_GET(self) -> None:
        """Answer with the page, the sheet or its number."""
        shown = self.server.shown
        what = self.path.partition("?")[0].removeprefix(f"/{self.server.key}/")
        is_ours = self.headers.get("Host") == f"{HOST}:{self.server.server_port}"
        kind = KINDS.get(PurePath(shown.name).suffix.lower(), "")
        if not is_ours or what.startswith("/"):
            self.send_error(HTTPStatus.NOT_FOUND)
        elif what == "":
            nonce, name = secrets.token_urlsafe(16), html.escape(shown.name)
            text = PAGE.format(name=name, nonce=nonce, number=shown.number, every_ms=EVERY_MS)
            policy = f"script-src 'nonce-{nonce}'; style-src 'nonce-{nonce}'; frame-src 'self'; connect-src 'self'"
            self._send(text.encode(), "text/html; charset=utf-8", policy)
        elif what == "number":
            self._send(str(shown.number).encode(), "text/plain; charset=utf-8")
        elif what == "sheet" and kind:
            self._send(shown.data, kind, "style-src 'unsafe-inline'; frame-ancestors 'self'")
        else:
            self.send_error(HTTPStatus.NOT_FOUND)

    def _send(self, data: bytes, kind: str, policy: str = "") -> None:
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(data)))
        self.send_header("Content-Security-Policy", f"default-src 'none'; {policy}")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Cache-Control", "no-store")
        self.send_header("Referrer-Policy", "no-referrer")
        self.end_headers()
        self.wfile.write(data)

    def log_message(self, *_: object) -> None:
        """Say nothing: the listener's screen is for its user."""
