"""Searches: the best design within limits, by exact figures."""
