"""Parts of the coil page."""
