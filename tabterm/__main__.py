"""Run the program with `python -m tabterm`."""

from tabterm.cli.main import run

if __name__ == "__main__":
    run()
