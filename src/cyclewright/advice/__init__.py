"""Sheets and solutions to settings, findings and questions."""
