"""The README: its pictures are what the program draws, and its commands and keys are there."""

import re

import pytest
from readme_pictures import FOLDER, pictures

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@pytest.mark.parametrize("name", sorted(path.name for path in FOLDER.iterdir()))
def test_each_picture_is_what_the_program_draws(name: str) -> None:
    """To a tenth of a unit of the picture, as the last digits of a solver differ between machines."""
    kept, made = (FOLDER / name).read_text(encoding="utf-8"), pictures()[name].decode()
    assert NUMBER.sub("#", kept) == NUMBER.sub("#", made)
    numbers = [[float(found) for found in NUMBER.findall(text)] for text in (kept, made)]
    assert numbers[0] == pytest.approx(numbers[1], abs=0.15)
