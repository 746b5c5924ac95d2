"""The score: a frozen model, exact musical time, and operations from score to score."""
