"""From what was measured to what it says about the bike."""
