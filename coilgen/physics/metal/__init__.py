"""Metal near a winding: what its eddy currents and magnetisation do to inductance, losses, switching."""
