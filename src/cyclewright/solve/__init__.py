"""Fit, weight on the wheels, sag, geometry and tyres solved together."""
