"""Cyclewright: plan, compute, measure and record the build of a bicycle."""

__version__ = "0.1.0"
