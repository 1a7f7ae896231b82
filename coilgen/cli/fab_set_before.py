"""Tells when the files for the fab in a folder go from those of one board to those of a panel, or back."""

from collections.abc import Mapping
from pathlib import Path

_PARTS = {b"%TF.Part,Single*%": "one board", b"%TF.Part,Array*%": "a panel"}
"""What a Gerber file's attribute says it is of."""


def set_before(target: Path, name: str, files: Mapping[str, bytes]) -> str | None:
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
