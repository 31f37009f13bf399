"""A bar for long work, on a terminal only, on standard error; Ctrl-C ends the work."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def progress(what: str) -> Iterator[Callable[[float], None]]:
    """Give a function that is told the share done, 0 to 1; nothing is shown where nobody watches."""
    if not sys.stderr.isatty():
        yield lambda _share: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=1.0)
        yield lambda share: bar.update(task, completed=share)
