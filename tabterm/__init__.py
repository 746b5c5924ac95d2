"""tabterm: a terminal tab editor with playback for four-course instruments tuned in fifths."""

__version__ = "0.1.0"
