"""Random designs are drawn over every key of the design file."""

from drawing import draw
from drawn_keys import KEYS
from refusal_laws import known_keys


def test_every_key_of_the_design_file_is_drawn():
    """A new key needs a line in `random_designs/drawn_keys.py` that tells how it is drawn."""
    drawn = {key.path for key in KEYS}
    assert drawn - known_keys() == set()
    assert known_keys() - drawn == set()


def test_a_seed_always_draws_the_same_design():
    assert draw(KEYS, 7) == draw(KEYS, 7) != draw(KEYS, 8)
