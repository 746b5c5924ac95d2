"""Screens that lie over the score and go away again."""
