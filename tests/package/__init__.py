"""What is built, installed and relied on: scripts that need the registry, and quick tests beside them."""
