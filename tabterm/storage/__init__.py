"""Everything that is written to disk: safe opening, whole-or-nothing files, locks, names beside a document.

No other room opens a file for writing. What the disk refuses is an OSError here and below, and a StorageError
(`refusals.refusal`) to the player.
"""
