"""What soft cores do to the coil."""
