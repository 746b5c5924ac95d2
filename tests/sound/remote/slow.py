"""A line that is slow and uneven: what goes in at one socket comes out at another, later, in order."""

from __future__ import annotations

import random
import socket
import threading
import time
from contextlib import suppress
from queue import SimpleQueue

LEAST_S = 0.150
JITTER_S = 0.100


class SlowLine:
    """Each piece, in each direction, is 150 ms late and up to 100 ms more.

    Attributes:
        received: Bytes that have come from the far end.
    """

    def __init__(self, far, near, least_s=LEAST_S, jitter_s=JITTER_S, seed=5):
        """Open it.

        Args:
            far: Address where an editor's end calls.
            near: Address of the listener.
            least_s: The shortest delay of a piece.
            jitter_s: What is added at most.
            seed: By which that is drawn.
        """
        self.received = 0
        self._near, self._least_s, self._jitter_s = near, least_s, jitter_s
        self._drawn = random.Random(seed)
        self._door = far.bind()
        self._ends = []
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self):
        with suppress(OSError):
            while True:
                far = self._door.accept()[0]
                near = self._near.connect()
                near.settimeout(None)
                self._ends += [far, near]
                for one, other in ((far, near), (near, far)):
                    pieces = SimpleQueue()
                    threading.Thread(target=self._take, args=(one, pieces, one is far), daemon=True).start()
                    threading.Thread(target=self._give, args=(other, pieces), daemon=True).start()

    def _take(self, end, pieces, is_far):
        due_s, piece = 0.0, b"x"
        with suppress(OSError):
            while piece:
                piece = end.recv(1 << 16)
                self.received += len(piece) if is_far else 0
                due_s = max(due_s, time.monotonic() + self._least_s + self._drawn.uniform(0, self._jitter_s))
                pieces.put((due_s, piece))

    def _give(self, end, pieces):
        with suppress(OSError):
            while True:
                due_s, piece = pieces.get()
                time.sleep(max(0.0, due_s - time.monotonic()))
                if not piece:
                    end.shutdown(socket.SHUT_WR)
                    return
                end.sendall(piece)

    def cut(self):
        """Let the line drop, as when a network goes."""
        for end in self._ends:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def close(self):
        self._door.shutdown(socket.SHUT_RDWR)
        self._door.close()
        self.cut()
        for end in self._ends:
            end.close()
