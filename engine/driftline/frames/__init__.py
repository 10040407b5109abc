"""The frames room."""
