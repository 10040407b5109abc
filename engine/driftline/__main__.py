"""``python -m driftline`` is the ``driftline`` command."""

from driftline.cli import main

if __name__ == "__main__":
    main()
