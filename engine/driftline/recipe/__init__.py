"""The recipe room."""
