"""Audio in: what a recording sounds like and which notes are in it."""
