"""Force on a magnet and pull on a target."""
