"""What the fab makes: copper, holes, openings, legend, profile, and the gaps between pieces of copper."""
