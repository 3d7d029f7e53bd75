"""Facts -> lines, by rule tables."""
