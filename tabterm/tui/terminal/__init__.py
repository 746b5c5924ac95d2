"""Our own layer between the toolkit and the terminal; it alone knows private parts of the toolkit."""
