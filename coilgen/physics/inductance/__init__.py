"""Inductance of strips, turns and windings at uniform current."""
