"""The stages room."""
