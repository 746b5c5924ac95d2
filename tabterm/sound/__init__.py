"""Where timed events go: the engine process, its outputs, the built-in strings, and audio files."""
