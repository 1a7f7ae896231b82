"""What a meter reads on the bare coil: resistance, inductance, capacitance, impedance."""
