"""Files arrive in whole or not at all, and what is not ours stays."""

import os
import shutil
from pathlib import Path

import pytest

from coilgen.cli.delivery import DeliveryError, deliver, deliver_file, refuse_blocked, refuse_blocked_file

FILES = {"blade.svg": b"<svg/>", "fab/blade-copper-L1.gbr": b"G04*\n", "fab/blade.gbrjob": b"{}"}


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
            (Path, "rename", 0),
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

    def test_at_the_exchange_puts_the_old_folder_back(self, earlier, monkeypatch):
        before, true = tree(earlier), Path.rename

        def rename(path, other):
            if path.name == "new":
                raise OSError(5, "Input/output error")
            return true(path, other)

        monkeypatch.setattr(Path, "rename", rename)
        with pytest.raises(OSError, match="Input/output"):
            deliver(FILES, earlier, "blade")
        assert tree(earlier) == before
        assert list(earlier.parent.iterdir()) == [earlier]

    def test_never_deletes_the_old_folder_that_it_cannot_put_back(self, earlier, monkeypatch):
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

    def test_in_a_new_place_leaves_nothing(self, target, monkeypatch):
        failing(monkeypatch, Path, "write_bytes", 1)
        with pytest.raises(OSError, match="No space left"):
            deliver(FILES, target, "blade")
        assert list(target.parent.iterdir()) == []


class TestInTheWay:
    def test_a_file_where_the_folder_goes(self, target):
        target.parent.mkdir()
        target.write_text("mine")
        with pytest.raises(DeliveryError, match="blade is a file; name a folder"):
            refuse_blocked(target)
        with pytest.raises(DeliveryError, match="blade is a file; name a folder"):
            deliver(FILES, target, "blade")
        assert target.read_text() == "mine"

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
