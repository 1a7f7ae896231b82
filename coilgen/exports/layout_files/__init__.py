"""What an existing layout takes: DXF and the table of pads."""
