"""Rows and rings of alternating magnets that pass coils: their flux, voltages, torque and thrust."""
