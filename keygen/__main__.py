"""Run the command line with `python -m keygen`."""

from keygen.cli import main

if __name__ == "__main__":
    main()
