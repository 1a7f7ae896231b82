"""The coil page and its plots."""
