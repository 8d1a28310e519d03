"""The drawing, documents and labels: everything that is looked at or printed."""
