"""Exact plane geometry: lines, arcs, paths, outlines, distances. Knows no coils. Metres and radians."""
