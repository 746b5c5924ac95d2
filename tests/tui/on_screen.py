"""The editor on a screen in this process, without a terminal."""

from __future__ import annotations

from contextlib import asynccontextmanager


@asynccontextmanager
async def on_screen(app, size):
    """Its pilot; in the end the engine that the editor has warmed up is let go, too."""
    try:
        async with app.run_test(size=size) as pilot:
            yield pilot
    finally:
        app.session.transport.close()
