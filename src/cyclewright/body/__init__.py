"""The rider: segments, posture, balance."""
