"""The web pages and their API, one file a page family."""
