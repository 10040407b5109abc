"""The prints room."""
