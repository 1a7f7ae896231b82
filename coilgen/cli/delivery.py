"""Puts files into their places in whole: a failure leaves what was there."""

import contextlib
import os
import shutil
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path, PurePosixPath

from coilgen.cli.exchange import exchanged
from coilgen.cli.lock import locked
from coilgen.errors import UserError

NEW, OLD = "new", "old"
_FAB_ENDINGS = (".gbr", ".drl", ".ipc", ".gbrjob")


class DeliveryError(UserError):
    """Something of the user's stands where a folder or a file is to go."""


class ChangedError(UserError):
    """What was to be written over has changed meanwhile."""


def refuse_blocked(target: Path, paths: Iterable[str] = ()) -> None:
    """DeliveryError where `deliver` cannot put a folder, or files in it: something of the user's is in the
    way, or nothing may be written."""
    _refuse_in_the_way(target, paths)
    _refuse_read_only(target.parent)


def refuse_blocked_in(folder: Path, names: Iterable[str]) -> None:
    """DeliveryError where `deliver_file` cannot put files into a folder, which may still be made."""
    _refuse_in_the_way(folder, names)
    _refuse_read_only(folder)


def _refuse_in_the_way(target: Path, paths: Iterable[str]) -> None:
    for folder in (target, *target.parents):
        if folder.exists() and not folder.is_dir():
            raise DeliveryError(f"--out: {folder} is a file; name a folder")
    for path in paths:
        if (target / path).is_dir():
            raise DeliveryError(f"{target / path} is a folder where a file is to go; move it away")
        for inside in PurePosixPath(path).parents:
            if (target / inside).exists() and not (target / inside).is_dir():
                raise DeliveryError(f"{target / inside} is a file where a folder is to go; move it away")


def deliver(files: Mapping[str, bytes], target: Path, name: str) -> None:
    """Writes all files beside the target folder, then exchanges the two.

    What is not ours in the target comes along; fabrication files of an earlier run do not. OSError when
    something cannot be written, DeliveryError when something of the user's is in the way.
    """
    place = Path(os.path.realpath(target))  # a link to a folder stays a link
    refuse_blocked(place, files)
    place.parent.mkdir(parents=True, exist_ok=True)
    with _scratch_folder(place) as scratch:
        fresh = scratch / NEW
        _write(files, fresh)
        if not place.exists():
            fresh.rename(place)
            return
        shutil.copymode(place, fresh)
        for path in _others(place, name, files):
            _copy(place / path, fresh / path)
        former = _exchange(fresh, place, scratch / OLD)
        for path in _others(former, name, files):
            _follow(former / path, place / path)


def recover(target: Path) -> None:
    """Puts right what a run that was ended by force has left beside the target."""
    place = Path(os.path.realpath(target))
    if _scratch(place).exists() or _lock(place).exists():
        with locked(_lock(place)):
            _clear(place)


def refuse_blocked_file(path: Path) -> None:
    """DeliveryError when a file cannot go there: its folder is missing, or something else stands there.

    A device or a pipe would be replaced by a file of its name, not written to.
    """
    if path.is_dir():
        raise DeliveryError(f"--out: {path} is a folder; name a file in it")
    if path.exists() and not path.is_file():
        raise DeliveryError(f"--out: {path} is not a regular file; name another, or leave --out away")
    if not path.parent.is_dir():
        raise DeliveryError(f"--out: {path.parent} is no folder; make it first")
    _refuse_read_only(path.parent)


def _refuse_read_only(folder: Path) -> None:
    """DeliveryError for a folder, there or still to be made, in which this user may write nothing."""
    there = next(each for each in (folder, *folder.absolute().parents) if each.exists())
    if not os.access(there, os.W_OK | os.X_OK):
        raise DeliveryError(
            f"--out: {there} may not be written to; name another folder, or ask for the right"
        )


def deliver_file(content: bytes, path: Path, *, over: bytes | None = None) -> None:
    """Writes one file beside its place, then moves it there. A link to a file stays a link.

    over: what must stand there to the last moment. OSError when it cannot be written, DeliveryError when
    something of the user's is in the way, ChangedError when something else stands there.
    """
    place = Path(os.path.realpath(path))
    refuse_blocked_file(place)
    with _scratch_folder(place) as scratch:
        fresh = scratch / NEW / place.name
        fresh.parent.mkdir()
        fresh.write_bytes(content)
        if place.exists():
            shutil.copymode(place, fresh)
        if over is not None and place.read_bytes() != over:
            raise ChangedError(f"{path} has changed meanwhile and is left as it is")
        fresh.replace(place)


@contextlib.contextmanager
def _scratch_folder(place: Path) -> Iterator[Path]:
    """An empty folder beside a place, on the same disk, for one run at a time.

    Nothing is left of it but what a failed exchange could not put back.
    """
    with locked(_lock(place)):
        _clear(place)
        _scratch(place).mkdir()
        try:
            yield _scratch(place)
        finally:
            _clear(place)


def _clear(place: Path) -> None:
    """Takes the scratch folder away, of this run or of one that was ended by force.

    Where that was ended between the two moves of an exchange, the old folder goes back first.
    """
    scratch = _scratch(place)
    if not place.exists() and (scratch / OLD).exists():
        (scratch / OLD).rename(place)
    shutil.rmtree(scratch, ignore_errors=True)


def _scratch(place: Path) -> Path:
    return place.with_name(f".{place.name}-delivery")


def _lock(place: Path) -> Path:
    return place.with_name(f".{place.name}-delivery.lock")


def _write(files: Mapping[str, bytes], folder: Path) -> None:
    for path, content in files.items():
        place = folder / path
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(content)


def _exchange(fresh: Path, place: Path, old: Path) -> Path:
    """Where the former folder is, once the fresh one has its place: in one step, where the system has it.

    Otherwise in two moves: what ends the run between them is put right when the scratch is cleared.
    """
    if exchanged(fresh, place):
        return fresh
    place.rename(old)
    fresh.rename(place)
    return old


def _others(folder: Path, name: str, files: Mapping[str, bytes]) -> Iterator[Path]:
    """What somebody else put into the folder: folders before what is in them, a link as a link."""
    for top, folders, others in os.walk(folder):
        inside = Path(top).relative_to(folder)
        for other in (*folders, *others):
            path = inside / other
            if path.as_posix() not in files and not _stale(path, name):
                yield path


def _copy(other: Path, copy: Path) -> None:
    if other.is_dir() and not other.is_symlink():
        copy.mkdir(exist_ok=True)
    else:
        shutil.copy2(other, copy, follow_symlinks=False)


def _follow(other: Path, copy: Path) -> None:
    """What was written to the former folder since it was copied follows."""
    if other.is_dir() and not other.is_symlink():
        copy.mkdir(exist_ok=True)
    elif not os.path.lexists(copy) or other.lstat().st_mtime_ns > copy.lstat().st_mtime_ns:
        other.replace(copy)


def _stale(path: Path, name: str) -> bool:
    """A fabrication file of an earlier run, such as a layer the coil no longer has, or all of a set."""
    if path.as_posix() == f"{name}-fab.zip":
        return True
    ours = path.stem == name or path.name.startswith(f"{name}-")
    notes = path.stem == f"{name}-fabrication-notes"
    return path.parts[0] == "fab" and (notes or (ours and path.suffix in _FAB_ENDINGS))
