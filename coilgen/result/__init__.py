"""What each kind of result is: figure, rule, finding, export; and how figures read."""
