"""Where timed events go: the engine process and MIDI ports."""
