"""What a document and its readers are put through: `python -m tests.ordeal [PART ...] [--scale N]`."""
