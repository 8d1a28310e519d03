"""Where events and attachments are kept."""
