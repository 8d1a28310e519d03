"""Migrations of the record's tables; they never touch bodies or hashes."""
