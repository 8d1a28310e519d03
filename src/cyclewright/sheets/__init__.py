"""Bike, rider and place sheets: what is on paper, in TOML."""
