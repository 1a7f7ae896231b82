"""Exact plane geometry: lines, arcs, paths, outlines, distances. Knows nothing of coils. Metres and radians."""
