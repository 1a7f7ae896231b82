"""Soft cores, magnets and targets: magnetisation, flux, force."""
