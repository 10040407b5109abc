"""The command line: the only room that knows typer."""


def main() -> None:
    """Run the command."""
