"""The coil with all that stands at it: what a meter reads, what a drive sees, what eddy currents take."""
