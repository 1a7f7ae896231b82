"""Faults and how given values are shown in them."""

import datetime
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.errors import DesignError, Fault, UserError, named, shown


def test_an_error_is_one_line_for_each_fault():
    error = DesignError([Fault(key="via.pad", says="too small"), Fault(key="", says="nothing given")])
    assert str(error) == "via.pad: too small\nnothing given"
    assert isinstance(error, UserError)
    assert len(error.faults) == 2


def test_a_single_fault():
    assert DesignError.at("name", "missing").faults == (Fault(key="name", says="missing"),)


def test_an_error_keeps_its_faults_between_processes():
    error = DesignError([Fault(key="via.pad", says="too small"), Fault(key="", says="nothing given")])
    again = pickle.loads(pickle.dumps(error))
    assert (type(again), again.faults, str(again)) == (DesignError, error.faults, str(error))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (False, "false"),
        (3, "3"),
        (1 << 2000, "a number of over 19 digits"),
        ({}, "a table"),
        ((), "a list"),
        (None, "nothing"),
        (datetime.date(2030, 1, 1), "a date or time"),
        (object(), "a value of an unknown kind"),
        ("a\nb", '"a?b"'),
    ],
)
def test_values_are_shown_as_they_would_be_written(value, text):
    assert shown(value) == text


@given(st.text())
def test_shown_text_is_one_short_line(text):
    assert len(shown(text)) <= 63
    assert shown(text).isprintable()


@given(st.text())
def test_a_key_is_named_in_one_short_line(text):
    assert len(named(text)) <= 63
    assert named(text).isprintable()


def test_a_fault_at_a_very_long_key_is_one_short_line():
    assert str(Fault(key="optimize." + "limits" * 90, says="no such key")).endswith("lim…: no such key")
    assert len(str(Fault(key="a" * 900, says="no such key"))) < 150
