"""Viewing films: complete rows, thresholds in order, what they show in words the figures know."""

from coilgen.catalogue import rows
from coilgen.result.viewing_film import USUAL, viewing_film


def test_every_film_says_what_it_shows_from_which_field_and_by_whom():
    assert USUAL in rows("viewing_films")
    for name in rows("viewing_films"):
        film = viewing_film(name)
        assert film.says
        assert film.source == "common practice, no source"
        assert film.shows in ("normal", "tangential")
        low, typical, high = film.thresholds
        assert 5e-4 < low < film.threshold == typical < high < 0.1


def test_the_usual_film_shows_the_component_that_is_mapped():
    assert viewing_film().shows == "normal"
