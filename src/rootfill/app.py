"""main(): joins the use cases to store, papers and workers, and hands them to a face."""

from __future__ import annotations

import datetime as dt
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from rootfill.cli import build, run
from rootfill.clinic import Papers
from rootfill.clinic.ports import Clinic

if TYPE_CHECKING:
    from rootfill.clinic.make_phantom import PictureFiles

DATABASE, PICTURES = "clinic.sqlite3", "pictures"


def main() -> None:
    """The command ``rootfill``."""
    sys.exit(run(build(make_papers, serve, serve_demo, make_pictures)))


def make_papers() -> Papers:
    """The documents; loaded only when one is asked for, since their compiler is slow to load."""
    from rootfill import papers

    return papers


def make_pictures() -> PictureFiles:
    """Pictures as files; loaded only when some are asked for."""
    from rootfill import gateway

    return gateway


def serve(data: Path, port: int, say: Callable[[str], None]) -> None:
    """Serve the clinic that is kept in a folder. Raises RootfillError."""
    from rootfill.clinic.sign_in import Door
    from rootfill.web.serve import serve as answer

    with _clinic(data) as clinic:
        answer(clinic, Door(clinic.accounts, clinic.records), port, say)


def serve_demo(port: int, say: Callable[[str], None]) -> None:
    """Serve a clinic of invented cases in a folder of its own, gone afterwards."""
    from rootfill.clinic.demo import fill_demo
    from rootfill.clinic.sign_in import Door
    from rootfill.web.serve import serve as answer

    with tempfile.TemporaryDirectory(prefix="rootfill-demo-") as folder, _clinic(Path(folder)) as clinic:
        fill_demo(clinic)
        answer(clinic, Door(clinic.accounts, clinic.records, demo=True), port, say)


@contextmanager
def _clinic(data: Path) -> Iterator[Clinic]:
    """The clinic kept in a folder, with a process for its long computations."""
    from rootfill.store import open_pictures, open_store
    from rootfill.workers import Pool

    store, pictures = open_store(data / DATABASE), open_pictures(data / PICTURES)
    pictures.sweep(store.records.picture_files(), dt.datetime.now(dt.UTC))
    work = Pool(make_papers)
    work.warm()
    try:
        yield Clinic(store.records, store.accounts, work, pictures, lambda: dt.datetime.now(dt.UTC))
    finally:
        work.close()
        store.close()
