"""The batch room."""
