"""Files arrive in whole or not at all, and what is not ours stays."""

import os
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from coilgen.cli import delivery, lock
from coilgen.cli.delivery import (
    ChangedError,
    DeliveryError,
    deliver,
    deliver_file,
    recover,
    refuse_blocked,
    refuse_blocked_file,
    refuse_blocked_in,
)
from coilgen.cli.exchange import exchanged
from coilgen.cli.lock import BusyError, locked

FILES = {"blade.svg": b"<svg/>", "fab/blade-copper-L1.gbr": b"G04*\n", "fab/blade.gbrjob": b"{}"}


@pytest.fixture
def two_moves(monkeypatch):
    """A system that cannot exchange two folders in one step."""
    monkeypatch.setattr(delivery, "exchanged", lambda one, other: False)


def tree(folder):
    return {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()
    }


@pytest.fixture
def target(tmp_path):
    return tmp_path / "out" / "blade"


@pytest.fixture
def earlier(target):
    """An earlier result with a layer more, and what the user put beside it."""
    deliver({**FILES, "fab/blade-copper-L2.gbr": b"old", "blade.svg": b"old"}, target, "blade")
    (target / "my notes.txt").write_text("keep")
    (target / "fab" / "panel.gbr").write_text("keep")
    (target / "fab" / "blade-order.txt").write_text("keep")
    (target / "photos" / "empty").mkdir(parents=True)
    return target


class TestInWhole:
    def test_into_nothing(self, target):
        deliver(FILES, target, "blade")
        assert tree(target) == FILES
        assert list(target.parent.iterdir()) == [target]

    def test_twice_is_the_same(self, target):
        deliver(FILES, target, "blade")
        deliver(FILES, target, "blade")
        assert tree(target) == FILES
        assert list(target.parent.iterdir()) == [target]

    def test_what_is_not_ours_is_kept_and_stale_copper_is_not(self, earlier):
        deliver(FILES, earlier, "blade")
        kept = dict.fromkeys(("my notes.txt", "fab/panel.gbr", "fab/blade-order.txt"), b"keep")
        assert tree(earlier) == FILES | kept
        assert (earlier / "photos" / "empty").is_dir()
        assert list(earlier.parent.iterdir()) == [earlier]

    def test_links_stay_links(self, earlier, tmp_path):
        (tmp_path / "album").mkdir()
        (tmp_path / "album" / "one.jpg").write_text("keep")
        (earlier / "album").symlink_to(tmp_path / "album")
        (earlier / "loop").symlink_to(earlier)
        (earlier / "gone").symlink_to("nowhere")
        deliver(FILES, earlier, "blade")
        assert {name: str((earlier / name).readlink()) for name in ("album", "loop", "gone")} == {
            "album": str(tmp_path / "album"),
            "loop": str(earlier),
            "gone": "nowhere",
        }
        assert tree(tmp_path / "album") == {"one.jpg": b"keep"}

    def test_a_target_that_is_a_link_stays_one(self, target, tmp_path):
        (tmp_path / "shelf").mkdir()
        target.parent.mkdir()
        target.symlink_to(tmp_path / "shelf")
        deliver(FILES, target, "blade")
        assert target.is_symlink()
        assert tree(tmp_path / "shelf") == FILES

    def test_a_folders_permissions_stay(self, earlier):
        earlier.chmod(0o750)
        deliver(FILES, earlier, "blade")
        assert earlier.stat().st_mode & 0o777 == 0o750

    def test_files_are_as_readable_as_any_others(self, target, tmp_path):
        (tmp_path / "any").mkdir()
        (tmp_path / "any" / "file").write_bytes(b"")
        deliver(FILES, target, "blade")
        assert target.stat().st_mode == (tmp_path / "any").stat().st_mode
        assert (target / "blade.svg").stat().st_mode == (tmp_path / "any" / "file").stat().st_mode


def failing(monkeypatch, owner, name, countdown):
    """Lets the named call of the system fail, as a full disk would, after so many that succeed."""
    true, left = getattr(owner, name), [countdown]

    def call(*arguments, **named):
        if left[0] == 0:
            raise OSError(28, "No space left on device")
        left[0] -= 1
        return true(*arguments, **named)

    monkeypatch.setattr(owner, name, call)


class TestFailureHalfWay:
    @pytest.mark.parametrize(
        ("owner", "name", "countdown"),
        [
            *[(Path, "write_bytes", count) for count in range(len(FILES))],
            *[(shutil, "copy2", count) for count in range(3)],
            (delivery, "exchanged", 0),
            (shutil, "copymode", 0),
        ],
    )
    def test_leaves_what_was_there(self, earlier, monkeypatch, owner, name, countdown):
        before = tree(earlier)
        failing(monkeypatch, owner, name, countdown)
        with pytest.raises(OSError, match="No space left"):
            deliver(FILES, earlier, "blade")
        monkeypatch.undo()
        assert tree(earlier) == before
        assert list(earlier.parent.iterdir()) == [earlier]

    @pytest.mark.parametrize("countdown", [0, 1])
    def test_at_either_move_puts_the_old_folder_back(self, earlier, monkeypatch, two_moves, countdown):
        """The second is tried again at the end, to put the old folder back, and then comes through."""
        before, true, calls = tree(earlier), Path.rename, []

        def rename(path, other):
            calls.append(path)
            if len(calls) == countdown + 1:
                raise OSError(5, "Input/output error")
            return true(path, other)

        monkeypatch.setattr(Path, "rename", rename)
        with pytest.raises(OSError, match="Input/output"):
            deliver(FILES, earlier, "blade")
        assert tree(earlier) == before
        assert list(earlier.parent.iterdir()) == [earlier]

    def test_never_deletes_the_old_folder_that_it_cannot_put_back(self, earlier, monkeypatch, two_moves):
        before, true, calls = tree(earlier), Path.rename, []

        def rename(path, other):
            calls.append(path)
            if len(calls) > 1:
                raise OSError(5, "Input/output error")
            return true(path, other)

        monkeypatch.setattr(Path, "rename", rename)
        with pytest.raises(OSError, match="Input/output"):
            deliver(FILES, earlier, "blade")
        (scratch,) = earlier.parent.iterdir()
        assert tree(scratch / "old") == before
        monkeypatch.undo()
        recover(earlier)
        assert tree(earlier) == before
        assert list(earlier.parent.iterdir()) == [earlier]

    def test_in_a_new_place_leaves_nothing(self, target, monkeypatch):
        failing(monkeypatch, Path, "write_bytes", 1)
        with pytest.raises(OSError, match="No space left"):
            deliver(FILES, target, "blade")
        assert list(target.parent.iterdir()) == []


class TestEndedByForce:
    """A program of its own delivers and is ended; the next run finds one of the two folders whole."""

    def test_at_each_call_of_the_system(self, tmp_path):
        assert told("ended", tmp_path, "moves").endswith("absent 1 times until the next run\n")

    @pytest.mark.slow
    @pytest.mark.parametrize(
        "more", [("ended", "exchange"), ("killed", "exchange", 40), ("killed", "moves", 40), ("beside", 40)]
    )
    def test_at_random_and_side_by_side(self, tmp_path, more):
        assert told(more[0], tmp_path, *more[1:])


def told(kind, folder, *more):
    """What the program counted."""
    program = Path(__file__).with_name("deliveries.py")
    command = [sys.executable, str(program), kind, str(folder), *map(str, more)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr
    return done.stdout


class TestOneRunAtATime:
    def test_another_waits_and_then_comes_through(self, earlier, tmp_path):
        with ThreadPoolExecutor(1) as other:
            with locked(earlier.with_name(".blade-delivery.lock")):
                waiting = other.submit(deliver, FILES, earlier, "blade")
                with pytest.raises(TimeoutError):
                    waiting.result(timeout=0.1)
                assert tree(earlier)["blade.svg"] == b"old"
            waiting.result(timeout=60)
        assert tree(earlier)["blade.svg"] == FILES["blade.svg"]
        assert list(earlier.parent.iterdir()) == [earlier]

    def test_one_that_does_not_let_go_is_told(self, earlier, monkeypatch):
        monkeypatch.setattr(lock, "PATIENCE", 0.0)
        with (
            locked(earlier.with_name(".blade-delivery.lock")),
            pytest.raises(BusyError, match=r"held by another run for over 0 s; wait for that run"),
        ):
            deliver(FILES, earlier, "blade")
        assert list(earlier.parent.iterdir()) == [earlier]


class TestUnderTheHand:
    """What the user writes into the folder while it is exchanged."""

    @pytest.mark.parametrize("road", ["exchange", "moves"])
    def test_late_notes_follow(self, earlier, monkeypatch, road):
        true = delivery.exchanged

        def late(fresh, place):
            (place / "my notes.txt").write_text("late")
            (place / "fab" / "late").mkdir()
            (place / "fab" / "late" / "more.txt").write_text("late")
            return road == "exchange" and true(fresh, place)

        monkeypatch.setattr(delivery, "exchanged", late)
        deliver(FILES, earlier, "blade")
        found = tree(earlier)
        assert (found["my notes.txt"], found["fab/late/more.txt"]) == (b"late", b"late")
        assert (found["fab/panel.gbr"], found["blade.svg"]) == (b"keep", FILES["blade.svg"])


class TestExchange:
    def test_both_change_places_or_neither(self, tmp_path):
        one, other = tmp_path / "one", tmp_path / "other"
        for folder in (one, other):
            folder.mkdir()
            (folder / folder.name).touch()
        done = exchanged(one, other)
        assert [path.name for path in one.iterdir()] == ["other" if done else "one"]
        assert [path.name for path in other.iterdir()] == ["one" if done else "other"]

    def test_a_failure_is_told_with_the_names(self, tmp_path):
        if exchanged(tmp_path, tmp_path):
            with pytest.raises(FileNotFoundError, match="none"):
                exchanged(tmp_path / "none", tmp_path)

    def test_a_system_without_it(self, tmp_path, monkeypatch):
        monkeypatch.setattr("ctypes.CDLL", lambda *_, **__: object())
        assert not exchanged(tmp_path / "none", tmp_path)


class TestInTheWay:
    def test_a_file_where_the_folder_goes(self, target):
        target.parent.mkdir()
        target.write_text("mine")
        with pytest.raises(DeliveryError, match="blade is a file; name a folder"):
            refuse_blocked(target)
        with pytest.raises(DeliveryError, match="blade is a file; name a folder"):
            deliver(FILES, target, "blade")
        assert target.read_text() == "mine"

    def test_a_folder_that_may_not_be_written_to(self, target, monkeypatch):
        target.parent.mkdir()
        monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != target.parent)
        for refuse in (refuse_blocked, lambda place: refuse_blocked_in(place.parent, ["blade.csv"])):
            with pytest.raises(DeliveryError, match="out may not be written to; name another folder"):
                refuse(target)
        refuse_blocked_in(target.parent.parent, ["blade.csv"])

    def test_a_file_above_the_folder(self, target):
        target.parent.write_text("mine")
        with pytest.raises(DeliveryError, match="out is a file; name a folder"):
            refuse_blocked(target)

    def test_a_folder_where_a_file_goes(self, target):
        (target / "blade.svg" / "deep").mkdir(parents=True)
        with pytest.raises(DeliveryError, match=r"blade\.svg is a folder where a file is to go"):
            deliver(FILES, target, "blade")
        assert (target / "blade.svg" / "deep").is_dir()

    def test_a_file_where_an_inner_folder_goes(self, target):
        target.mkdir(parents=True)
        (target / "fab").write_text("mine")
        with pytest.raises(DeliveryError, match="fab is a file where a folder is to go"):
            deliver(FILES, target, "blade")
        assert tree(target) == {"fab": b"mine"}

    def test_a_free_place_is_not_refused(self, target):
        refuse_blocked(target, FILES)
        assert not target.parent.exists()


class TestOneFile:
    @pytest.fixture
    def place(self, tmp_path):
        return tmp_path / "found.csv"

    def test_into_nothing_and_over_an_earlier_one(self, place):
        for content in (b"one\n", b"another\n"):
            deliver_file(content, place)
            assert tree(place.parent) == {"found.csv": content}

    def test_permissions_stay_and_a_link_stays_a_link(self, place, tmp_path):
        (tmp_path / "shelf").mkdir()
        kept = tmp_path / "shelf" / "kept.csv"
        kept.write_bytes(b"old")
        kept.chmod(0o640)
        place.symlink_to(kept)
        deliver_file(b"new", place)
        assert place.is_symlink()
        assert (kept.read_bytes(), kept.stat().st_mode & 0o777) == (b"new", 0o640)

    @pytest.mark.parametrize(("owner", "name"), [(Path, "write_bytes"), (Path, "replace")])
    def test_a_failure_leaves_what_was_there(self, place, monkeypatch, owner, name):
        place.write_bytes(b"old")
        failing(monkeypatch, owner, name, 0)
        with pytest.raises(OSError, match="No space left"):
            deliver_file(b"new", place)
        monkeypatch.undo()
        assert tree(place.parent) == {"found.csv": b"old"}
        assert list(place.parent.iterdir()) == [place]

    def test_what_has_changed_meanwhile_is_left(self, place):
        place.write_bytes(b"the user's")
        with pytest.raises(ChangedError, match="has changed meanwhile and is left as it is"):
            deliver_file(b"new", place, over=b"old")
        assert tree(place.parent) == {"found.csv": b"the user's"}
        deliver_file(b"new", place, over=b"the user's")
        assert tree(place.parent) == {"found.csv": b"new"}

    def test_a_pipe_or_device_is_not_replaced(self, place):
        os.mkfifo(place)
        with pytest.raises(DeliveryError, match="is not a regular file; name another"):
            deliver_file(b"new", place)
        assert place.is_fifo()

    def test_is_refused_where_a_folder_stands_or_none(self, place):
        with pytest.raises(DeliveryError, match="is a folder; name a file in it"):
            refuse_blocked_file(place.parent)
        with pytest.raises(DeliveryError, match="is no folder; make it first"):
            deliver_file(b"", place / "deeper" / "found.csv")
