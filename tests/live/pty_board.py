"""A FakeBoard behind a pseudo-terminal or a TCP socket, in real time, for the real serial port code."""

from __future__ import annotations

import os
import pty
import select
import socket
import threading
import time
import tty
from types import TracebackType

from tests.live.fake_board import FakeBoard


class PtyBoard:
    """Serves until closed. `path` is what the host opens; `unplug` closes the board's end for good."""

    def __init__(self, board: FakeBoard) -> None:
        self.board = board
        self._master, slave = pty.openpty()
        tty.setraw(slave)
        self.path = os.ttyname(slave)
        self._slave = slave
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def __enter__(self) -> PtyBoard:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.unplug()

    def unplug(self) -> None:
        """The board vanishes; may be called again."""
        self._stopping.set()
        self._thread.join()
        for number in (self._master, self._slave):
            if number >= 0:
                os.close(number)
        self._master = self._slave = -1

    def _serve(self) -> None:
        began = time.monotonic()
        while not self._stopping.is_set():
            ready, _, _ = select.select([self._master], [], [], 0.002)
            now = int((time.monotonic() - began) * 1e6)
            if ready:
                self.board.receive(os.read(self._master, 4096), now)
            data = self.board.poll(now)
            if data:
                os.write(self._master, data)


class TcpBoard:
    """Serves one connection after another until closed; each connection starts the board anew."""

    def __init__(self, board: FakeBoard) -> None:
        self.board = board
        self._server = socket.create_server(("127.0.0.1", 0))
        self.url = f"socket://127.0.0.1:{self._server.getsockname()[1]}"
        self._stopping = threading.Event()
        self._hanging_up = threading.Event()
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def __enter__(self) -> TcpBoard:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self._stopping.set()
        self._thread.join()
        self._server.close()

    def hang_up(self) -> None:
        """End the connection that is there."""
        self._hanging_up.set()

    def _serve(self) -> None:
        began = time.monotonic()
        while not self._stopping.is_set():
            ready, _, _ = select.select([self._server], [], [], 0.02)
            if ready:
                connection, _ = self._server.accept()
                with connection:
                    self._hanging_up.clear()
                    self.board.power_up(int((time.monotonic() - began) * 1e6))
                    self._talk(connection, began)

    def _talk(self, connection: socket.socket, began: float) -> None:
        while not self._stopping.is_set() and not self._hanging_up.is_set():
            ready, _, _ = select.select([connection], [], [], 0.002)
            now = int((time.monotonic() - began) * 1e6)
            try:
                if ready:
                    data = connection.recv(4096)
                    if not data:
                        return
                    self.board.receive(data, now)
                connection.sendall(self.board.poll(now))
            except ConnectionError:
                return
