"""The pipeline room."""
