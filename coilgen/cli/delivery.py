"""Puts files into their places in whole: a failure leaves what was there."""

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path, PurePosixPath

from coilgen.errors import UserError

_FAB_ENDINGS = (".gbr", ".drl", ".ipc", ".gbrjob")


class DeliveryError(UserError):
    """Something of the user's stands where a folder or a file is to go."""


def refuse_blocked(target: Path, paths: Iterable[str] = ()) -> None:
    """DeliveryError when a file stands where a folder must go, or a folder where a file must go."""
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
        fresh = scratch / "new"
        _write(files, fresh)
        if place.exists():
            shutil.copymode(place, fresh)
            _bring_along(place, fresh, name, files)
        _exchange(fresh, place, scratch / "old")


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


def deliver_file(content: bytes, path: Path) -> None:
    """Writes one file beside its place, then moves it there. A link to a file stays a link.

    OSError when it cannot be written, DeliveryError when something of the user's is in the way.
    """
    place = Path(os.path.realpath(path))
    refuse_blocked_file(place)
    with _scratch_folder(place) as scratch:
        fresh = scratch / "new"
        fresh.mkdir()
        (fresh / place.name).write_bytes(content)
        if place.exists():
            shutil.copymode(place, fresh / place.name)
        (fresh / place.name).replace(place)


@contextlib.contextmanager
def _scratch_folder(place: Path) -> Iterator[Path]:
    """A folder on the same disk; it stays only while it holds what a failed exchange could not put back."""
    scratch = Path(tempfile.mkdtemp(prefix=f".{place.name}-", dir=place.parent))
    try:
        yield scratch
    finally:
        shutil.rmtree(scratch / "new", ignore_errors=True)
        with contextlib.suppress(OSError):
            scratch.rmdir()


def _write(files: Mapping[str, bytes], folder: Path) -> None:
    for path, content in files.items():
        place = folder / path
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(content)


def _exchange(fresh: Path, place: Path, old: Path) -> None:
    if not place.exists():
        fresh.rename(place)
        return
    place.rename(old)
    try:
        fresh.rename(place)
    except OSError:
        old.rename(place)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _bring_along(place: Path, fresh: Path, name: str, files: Mapping[str, bytes]) -> None:
    """Copies over what somebody else put into the folder, links as links, empty folders too."""
    for top, folders, others in os.walk(place):
        inside = Path(top).relative_to(place)
        linked = [folder for folder in folders if (Path(top) / folder).is_symlink()]
        for folder in folders:
            if folder not in linked:
                (fresh / inside / folder).mkdir(exist_ok=True)
        for other in (*linked, *others):
            path = inside / other
            if path.as_posix() not in files and not _stale(path, name):
                shutil.copy2(place / path, fresh / path, follow_symlinks=False)


def _stale(path: Path, name: str) -> bool:
    """A fabrication file of an earlier run, such as a layer the coil no longer has."""
    return path.parts[0] == "fab" and path.name.startswith(f"{name}-") and path.suffix in _FAB_ENDINGS
