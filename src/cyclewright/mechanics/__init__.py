"""Sums of the parts: bolts, clamps, gas, springs, steering, tyres, jumps, brakes."""
