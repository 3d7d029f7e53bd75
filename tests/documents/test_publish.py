"""Publishing: a folder holds one whole set or none, whatever dies when; what is not ours is never touched."""

from __future__ import annotations

import builtins
import errno
import os
import random
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from quoting.documents.publish import publish

FILES = ("quote.json", "office/quote.xlsx", "customer/proposal.html", "crew/pull list.html")
ROOT = Path(__file__).resolve().parents[2]


def writer(word: str) -> Callable[[Path], None]:
    """Writes a set whose every file says the word."""
    def write(folder: Path) -> None:
        for name in FILES:
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(word, encoding="utf-8")
    return write


def words(folder: Path) -> set[str] | None:
    """What the files of a set say; None where a file is missing."""
    try:
        return {(folder / name).read_text(encoding="utf-8") for name in FILES}
    except FileNotFoundError:
        return None


def promise_holds(out: Path) -> bool:
    """DIR holds the old or the new set whole; or DIR is absent and DIR.previous holds the old one whole."""
    if out.exists():
        return words(out) in ({"old"}, {"new"})
    return words(out.with_name(out.name + ".previous")) == {"old"}


# ---------------------------------------------------------------- the plain way

def test_a_set_is_written_into_a_new_folder(tmp_path: Path) -> None:
    assert publish(tmp_path / "deep" / "out", writer("new")) == ()
    assert words(tmp_path / "deep" / "out") == {"new"}


def test_a_second_set_replaces_the_first_one(tmp_path: Path) -> None:
    publish(tmp_path / "out", writer("old"))
    publish(tmp_path / "out", writer("new"))
    assert words(tmp_path / "out") == {"new"}


def test_a_file_that_the_new_set_lacks_is_gone(tmp_path: Path) -> None:
    publish(tmp_path / "out", writer("old"))
    publish(tmp_path / "out", lambda folder: (folder / "quote.json").touch())
    assert not (tmp_path / "out" / "office").exists()


def test_nothing_stays_beside_the_folder(tmp_path: Path) -> None:
    publish(tmp_path / "out", writer("old"))
    publish(tmp_path / "out", writer("new"))
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_an_empty_folder_is_used(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    assert publish(tmp_path / "out", writer("new")) == ()


def test_a_link_to_a_folder_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "out").symlink_to(tmp_path / "real")
    publish(tmp_path / "out", writer("new"))
    assert (tmp_path / "out").is_symlink()
    assert words(tmp_path / "real") == {"new"}


# ---------------------------------------------------------------- what is not ours

@pytest.mark.parametrize("name", ["notes.txt", "office/my own.xlsx", "customer/signed.pdf", "other/deep/file"])
def test_a_folder_with_a_foreign_file_is_refused_and_nothing_changes(tmp_path: Path, name: str) -> None:
    out = tmp_path / "out"
    publish(out, writer("old"))
    (out / name).parent.mkdir(parents=True, exist_ok=True)
    (out / name).write_text("mine", encoding="utf-8")
    problems = publish(out, writer("new"))
    assert [problem.code for problem in problems] == ["foreign-files"]
    assert f"'{name}'" in problems[0].message
    assert words(out) == {"old"}
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_folder_that_was_never_a_set_is_refused(tmp_path: Path) -> None:
    (tmp_path / "customer").mkdir()
    (tmp_path / "customer" / "list.txt").write_text("mine", encoding="utf-8")
    assert [problem.code for problem in publish(tmp_path, writer("new"))] == ["foreign-files"]


@pytest.mark.parametrize("beside", ["out.next", "out.previous"])
def test_somebody_elses_folder_with_one_of_our_names_is_refused(tmp_path: Path, beside: str) -> None:
    (tmp_path / beside).mkdir()
    (tmp_path / beside / "mine.txt").write_text("mine", encoding="utf-8")
    assert [problem.code for problem in publish(tmp_path / "out", writer("new"))] == ["foreign-files"]
    assert (tmp_path / beside / "mine.txt").exists()


def test_a_file_in_the_folders_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    assert [problem.code for problem in publish(tmp_path / "out", writer("new"))] == ["not-a-folder"]


def test_a_workbook_that_is_open_is_named(tmp_path: Path) -> None:
    publish(tmp_path / "out", writer("old"))
    (tmp_path / "out" / "office" / "~$quote.xlsx").touch()
    assert [problem.code for problem in publish(tmp_path / "out", writer("new"))] == ["open-file"]


def test_what_a_file_manager_leaves_behind_is_no_hindrance(tmp_path: Path) -> None:
    publish(tmp_path / "out", writer("old"))
    (tmp_path / "out" / ".DS_Store").touch()
    assert publish(tmp_path / "out", writer("new")) == ()


# ---------------------------------------------------------------- writers that fail

def test_an_error_of_the_file_system_is_a_plain_problem(tmp_path: Path) -> None:
    def full(_: Path) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), "quote.xlsx")
    problems = publish(tmp_path / "out", full)
    assert [problem.code for problem in problems] == ["cannot-write"]
    assert "no space left" in problems[0].message


def test_a_writer_that_breaks_leaves_the_old_set_and_nothing_else(tmp_path: Path) -> None:
    def broken(folder: Path) -> None:
        writer("new")(folder)
        raise ZeroDivisionError
    publish(tmp_path / "out", writer("old"))
    with pytest.raises(ZeroDivisionError):
        publish(tmp_path / "out", broken)
    assert words(tmp_path / "out") == {"old"}
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_build_that_is_at_work_is_left_alone(tmp_path: Path) -> None:
    inner: list[str] = []

    def write(folder: Path) -> None:
        writer("new")(folder)
        inner.extend(problem.code for problem in publish(tmp_path / "out", writer("other")))
    publish(tmp_path / "out", write)
    assert inner == ["busy-folder"]
    assert words(tmp_path / "out") == {"new"}


# ---------------------------------------------------------------- death at every call

CALLS = ("mkdir", "rename", "replace", "unlink", "rmdir", "scandir", "listdir", "stat", "open")


class Killed(BaseException):
    """The process is dead: no handler of ours may do anything more."""


class Counter:
    """Counts file-system calls; from the chosen one on, `act` is called instead of them."""

    def __init__(self, at: int, act: Callable[[int], None]) -> None:
        self.at, self.act, self.count = at, act, 0

    def wrap(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def called(*args: Any, **kwargs: Any) -> Any:
            self.count += 1
            if self.count >= self.at:
                self.act(self.count)
            return real(*args, **kwargs)
        return called


def patched(monkeypatch: pytest.MonkeyPatch, at: int, act: Callable[[int], None]) -> Counter:
    counter = Counter(at, act)
    for name in CALLS:
        monkeypatch.setattr(os, name, counter.wrap(getattr(os, name)))
    monkeypatch.setattr(builtins, "open", counter.wrap(builtins.open))
    monkeypatch.setattr("io.open", counter.wrap(builtins.open))
    return counter


def die(_: int) -> None:
    raise Killed


def calls_of_one_build(folder: Path, monkeypatch: pytest.MonkeyPatch) -> int:
    publish(folder / "counted", writer("old"))
    with monkeypatch.context() as patch:
        counter = patched(patch, 10**9, die)
        publish(folder / "counted", writer("new"))
    return counter.count


def test_death_at_any_file_system_call_leaves_one_whole_set(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    calls = calls_of_one_build(tmp_path, monkeypatch)
    assert calls > 20
    for at in range(1, calls + 1):
        out = tmp_path / f"kill{at}" / "out"
        publish(out, writer("old"))
        with monkeypatch.context() as patch, pytest.raises(Killed):
            patched(patch, at, die)
            publish(out, writer("new"))
        assert promise_holds(out), f"call {at}"


def test_after_death_at_any_call_the_next_build_succeeds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for at in range(1, calls_of_one_build(tmp_path, monkeypatch) + 1):
        out = tmp_path / f"kill{at}" / "out"
        publish(out, writer("old"))
        with monkeypatch.context() as patch, pytest.raises(Killed):
            patched(patch, at, die)
            publish(out, writer("new"))
        assert publish(out, writer("third")) == (), f"call {at}"
        assert words(out) == {"third"}
        assert [path.name for path in out.parent.iterdir()] == ["out"], f"call {at}"


def test_death_while_the_next_build_finishes_the_swap_loses_nothing(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for at in range(1, 40):
        folder = tmp_path / f"swap{at}"
        out = folder / "out"
        publish(out, writer("old"))
        publish(folder / "new", writer("new"))
        out.rename(folder / "out.previous")
        (folder / "new").rename(folder / "out.next")
        with monkeypatch.context() as patch, pytest.raises(Killed):
            patched(patch, at, die)
            publish(out, writer("new"))
        assert promise_holds(out), f"call {at}"


def test_an_error_at_any_call_leaves_one_whole_set_and_no_traceback(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for at in range(1, calls_of_one_build(tmp_path, monkeypatch) + 1):
        def fail(count: int, at: int = at) -> None:
            if count == at:
                raise OSError(errno.EIO, os.strerror(errno.EIO))
        out = tmp_path / f"fail{at}" / "out"
        publish(out, writer("old"))
        with monkeypatch.context() as patch:
            patched(patch, at, fail)
            problems = publish(out, writer("new"))
        assert words(out) == ({"old"} if problems else {"new"}), f"call {at}"


def test_fifty_builds_killed_at_random_moments_leave_one_whole_set(tmp_path: Path) -> None:
    out = tmp_path / "out"
    publish(out, writer("old"))
    program = textwrap.dedent(f"""
        import sys
        from pathlib import Path
        sys.path.insert(0, {str(ROOT)!r})
        from quoting.documents.publish import publish
        def write(word):
            def fill(folder):
                for name in {FILES!r}:
                    (folder / name).parent.mkdir(exist_ok=True)
                    (folder / name).write_text(word)
            return fill
        print("ready", flush=True)
        while True:
            publish(Path({str(out)!r}), write("new"))
            publish(Path({str(out)!r}), write("old"))
    """)
    chance = random.Random(1)
    for _ in range(50):
        child = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE)
        assert child.stdout is not None
        child.stdout.readline()
        time.sleep(chance.random() * 0.01)
        child.send_signal(signal.SIGKILL)
        child.wait()
        child.stdout.close()
        kept = out if out.exists() else out.with_name("out.previous")
        assert words(kept) in ({"old"}, {"new"})
    assert publish(out, writer("end")) == ()
