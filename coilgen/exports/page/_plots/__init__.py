"""Plots of the coil page, one file each: drawn where the figure it needs is there."""
