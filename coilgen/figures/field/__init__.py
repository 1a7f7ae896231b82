"""Flux density on the axis and over planes."""
