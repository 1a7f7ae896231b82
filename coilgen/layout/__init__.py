"""From a design to copper: shapes wound, layer changes, leads."""
