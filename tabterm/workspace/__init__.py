"""The open document, the command registry, key bindings and configuration."""
