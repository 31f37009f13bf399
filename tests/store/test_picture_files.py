"""Files of grey values: kept whole, swept when nobody names them, refused in a sentence when they are not whole."""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from rootfill.errors import InputRefused, NotFound, NotKept
from rootfill.store import open_pictures
from rootfill.store.incoming import harmless_name

NOW = dt.datetime.now(dt.UTC)
GREY = np.arange(60, dtype="<u2").reshape(3, 4, 5)


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "pictures"


@pytest.fixture
def files(folder):
    return open_pictures(folder)


def put(files, values=GREY, settle=True) -> str:
    with files.incoming() as come:
        np.save(come.target.with_suffix(".npy"), values)
        come.target.with_suffix(".npy").rename(come.target)
        name = str(files.keep(come))
    if settle:
        files.settle(name)
    return name


def left(folder) -> list[str]:
    return sorted(path.name for path in folder.rglob("*") if path.is_file())


def test_every_slice_of_every_axis_is_the_slice_of_the_array(files) -> None:
    name = put(files)
    for axis in range(3):
        for index in range(GREY.shape[axis]):
            assert np.array_equal(files.slice(name, GREY.shape, axis, index), GREY.take(index, axis))
    assert files.size(name) >= GREY.nbytes


@pytest.mark.parametrize(("axis", "index"), [(0, 3), (0, -1), (3, 0), (-1, 0), (2, 10**20)])
def test_a_slice_that_there_is_not_is_not_found(files, axis, index) -> None:
    with pytest.raises(NotFound, match="no slice"):
        files.slice(put(files), GREY.shape, axis, index)


def test_nothing_stays_of_what_came_and_was_not_kept(files, folder) -> None:
    with files.incoming() as come:
        come.begin("a.dcm")
        come.write(b"grey")
        assert come.source().read_bytes() == b"grey"
    with contextlib.suppress(ZeroDivisionError), files.incoming() as come:
        come.begin("b.dcm")
        raise ZeroDivisionError
    assert list(folder.rglob("*")) == [folder / "incoming"]


@pytest.mark.parametrize(
    ("name", "harmless"),
    [
        ("../../etc/passwd", "passwd"),
        ("/etc/cron.d/x", "x"),
        ("..\\..\\boot.ini", "boot.ini"),
        ("..", "file"),
        ("", "file"),
        (".hidden", "hidden"),
        ("a\x00b\nc.dcm", "abc.dcm"),
        ("scan.nhdr", "scan.nhdr"),
        ("C:\\x\\a:b.raw", "ab.raw"),
        ("\udcff.dcm", "dcm"),
        ("zähne 3.dcm", "zähne 3.dcm"),
    ],
)
def test_a_hostile_name_leads_nowhere(files, folder, name, harmless) -> None:
    assert harmless_name(name) == harmless
    with files.incoming() as come:
        come.begin(name)
        come.write(b"x")
        written = [path for path in folder.rglob("*") if path.is_file() and path.name != "held"]
        assert [path.parent.parent.parent for path in written] == [folder / "incoming"]


def test_names_that_are_the_same_or_too_long_are_kept_apart(files) -> None:
    with files.incoming() as come:
        for name in ("a.dcm", "A.dcm", "x/a.dcm", "é" * 300 + "1.dcm", "é" * 300 + "2.dcm"):
            come.begin(name)
            come.write(name.encode())
        assert len(list(come.source().iterdir())) == 5
        assert come.size() == sum(len(n.encode()) for n in come.names())


def test_no_file_an_empty_one_and_too_many_are_refused(files, monkeypatch) -> None:
    monkeypatch.setattr("rootfill.store.incoming.MOST_FILES", 20)
    with files.incoming() as come:
        with pytest.raises(InputRefused, match="is nothing"):
            come.source()
        come.begin("a")
        with pytest.raises(InputRefused, match="is empty"):
            come.source()
        for number in range(19):
            come.begin(str(number))
        with pytest.raises(InputRefused, match="more than 20 files"):
            come.begin("one more")


def test_a_full_disk_is_told_and_nothing_stays(files, folder, monkeypatch) -> None:
    with files.incoming() as come:
        come.begin("a.dcm")
        monkeypatch.setattr(come, "_open", Full(come._open))
        with pytest.raises(NotKept, match="the disk is full: free some space"):
            come.write(b"grey")
    assert left(folder) == []


class Full:
    """A file on a disk without room."""

    def __init__(self, file) -> None:
        self.close = file.close

    def write(self, _block: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")


def test_the_sweep_takes_what_no_row_names_and_settles_what_one_does(files, folder) -> None:
    lost, named, known = put(files, settle=False), put(files, settle=False), put(files)
    files.sweep({named, known}, NOW)
    assert left(folder) == sorted((f"{named}.npy", f"{known}.npy"))
    assert np.array_equal(files.slice(named, GREY.shape, 0, 0), GREY[0])
    with pytest.raises(NotFound):
        files.size(lost)


def test_a_picture_that_was_left_stays_for_thirty_days(files, folder) -> None:
    name = put(files)
    os.utime(folder / f"{name}.npy", (0, 0))
    files.leave(name)
    files.sweep((), NOW + dt.timedelta(days=29))
    assert left(folder) == [f"{name}.npy"]
    files.sweep((), NOW + dt.timedelta(days=31))
    assert left(folder) == []


KILLED = """
import os, signal, sys
from pathlib import Path
from rootfill.store import open_pictures
files = open_pictures(Path(sys.argv[1]))
with files.incoming() as come:
    come.begin("a.dcm")
    come.write(b"grey")
    come.target.write_bytes(b"half")
    if sys.argv[2] == "kept":
        files.keep(come)
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.parametrize("when", ["coming", "kept"])
def test_what_a_kill_leaves_is_swept_at_the_next_start(files, folder, when) -> None:
    subprocess.run([sys.executable, "-c", KILLED, folder, when], check=False)
    assert left(folder)
    files.sweep((), NOW)
    assert left(folder) == []


def test_what_comes_in_another_program_meanwhile_is_left_alone(files, folder) -> None:
    with files.incoming() as come:
        come.begin("a.dcm")
        come.write(b"grey")
        np.save(come.target.with_suffix(".npy"), GREY)
        come.target.with_suffix(".npy").rename(come.target)
        name = files.keep(come)
        open_pictures(folder).sweep((), NOW)
        assert come.source().read_bytes() == b"grey"
        files.settle(name)
    assert left(folder) == [f"{name}.npy"]


@pytest.mark.parametrize("content", [b"", b"a letter", "half", "other"])
def test_a_file_that_is_gone_or_not_whole_is_told_in_a_sentence(files, folder, content) -> None:
    name = put(files)
    path = folder / f"{name}.npy"
    if content == "half":
        path.write_bytes(path.read_bytes()[:-10])
    elif content == "other":
        np.save(path, GREY[:2])
    else:
        path.write_bytes(content)
    with pytest.raises(NotFound, match="no longer in the folder of the clinic, or not whole"):
        files.slice(name, GREY.shape, 0, 0)
    files.remove(name)
    with pytest.raises(NotFound, match="no longer in the folder"):
        files.slice(name, GREY.shape, 0, 0)


@pytest.mark.parametrize("name", ["../clinic.sqlite3", "", "x" * 32, "A" * 32])
def test_a_name_that_is_none_of_ours_is_never_opened(files, name: str) -> None:
    for does in (files.size, files.remove, files.settle):
        with pytest.raises(NotFound):
            does(name)


def test_nothing_is_made_before_a_picture_comes(tmp_path: Path) -> None:
    open_pictures(tmp_path / "none").sweep((), NOW)
    assert list(tmp_path.iterdir()) == []
