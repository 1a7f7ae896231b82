"""Magnetic field of currents in free space."""
