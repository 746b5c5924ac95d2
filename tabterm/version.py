"""The version of the program: the one place where it stands."""

__version__ = "0.1.0"
