"""Where layer changes and the landings of leads stand: rows of pads inside the winding and outside it."""
