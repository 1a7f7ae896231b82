"""What the drive does: current, power, waveform, switching off."""
