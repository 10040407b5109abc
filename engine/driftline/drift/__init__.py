"""The drift room."""
