"""Eddy currents in the winding's own copper: resistance and inductance over frequency."""
