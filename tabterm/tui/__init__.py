"""The editor on the screen; it knows no rule of music."""
