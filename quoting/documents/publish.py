"""A set of documents put in place whole: built beside its folder, then swapped in by two renames.

    DIR.next      where the new set is built; it starts with `.building`, which stays locked, and ends with `.manifest`
    DIR           the set; `.manifest` lists its files
    DIR.previous  the old set, between the two renames and until it is removed

Wherever a run dies, either DIR holds one whole set, or DIR is absent and DIR.previous holds the old one whole; the
next build finishes what was begun. Nothing is removed that a manifest or a `.building` mark does not show to be ours.
This holds for a process that dies, not for power that fails: nothing is forced to the disk.
"""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

from msgspec import Struct

from quoting.problems import Cell, Problem, stop

MANIFEST = ".manifest"
BUILDING = ".building"
JUNK = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})  # what file managers leave behind: nobody's work
OPEN_MARKS = ("~$", ".~lock.")  # what office programs lay beside a workbook that they have open


class _Folders(Struct, frozen=True):
    """The three names of one set."""

    out: Path
    next: Path
    previous: Path


def publish(out: Path, write: Callable[[Path], None]) -> tuple[Problem, ...]:
    """Let `write` fill an empty folder, then make it the folder `out`.

    A problem, and `out` as it was, where `out` holds files that are not its set's own, where another build is at work,
    or where the file system refuses. What `write` raises besides OSError is raised on, `out` as it was.
    """
    real = Path(os.path.realpath(out))
    folders = _Folders(real, real.with_name(real.name + ".next"), real.with_name(real.name + ".previous"))
    try:
        found = _at_work(folders.next) or _finish_earlier(folders) or _foreign_problem(folders.out)
        found = found or _unclean(folders.next)
        if found:
            return (found,)
        _build_and_swap(folders, write)
    except OSError as error:
        return (_refused(out, error),)
    with suppress(OSError):  # the new set is in place; what is left of the old one goes at the next build
        (folders.out / BUILDING).unlink(missing_ok=True)
        _remove(folders.previous)
    return ()


def _build_and_swap(folders: _Folders, write: Callable[[Path], None]) -> None:
    folders.next.mkdir(parents=True)
    with (folders.next / BUILDING).open("wb") as mark:
        _lock(mark.fileno())
        try:
            write(folders.next)
            _write_manifest(folders.next)
            _swap(folders)
        except BaseException:
            with suppress(OSError):
                _remove(folders.next)
            raise


def _write_manifest(folder: Path) -> None:
    """The list of files, complete or not there at all."""
    names = sorted(name for name in _files(folder) if name not in (BUILDING, MANIFEST))
    draft = folder / (MANIFEST + ".new")
    draft.write_text("".join(f"{name}\n" for name in names), encoding="utf-8", newline="\n")
    draft.replace(folder / MANIFEST)


def _swap(folders: _Folders) -> None:
    if folders.out.is_dir():
        folders.out.rename(folders.previous)
    try:
        folders.next.rename(folders.out)
    except OSError:
        if folders.previous.is_dir():
            folders.previous.rename(folders.out)
        raise


# ------------------------------------------------------------------------------------------------ other runs

def _lock(number: int) -> bool:
    """Whether the open file is now locked by this process; the lock ends with the process, however it ends."""
    if sys.platform == "win32":
        return True  # an open file cannot be removed there, which is lock enough
    import fcntl

    try:
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _at_work(folder: Path) -> Problem | None:
    """A problem where another build holds the mark of its folder."""
    try:
        with (folder / BUILDING).open("rb") as mark:
            free = _lock(mark.fileno())
    except (FileNotFoundError, NotADirectoryError):
        return None
    return None if free else stop(
        Cell(folder.stem), "busy-folder", f"Another build is writing into '{folder.stem}'.",
        "Wait until it has ended, or choose another folder with --out.")


def _finish_earlier(folders: _Folders) -> Problem | None:
    """Finish the swap of a run that died between its renames; clear what one that died elsewhere left behind."""
    if folders.previous.is_dir():
        problem = _foreign_problem(folders.previous)
        if problem:
            return problem
        if not folders.out.exists():
            whole = (folders.next / MANIFEST).is_file()
            (folders.next if whole else folders.previous).rename(folders.out)
        if folders.previous.is_dir():
            _remove(folders.previous)
    return None


def _unclean(folder: Path) -> Problem | None:
    """Remove a half-built set; a problem where the folder is somebody's own."""
    if not folder.exists():
        return None
    if (folder / BUILDING).is_file() or not any(folder.iterdir()):
        _remove(folder)
        return None
    problem = _foreign_problem(folder)
    if problem is None:
        _remove(folder)
    return problem


def _remove(folder: Path) -> None:
    """Remove a set of ours: its mark last, so that a run that dies here leaves something known to be ours."""
    if not folder.is_dir():
        return
    for entry in list(folder.iterdir()):
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        elif entry.name not in (MANIFEST, BUILDING):
            entry.unlink()
    for mark in (MANIFEST, BUILDING):
        (folder / mark).unlink(missing_ok=True)
    folder.rmdir()


# ------------------------------------------------------------------------------------------------ whose files

def _foreign_problem(folder: Path) -> Problem | None:
    """A problem where the folder holds anything that its manifest does not list."""
    if not folder.exists():
        return None
    where = Cell(folder.name)
    if not folder.is_dir():
        return stop(where, "not-a-folder", f"'{folder.name}' is a file, and the quote needs a folder of that name.",
                    "Choose another folder with --out, or move the file away.")
    held = [name for name in _files(folder) if Path(name).name not in JUNK and name not in (MANIFEST, BUILDING)]
    opened = next((name for name in held if Path(name).name.startswith(OPEN_MARKS)), None)
    if opened:
        return stop(where, "open-file", f"'{opened}' shows that a workbook in '{folder.name}' is open.",
                    "Close the workbook, then build again.")
    ours = _listed(folder)
    foreign = [name for name in held if name not in ours]
    if not foreign:
        return None
    more = f" and {len(foreign) - 1} more" if len(foreign) > 1 else ""
    return stop(where, "foreign-files",
                f"'{folder.name}' holds files that are not part of a quote made here: '{foreign[0]}'{more}. "
                "A build replaces the whole folder.",
                "Move these files away, or choose another folder with --out.")


def _listed(folder: Path) -> frozenset[str]:
    try:
        text = (folder / MANIFEST).read_text(encoding="utf-8")
    except (FileNotFoundError, UnicodeDecodeError):
        return frozenset()
    return frozenset(text.split("\n"))


def _files(folder: Path) -> Iterator[str]:
    """Every file and link below a folder, by its path inside."""
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                yield from (f"{entry.name}/{name}" for name in _files(folder / entry.name))
            else:
                yield entry.name


def _refused(out: Path, error: OSError) -> Problem:
    reason = (error.strerror or type(error).__name__).lower()
    name = Path(error.filename).name if isinstance(error.filename, str) and error.filename else out.name
    return stop(Cell(out.name), "cannot-write", f"The folder '{out.name}' could not be written: {reason} ('{name}').",
                "Close files that are open in it, check its rights and the free space, or choose another folder.")
