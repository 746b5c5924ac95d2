"""From a score to timed events: repeats, swing, slurs, bends, click."""
