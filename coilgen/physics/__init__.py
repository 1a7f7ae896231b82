"""Electromagnetics and heat: arrays in, arrays out, SI units, each formula with its source."""
