"""What the trade knows, as data with a source on every entry."""
