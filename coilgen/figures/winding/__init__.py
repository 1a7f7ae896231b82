"""Lengths of the copper: length, mass, width, area."""
