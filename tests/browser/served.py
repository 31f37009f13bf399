"""The program as it is really started: its own process, its own folder, stopped and started again at will."""

from __future__ import annotations

import re
import subprocess
import sys
import threading
from pathlib import Path

LONGEST_START_S = 30.0


class Served:
    """``rootfill serve`` on a folder, or the demonstration; its address and the links it printed."""

    def __init__(self, *words: str, port: int = 0, largest_file: int | None = None) -> None:
        self.words = words
        self.largest_file = largest_file
        self.lines: list[str] = []
        self._begin(port)

    @property
    def address(self) -> str:
        return self._found(r"http://127\.0\.0\.1:\d+(?=\s|$)")

    @property
    def link(self) -> str:
        return self._found(r"http://\S+/(?:first|enter)/\S+")

    @property
    def port(self) -> int:
        return int(self.address.rpartition(":")[2])

    def kill(self) -> None:
        """As when the machine is switched off."""
        self.process.kill()
        self._ended()

    def restart(self) -> None:
        """Once more at the same port, on the same folder."""
        port = self.port
        self.lines.clear()
        self._begin(port)

    def stop(self) -> None:
        self.process.terminate()
        try:
            self._ended(10)
        except subprocess.TimeoutExpired:
            self.kill()

    def _ended(self, after_s: float | None = None) -> None:
        self.process.wait(after_s)
        self._reader.join(5)
        assert self.process.stdout is not None
        self.process.stdout.close()

    def _begin(self, port: int) -> None:
        self.process = subprocess.Popen(
            [*self._command(), *self.words, "--port", str(port)],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        ready = threading.Event()
        self._reader = threading.Thread(target=self._read, args=(self.process, ready), daemon=True)
        self._reader.start()
        if not ready.wait(LONGEST_START_S):
            self.kill()
            raise RuntimeError("it did not start:\n" + "\n".join(self.lines))

    def _read(self, process: subprocess.Popen[str], ready: threading.Event) -> None:
        assert process.stdout is not None
        for line in process.stdout:
            self.lines.append(line.rstrip())
            if line.startswith("Ctrl+C"):
                ready.set()
        ready.set()

    def _command(self) -> list[str]:
        """No file may grow beyond the limit: a disk that is full, for one program alone."""
        limit = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({0}, {0})); "
        before = "" if self.largest_file is None else limit.format(self.largest_file)
        return [sys.executable, "-c", f"{before}from rootfill.app import main; main()"]

    def _found(self, pattern: str) -> str:
        found = re.search(pattern, "\n".join(self.lines))
        assert found is not None, "\n".join(self.lines)
        return found[0]


def serve(folder: Path) -> Served:
    """A clinic kept in a folder."""
    return Served("serve", "--data", str(folder))


def demo() -> Served:
    """The demonstration clinic."""
    return Served("demo", "--serve")
