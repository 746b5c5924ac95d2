"""Chord symbols, degrees and spelling."""
