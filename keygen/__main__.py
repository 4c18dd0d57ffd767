"""Run the command line with `python -m keygen`."""

import sys


def main() -> None:
    """Run the command line; Ctrl-C while it is still being loaded ends it quietly, too."""
    try:
        from keygen.cli import main as run

        run()
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    main()
