"""Delivers files for the fab, and tells when those in a folder go from one board's to a panel's, or back."""

from collections.abc import Mapping
from pathlib import Path

from coilgen.cli.delivery import deliver

_PARTS = {b"%TF.Part,Single*%": "one board", b"%TF.Part,Array*%": "a panel"}
"""What a Gerber file's attribute says it is of."""


def deliver_set(files: Mapping[str, bytes], target: Path, name: str) -> tuple[str, ...]:
    """Delivers as `deliver`; what is to be told of the set that was there."""
    before = _set_before(target, name, files)
    deliver(files, target, name)
    return () if before is None else (before,)


def _set_before(target: Path, name: str, files: Mapping[str, bytes]) -> str | None:
    """A sentence on the set that is there and that `files` will replace, where it is of another kind."""
    profile = f"fab/{name}-profile.gbr"
    place = target / profile
    if profile not in files or not place.is_file():
        return None
    before, now = _part(place.read_bytes()), _part(files[profile])
    if before is None or now is None or before == now:
        return None
    return (
        f"the files for the fab in {target} were those of {before} and are now those of {now}; "
        "give another --out to keep both"
    )


def _part(profile: bytes) -> str | None:
    return next((kind for line, kind in _PARTS.items() if line in profile), None)
