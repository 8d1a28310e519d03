"""What happened to a bike: events, the fold to its state, plan, gates and reopening."""
