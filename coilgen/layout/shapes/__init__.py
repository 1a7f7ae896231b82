"""The winding shapes, one file each."""
