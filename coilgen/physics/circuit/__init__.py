"""The coil as a circuit: resistance, capacitance, resonance, its drive."""
